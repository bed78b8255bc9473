"""Noting a snag in one line, and rating one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.naming import match_name
from register.entry.subjects import (
    current_spell,
    find_position,
    find_subject,
    folder_of,
    hosts_of,
)
from register.findings.snags import LOOSE, SnagState, fold_snags
from register.ledger.counters import Subject
from register.records.bodies import FOUND, SEVERITIES
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError

if TYPE_CHECKING:
    from register.entry.screws import Broken

UNRATED = SEVERITIES[0]
GROUNDING = "grounding"
_MESSAGE_WORDS = 60
_HARDWARE = re.compile(r"\b(?:screw|bolt|nut)s?\b", re.IGNORECASE)


class SnagWords(Struct, frozen=True):
    """A snag as typed: the words, and what else was said of it."""

    words: Sequence[str]
    severity: str | None = None
    position: str | None = None
    zone: str | None = None
    found: str | None = None
    system: str | None = None
    joint: str | None = None
    broken: str | None = None
    rest: str | None = None
    place: str | None = None
    size: str | None = None
    finish: str | None = None
    cure: str | None = None
    mode: str | None = None
    mechanism: str | None = None
    circumstance: str | None = None


def plan_snag(clerk: Clerk, subject: str, words: SnagWords, stamp: Stamp) -> Plan:
    """A new snag on an aircraft or part. Takes the time now unless --at or --after is given."""
    draft = Draft(clerk, stamp, takes_time=True)
    where = find_subject(clerk, subject)
    text = draft_snag(draft, where, words)
    return draft.plan(f"Note a snag on {where[1]}: {shorten(text)}")


def draft_snag(draft: Draft, where: Subject, words: SnagWords) -> str:
    """Add a snag to a draft; its text back."""
    clerk = draft.clerk
    text = " ".join(" ".join(words.words).split())
    check_words(text, "snag")
    severity = read_severity(words.severity) if words.severity else UNRATED
    found = (
        match_name(words.found.replace(" ", "-"), FOUND, "moment of finding")
        if words.found
        else None
    )
    body, said = _place_snag(draft, where, words.position)
    body["text"] = text
    body["severity"] = severity
    body["found"] = found
    if words.mode or words.mechanism or words.circumstance or words.system:
        from register.entry.fault_entry import FaultWords, describe_fault

        fault = FaultWords(words.mode, words.mechanism, words.circumstance, words.system)
        body.update(describe_fault(draft, fault))
    if words.zone or words.place or words.size or words.finish:
        said += _describe_mark(draft, body, where, words)
    broken = _read_broken(draft, where, words)
    if broken is not None:
        body.update(broken.body)
        body.setdefault("zone", broken.zone)
    if words.cure:
        from register.entry.cure_wanted import read_cure_wanted

        body["cure"] = read_cure_wanted(clerk, words.cure)
    written = draft.write(folder_of(clerk, where), "snag", body)
    short = clerk.short(written.id)
    rated = severity
    if severity == UNRATED:
        rated = (
            f"not yet rated: counts as grounding until rated: tailsheaf snag {short} "
            f"-s g|l|d|m|c   ({', '.join(SEVERITIES[1:])})"
        )
    draft.say(f"{said}: {text} ({short}){draft.day}, {rated}")
    if broken is not None:
        broken.say(draft, short)
    elif _HARDWARE.search(text):
        _offer_joint(draft, where, short, body)
    return text


def _offer_joint(draft: Draft, where: Subject, short: str, body: dict[str, Plain]) -> None:
    """A screw named in plain words: the joint it may be of. Loaded only then."""
    from register.entry.joint_hints import say_joint

    aircraft = where[1]
    if where[0] == "part":
        spell = current_spell(draft.clerk, aircraft)
        if spell is None or spell.aircraft is None:
            return
        aircraft = spell.aircraft
    zone = body.get("zone")
    words = f"{body['text']} {body.get('position') or ''}"
    say_joint(draft, aircraft, short, words, zone if isinstance(zone, str) else None)


def _read_broken(draft: Draft, where: Subject, words: SnagWords) -> Broken | None:
    """What is said of a joint; its modules are loaded only then."""
    if words.joint is None and words.broken is None and words.rest is None:
        return None
    from register.entry.screws import BrokenWords, read_broken

    return read_broken(draft, where, BrokenWords(words.joint, words.broken, words.rest))


def _describe_mark(draft: Draft, body: dict[str, Plain], where: Subject, words: SnagWords) -> str:
    """Where a mark is and how large: added to the snag, and told."""
    from register.entry.damage import DamageWords, describe_mark, tell_mark

    host = where[1] if where[0] == "aircraft" else None
    if host is None:
        spell = current_spell(draft.clerk, where[1])
        host = spell.aircraft if spell is not None else None
    position = body.get("position")
    mark = describe_mark(
        draft,
        host,
        position if isinstance(position, str) else None,
        DamageWords(words.size, words.zone, words.place, words.finish),
    )
    body.update(mark)
    return tell_mark(mark)


def _place_snag(draft: Draft, where: Subject, position: str | None) -> tuple[dict[str, Plain], str]:
    """The aircraft, part and position a snag is on, and how that is said."""
    clerk = draft.clerk
    kind, name = where
    if kind == "aircraft":
        body: dict[str, Plain] = {"aircraft": clerk.ref(where)}
        draft.touch(where)
        if position is None:
            return body, name
        found, known = find_position(clerk, name, position)
        if not known:
            draft.warn(f"{name} has no position {found}; recorded as written")
        body["position"] = found
        spell = clerk.ledger.places.at_position(name, found)
        held = f" ({spell.part})" if spell is not None else ""
        return body, f"{name}, {found}{held}"
    if position is not None:
        raise RegisterError(
            f"{name} is a part; its position is where it is installed",
            mend=f"leave --position out, or name the aircraft instead of {name}",
            code="position-of-part",
        )
    body = {"part": clerk.ref(where)}
    draft.touch(where)
    for host in hosts_of(clerk, name):
        draft.touch(("aircraft", host))
    spell = current_spell(clerk, name)
    if spell is None or spell.aircraft is None:
        return body, name
    body["aircraft"] = clerk.ref(("aircraft", spell.aircraft))
    body["position"] = spell.position
    return body, f"{name} in {spell.aircraft}"


def read_severity(typed: str) -> str:
    """A severity by its beginning: c, cosm, cosmetic."""
    return match_name(typed.replace("_", "-").replace(" ", "-"), SEVERITIES, "severity")


def plan_severity(
    clerk: Clerk, snag: str, severity: str, stamp: Stamp, *, rest_found: bool = False
) -> Plan:
    """How bad an open snag is, decided now; names all that was seen of it.

    A grounding snag is rated lower only with the reason: else RegisterError (USAGE). Refused
    (exit 4): a lower rating while the rest lies loose inside, unless it is found with it.
    """
    draft = Draft(clerk, stamp, takes_time=True)
    state = find_snag(clerk, snag)
    word = read_severity(severity)
    if state.rest == LOOSE and word != GROUNDING and not rest_found:
        refuse_loose(clerk, state, f"tailsheaf snag {clerk.short(state.id)} -s {word} --rest out")
    if (
        state.severity == GROUNDING
        and word != GROUNDING
        and not draft.stamp.note
        and state.rest != LOOSE
    ):
        short = clerk.short(state.id)
        raise RegisterError(
            f"{shorten(state.text)} is rated grounding "
            f"({state.severity_event.moment.day.isoformat()}); a lower rating needs its reason",
            mend=f'tailsheaf snag {short} -s {word} --note "why the rating was wrong"',
            code="reason-none",
        )
    draft.write(
        snag_folder(state),
        "severity",
        {"snag": state.id, "severity": word, "seen": list(state.events_seen)},
    )
    touch_snag(draft, state)
    short = clerk.short(state.id)
    draft.say(f"{name_snag(state)} ({short}) is now {word}, was {state.severity.replace('-', ' ')}")
    if not state.is_open:
        draft.warn(f"{short} is closed")
    return draft.plan(f"Rate the snag {shorten(state.text)} as {word}")


def find_snag(clerk: Clerk, typed: str) -> SnagState:
    """A snag by the beginning of its id; of several, an open one wins.

    Raises RegisterError (USAGE) where none or more than one is meant, REFUSED where it
    is withdrawn.
    """
    word = typed.strip().lower()
    states = fold_snags(clerk.ledger)
    if word not in states:
        starting = [state for id_, state in states.items() if word and id_.startswith(word)]
        opened = [state for state in starting if state.is_open]
        if len(starting) == 1 or len(opened) == 1:
            return (opened or starting)[0]
        if not starting:
            withdrawn = [
                id_
                for id_ in clerk.ledger.settled.withdrawn
                if word
                and id_.startswith(word)
                and clerk.ledger.settled.originals[id_].kind == "snag"
            ]
            if withdrawn:
                raise RegisterError(
                    f"the snag {typed} is withdrawn",
                    mend="withdraw its withdrawal first, or note a new snag",
                    exit_code=Exit.REFUSED,
                    code="event-withdrawn",
                )
            raise RegisterError(
                f"no snag has an id beginning with {typed[:40]!r}",
                mend=_open_snags_words(clerk, states),
                code="snag-unknown",
            )
        raise RegisterError(
            f"{typed!r} is the beginning of {len(starting)} snags: "
            + "; ".join(f"{clerk.short(item.id)} {item.text[:30]}" for item in starting[:5]),
            mend="type a character or two more",
            code="snag-ambiguous",
        )
    return states[word]


def refuse_loose(clerk: Clerk, state: SnagState, mend: str) -> None:
    """What lies loose inside is neither rated lower nor closed: it is found first."""
    raise RegisterError(
        f"{shorten(state.text)} ({clerk.short(state.id)}): the rest lies loose inside and is "
        "not found",
        mend=f"once it is found:  {mend}",
        exit_code=Exit.REFUSED,
        code="rest-loose",
    )


def _open_snags_words(clerk: Clerk, states: dict[str, SnagState]) -> str:
    opened = [state for state in states.values() if state.is_open]
    if not opened:
        return "no snag is open; tailsheaf snag AIRCRAFT WORDS…   notes one"
    listed = "; ".join(f"{clerk.short(item.id)} {item.text[:30]}" for item in opened[:4])
    more = f" and {len(opened) - 4} more" if len(opened) > 4 else ""
    return f"open: {listed}{more}"


def snag_folder(state: SnagState) -> str:
    """Where events about a snag live: beside the snag."""
    return state.event.path.partition("/events/")[0]


def touch_snag(draft: Draft, state: SnagState) -> None:
    """Whom a decision about a snag concerns."""
    for host in state.hosts:
        draft.touch(("aircraft", host))
    if state.part is not None:
        draft.touch(("part", state.part))


def name_snag(state: SnagState) -> str:
    """Whom and what: "heron: chip on left wing"."""
    where = state.aircraft or state.part or state.found_on or "snag"
    return f"{where}: {shorten(state.text)}"


def shorten(text: str) -> str:
    """For a sentence: one line of at most sixty characters."""
    text = " ".join(text.split())
    return text if len(text) <= _MESSAGE_WORDS else text[: _MESSAGE_WORDS - 1].rstrip() + "…"
