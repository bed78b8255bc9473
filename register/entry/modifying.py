"""Recording a departure from the manual, and what becomes of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.measures import parse_measured
from register.entry.naming import match_name
from register.entry.places import read_place, say_traps
from register.entry.snags import shorten
from register.entry.subjects import current_spell, find_subject, folder_of, hosts_of
from register.findings.cures import fold_cures
from register.findings.departures import Departure, fold_departures
from register.records.workshop_bodies import WORK_STATES
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError
from register.views.telling_work import grams_words

_MASS = re.compile(r"([+-]?\d{1,6}(?:\.\d{1,4})?) ?(g|kg)?")
#: More than this added or taken off by one change is a slip of the unit.
_MOST_KILOGRAMS = Decimal(10)


class ModificationWords(Struct, frozen=True):
    """A departure as typed; None and empty: not said."""

    words: Sequence[str]
    manual: str | None = None
    why: str | None = None
    tried: tuple[str, ...] = ()
    mass: str | None = None
    throws: str | None = None
    strength: str | None = None
    state: str | None = None
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    where: str | None = None

    @property
    def is_empty(self) -> bool:
        """Nothing at all was typed: the departures are asked for."""
        return replace(self, words=()) == ModificationWords(()) and not self.words


def plan_modification(clerk: Clerk, subject: str, words: ModificationWords, stamp: Stamp) -> Plan:
    """What was done otherwise than the manual says, on an aircraft or part."""
    draft = Draft(clerk, stamp, takes_time=True)
    where = find_subject(clerk, subject)
    text = _joined(words.words)
    check_words(text, "what was done")
    state = _read_state(words.state) or "fixed"
    body: dict[str, Plain] = {}
    aircraft: str | None = where[1]
    if where[0] == "part":
        body["part"] = clerk.ref(where)
        spell = current_spell(clerk, where[1])
        hosts = hosts_of(clerk, where[1])
        aircraft = hosts[0] if len(hosts) == 1 else None
        place = spell.position if spell is not None else None
        draft.touch(where, *(("aircraft", host) for host in hosts))
        if words.where and aircraft is not None:
            place = read_place(clerk, aircraft, words.where)
    else:
        place = read_place(clerk, where[1], words.where) if words.where else None
        draft.touch(where)
    if aircraft is not None:
        body["aircraft"] = clerk.ref(("aircraft", aircraft))
    body |= {"at": place, "text": text, **_said(words), "state": state}
    written = draft.write(folder_of(clerk, where), "modification", body)
    at = f" at {place}" if place else ""
    draft.say(
        f"{where[1]}{at}: {text} ({clerk.short(written.id)}){draft.day}, {_tell_state(state)}"
    )
    if words.mass:
        draft.say(f"mass {grams_words(read_mass(words.mass))}")
    if not words.manual and not words.why:
        draft.say("what the manual says and why: --manual, --why; later: tailsheaf amend")
    if aircraft is not None:
        say_traps(draft, aircraft, (place,), text)
    return draft.plan(f"Note a modification of {where[1]}: {shorten(text)}")


def plan_follow(clerk: Clerk, typed: str, words: ModificationWords, stamp: Stamp) -> Plan:
    """What became of a departure: kept for good, undone, or measured again. Takes the time now.

    Refused (exit 4): fixed while what it rests on still cures.
    """
    draft = Draft(clerk, stamp, takes_time=True)
    departure = find_departure(clerk, typed)
    first = [item for item in ("manual", "tried", "where") if getattr(words, item)]
    if first:
        raise RegisterError(
            f"--{first[0]} belongs to the first record of a modification",
            mend=f'tailsheaf amend {clerk.short(departure.id)} {first[0]}="…"',
            code="usage",
        )
    state = _read_state(words.state) or departure.state
    _refuse_same(clerk, departure, words)
    if state == "fixed":
        _refuse_curing(draft, departure)
    text = _joined(words.words) or departure.body.text
    check_words(text, "what was done")
    body: dict[str, Plain] = {}
    for key, ref in (("aircraft", departure.body.aircraft), ("part", departure.body.part)):
        if ref is not None:
            body[key] = ref.text
    body |= {"at": departure.body.at, "text": text, **_said(words), "state": state}
    body["follows"] = departure.id
    draft.write(departure.event.path.partition("/events/")[0], "modification", body)
    if departure.part is not None:
        draft.touch(("part", departure.part))
    if departure.aircraft is not None:
        draft.touch(("aircraft", departure.aircraft))
    short = clerk.short(departure.id)
    was = "" if state == departure.state else f", was {_tell_state(departure.state)}"
    draft.say(f"{shorten(departure.body.text)} ({short}) is {_tell_state(state)}{was}{draft.day}")
    return draft.plan(f"Modification {shorten(departure.body.text)} is {state}")


def _refuse_same(clerk: Clerk, departure: Departure, words: ModificationWords) -> None:
    """A state that it is in already, and nothing else said: most often a line typed twice."""
    if _read_state(words.state) != departure.state:
        return
    if words.words or words != ModificationWords(words.words, state=words.state):
        return
    by = departure.state_event
    raise RegisterError(
        f"{clerk.short(departure.id)} is {_tell_state(departure.state)} already, "
        f"since {by.moment.day.isoformat()}; nothing was recorded",
        mend=f"tailsheaf modify {clerk.short(departure.id)}   shows it",
        exit_code=Exit.REFUSED,
        code="modification-already",
    )


def find_departure(clerk: Clerk, typed: str) -> Departure:
    """A departure by the beginning of its id, or of the id of a record that follows it."""
    event = clerk.find_event(typed, kind="modification")
    departures = fold_departures(clerk.ledger)
    for departure in departures.values():
        if any(event.id == item.id for item in departure.events):
            return departure
    raise RegisterError(
        f"{clerk.short(event.id)} is withdrawn",
        mend="tailsheaf modify AIRCRAFT   lists those that count",
        exit_code=Exit.REFUSED,
        code="event-withdrawn",
    )


def is_departure(clerk: Clerk, typed: str) -> bool:
    """Does the word begin the id of a modification?"""
    word = typed.strip().lower()
    return len(word) >= 4 and any(
        id_.startswith(word) and event.kind == "modification"
        for id_, event in clerk.ledger.settled.originals.items()
    )


def _joined(words: Sequence[str]) -> str:
    return " ".join(" ".join(words).split())


def _read_state(typed: str | None) -> str | None:
    return match_name(typed, WORK_STATES, "state of a modification") if typed else None


def _tell_state(state: str) -> str:
    return {"trial": "on trial", "fixed": "fixed (kept for good)"}.get(state, state)


def _said(words: ModificationWords) -> dict[str, Plain]:
    """What is the same in the first record and in one that follows."""
    found: dict[str, Plain] = {}
    for key in ("manual", "why", "throws", "strength"):
        text = getattr(words, key)
        if text is not None:
            check_words(text, key)
            found[key] = " ".join(text.split())
    if words.tried:
        for text in words.tried:
            check_words(text, "tried")
        found["tried"] = list(words.tried)
    if words.mass:
        found["mass"] = read_mass(words.mass).normalize()
    for key, readings in (("before", words.before), ("after_work", words.after)):
        if readings:
            found[key] = [_reading(text) for text in readings]
    return found


def _reading(text: str) -> dict[str, Plain]:
    measured = parse_measured(text, None)
    found: dict[str, Plain] = {"name": measured.name, "value": measured.value}
    if measured.unit:
        found["unit"] = measured.unit
    return found


def read_mass(text: str) -> Decimal:
    """An effect on mass in kilograms: `12`, `-3.5g` and `0.4kg`; a bare number is grams."""
    found = _MASS.fullmatch(text.strip().lower())
    value = Decimal(found[1]) if found else None
    if found is not None and value is not None and found[2] != "kg":
        value = value / 1000
    if value is None or abs(value) > _MOST_KILOGRAMS:
        raise RegisterError(
            f"--mass {text[:20]!r} is no mass of a change in grams",
            mend="--mass 12   (grams; -3.5 takes off, 0.4kg is four hundred)",
            code="amount-wrong",
        )
    return value


def _refuse_curing(draft: Draft, departure: Departure) -> None:
    """Nothing that rests on a cure is done before its end."""
    moment = draft.when.instant
    for cure in fold_cures(draft.clerk.ledger):
        if not any(departure.id.startswith(held) for held in cure.body.holds):
            continue
        if cure.is_open_at(moment) if moment else cure.is_open_on(draft.when.day):
            until = f"until {cure.full_at:%Y-%m-%d %H:%M}" if cure.full_at else "for a time unknown"
            short = draft.clerk.short(departure.id)
            raise RegisterError(
                f"{short} rests on {shorten(cure.what)}, which cures {until}",
                mend=f"tailsheaf modify {short} --state curing",
                exit_code=Exit.REFUSED,
                code="modification-curing",
            )
