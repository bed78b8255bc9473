"""Closing a snag, and the decision to fly on with one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from msgspec import Struct

from register.entry.amounts import read_count, read_minutes
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.curing import warn_curing
from register.entry.dates import read_day
from register.entry.drafting import Draft, check_words, count_words
from register.entry.snags import find_snag, name_snag, shorten, snag_folder, touch_snag
from register.findings.snags import LOOSE, SnagState, fold_snags
from register.records.bodies import Snag
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError

if TYPE_CHECKING:
    from register.entry.screws import MendWords

#: Closing the same place so often with one action asks for a cause (common practice).
SAME_ACTION_CLOSINGS = 2
_SPAN = re.compile(r"(\d{1,4}) ?(days?|d|weeks?|w)?")


class FixWords(Struct, frozen=True):
    """A fix as typed."""

    action: Sequence[str]
    keep_open: bool = False
    cause: str | None = None
    mend: MendWords | None = None
    minutes: str | None = None


class DeferralWords(Struct, frozen=True):
    """A deferral as typed."""

    reason: str | None
    until: str | None = None
    flights: str | int | None = None
    limit: str | None = None
    knowing: Sequence[str] = ()


def plan_fix(clerk: Clerk, snags: Sequence[str], words: FixWords, stamp: Stamp) -> Plan:
    """Work on one or more snags; closes them unless `keep_open`. Takes the time now.

    Refused (exit 4): a snag already closed; closing a repeat with an action that did not
    hold before, unless a cause is given.
    """
    draft = Draft(clerk, stamp, takes_time=True)
    action = " ".join(" ".join(words.action).split())
    check_words(action, "action")
    states = list(
        {state.id: state for state in (find_snag(clerk, item) for item in snags)}.values()
    )
    for state in states:
        _refuse_closed(clerk, state)
        if not words.keep_open and not words.cause:
            _refuse_same_action(clerk, state, action)
    seen = dict.fromkeys(id_ for state in states for id_ in state.events_seen)
    body: dict[str, Plain] = {
        "snags": [state.id for state in states],
        "action": action,
        "closes": not words.keep_open,
        "cause": words.cause,
        "seen": list(seen),
    }
    if words.minutes is not None:
        body["minutes"] = read_minutes(words.minutes, what="minutes")
    body.update(_enter_mending(draft, states, words))
    draft.write(snag_folder(states[0]), "fix", body)
    for state in states:
        touch_snag(draft, state)
        how = "worked on, stays open" if words.keep_open else "closed"
        draft.say(f"{name_snag(state)} ({clerk.short(state.id)}) {how}: {action}")
        if state.unheld is not None:
            draft.say(f"it was {state.back_words}")
        if draft.when.day < state.first_day:
            draft.warn(f"this is before the snag was found ({state.first_day.isoformat()})")
    if not words.keep_open:
        warn_curing(draft, [state.id for state in states], states[0].found_on, None)
        _start_cures(draft, states)
    if words.mend is not None:
        from register.entry.screws import finish_mending

        finish_mending(draft, states, words.mend, action)
    verb = "Work on" if words.keep_open else "Close"
    return draft.plan(f"{verb} {name_snag(states[0])}: {shorten(action)}")


def _start_cures(draft: Draft, states: Sequence[SnagState]) -> None:
    """The clocks that the snags wished for; their module is loaded only then."""
    bodies = (state.event.body for state in states)
    if any(isinstance(body, Snag) and body.cure is not None for body in bodies):
        from register.entry.job_cures import start_snag_cures

        start_snag_cures(draft, states)


def _enter_mending(draft: Draft, states: Sequence[SnagState], words: FixWords) -> dict[str, Plain]:
    """What is said of screws and the shelf; their modules are loaded only then."""
    if words.mend is None and all(state.rest != LOOSE for state in states):
        return {}
    from register.entry.screws import MendWords, enter_mending

    return enter_mending(draft, states, words.mend or MendWords(), closes=not words.keep_open)


def _refuse_closed(clerk: Clerk, state: SnagState) -> None:
    if state.is_open:
        return
    by = state.closed_by
    when = f" on {by.moment.day.isoformat()}" if by else ""
    raise RegisterError(
        f"{clerk.short(state.id)} was closed{when}",
        mend=f"tailsheaf withdraw {clerk.short(by.id)}   opens it again; or note a new snag"
        if by
        else "note a new snag",
        exit_code=Exit.REFUSED,
        code="snag-closed",
    )


def _plain(action: str) -> str:
    return " ".join(re.sub(r"[^\w\s]", " ", action.casefold()).split())


def _refuse_same_action(clerk: Clerk, state: SnagState, action: str) -> None:
    same = sum(_plain(earlier) == _plain(action) for earlier in state.earlier_actions)
    # A third closing of a repeat needs more than any action that was tried before.
    third = state.repeat and len(state.earlier_actions) >= SAME_ACTION_CLOSINGS
    if same < (1 if third else SAME_ACTION_CLOSINGS):
        return
    times = "once" if same == 1 else "twice" if same == 2 else f"{same} times"
    raise RegisterError(
        f"{state.position or 'this place'} of {state.found_on or state.part} was closed {times} "
        f"before with the same action, and it came back",
        mend=f'give what lies behind it:  tailsheaf fix {clerk.short(state.id)} "{action}" '
        '--cause "…"   or do something else, or --keep-open',
        exit_code=Exit.REFUSED,
        code="same-action",
    )


def plan_defer(clerk: Clerk, snag: str, words: DeferralWords, stamp: Stamp) -> Plan:
    """Fly on with a snag until a day and/or for a number of flights.

    A span of days counts from the day after discovery. An earlier deferral is extended;
    the first date stays. Refused (exit 4): a grounding snag, a closed one.
    """
    draft = Draft(clerk, stamp, takes_time=True)
    state = find_snag(clerk, snag)
    _refuse_closed(clerk, state)
    _refuse_grounding(clerk, state)
    reason = (words.reason or "").strip()
    if not reason:
        raise RegisterError(
            "a deferral needs its reason",
            mend=f'tailsheaf defer {clerk.short(state.id)} --reason "spare ordered" --until 10d',
            code="reason-none",
        )
    check_words(reason, "reason")
    until = _read_until(draft, state, words.until)
    flights = read_count(words.flights, what="flights") if words.flights is not None else None
    if until is None and flights is None:
        raise RegisterError(
            "a deferral ends on a day or after a number of flights",
            mend="--until 10d  or  --until 2026-06-16  or  --flights 10",
            code="deferral-endless",
        )
    beside = _known_beside(clerk, state, words.knowing)
    earlier = state.deferrals[-1] if state.deferrals else None
    body: dict[str, Plain] = {
        "snag": state.id,
        "reason": reason,
        "limit": words.limit,
        "until": until.isoformat() if until else None,
        "flights": flights,
        "extends": earlier.id if earlier else None,
        "seen": [*state.events_seen, *beside],
    }
    draft.write(snag_folder(state), "deferral", body)
    touch_snag(draft, state)
    _say_deferral(draft, state, words, until, flights)
    return draft.plan(f"Defer {name_snag(state)}: {shorten(reason)}")


def _known_beside(clerk: Clerk, state: SnagState, knowing: Sequence[str]) -> list[str]:
    """Ids of deferrals already in force on the same system: each must be named as known."""
    named = {find_snag(clerk, item).id for item in knowing}
    beside = [
        other
        for other in fold_snags(clerk.ledger).values()
        if other.is_open
        and other.deferral is not None
        and other.id != state.id
        and set(other.hosts) & set(state.hosts)
        and (state.system or state.position) is not None
        and (other.system or other.position) == (state.system or state.position)
    ]
    unnamed = [other for other in beside if other.id not in named]
    if unnamed:
        other = unnamed[0]
        short = clerk.short(other.id)
        raise RegisterError(
            f"{shorten(other.text)} ({short}) is already deferred on "
            f"{state.system or state.position}; two on one system need a decision in view of both",
            mend=f"if you have weighed both:  add  --knowing {short}",
            exit_code=Exit.REFUSED,
            code="defer-crowded",
        )
    return [other.deferral.id for other in beside if other.deferral is not None]


def _say_deferral(
    draft: Draft, state: SnagState, words: DeferralWords, until: date | None, flights: int | None
) -> None:
    ends = []
    if until is not None:
        ends.append(f"through {until.isoformat()}")
    if flights is not None:
        ends.append(f"for {count_words(flights, 'flight')}")
    text = f"{name_snag(state)} ({draft.clerk.short(state.id)}) deferred {' and '.join(ends)}"
    if len(ends) == 2:
        text += ", whichever comes first"
    if words.limit:
        text += f", {words.limit}"
    draft.say(f"{text}; found {state.first_day.isoformat()}")
    if state.deferrals:
        first = state.deferrals[0].moment.day.isoformat()
        draft.say(f"this extends the deferral of {first}; the snag keeps its first date")
    if state.severity == "not-yet-rated":
        draft.say("it was not rated: this decision counts as rating it deferrable")


def _refuse_grounding(clerk: Clerk, state: SnagState) -> None:
    if state.severity != "grounding":
        return
    by = state.severity_event
    short = clerk.short(state.id)
    raise RegisterError(
        f"{shorten(state.text)} is rated grounding ({by.moment.day.isoformat()}); "
        "a grounding snag is not deferred, it is fixed",
        mend=f'tailsheaf fix {short} "what was done"   closes it; if the rating itself was '
        "wrong, rate it anew with the reason",
        exit_code=Exit.REFUSED,
        code="defer-grounding",
    )


def _read_until(draft: Draft, state: SnagState, text: str | None) -> date | None:
    """A day, or a span of days after the day of discovery (which is not counted)."""
    if text is None:
        return None
    clerk = draft.clerk
    found = _SPAN.fullmatch(" ".join(text.lower().split()))
    if found:
        days = int(found[1]) * (7 if (found[2] or "d")[0] == "w" else 1)
        until = state.first_day + timedelta(days=days)
    else:
        until = read_day(text, clerk.now, clerk.ledger.records.zone, ahead=True)
    if until < draft.when.day:
        raise RegisterError(
            f"--until {text}: {until.isoformat()} is already past; the snag was found "
            f"{state.first_day.isoformat()} and spans count from there",
            mend="give a day to come, for example  --until "
            + (draft.when.day + timedelta(days=10)).isoformat(),
            code="deferral-past",
        )
    return until
