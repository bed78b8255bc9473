"""Days of a season on which an aircraft was not available, and why: no ledger a day.

A day counts by how it *ended*, once, by the gravest that applies: not in service (its stage, a
layup), grounded (a grounding or unrated snag, a deferral that ran out), limited (a limiting snag,
a deferral in force). A snag touches the aircraft that its part was in at the end of the day. Only
at a record, on the day after a deferral's last and on the day its flights are used up can any of
this change; so each snag is folded at those days alone, and the answer is that of every single
day. Overdue tasks, papers and conditions of parts are not in it: they would need a ledger a day.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Literal

from msgspec import Struct

from register.findings.deferrals import list_deferred_flights
from register.findings.snags import SnagState, fold_snag_at, fold_snags
from register.ledger.ledger import Ledger
from register.records.bodies import Deferral

Unavailable = Literal["not-in-service", "grounded", "limited"]
GRAVEST: tuple[Unavailable, ...] = ("not-in-service", "grounded", "limited")
ONE = timedelta(days=1)


class Reach(Struct, frozen=True):
    """A run of days, both ends in it, with one reason."""

    first: date
    last: date
    state: Unavailable
    why: str
    record: str | None


class Lost(Struct, frozen=True):
    """Days of a season that one reason took. A day is given to one reason only."""

    state: Unavailable
    why: str
    record: str | None
    days: int
    first: date
    last: date


def find_reaches(ledger: Ledger, aircraft: str, last: date) -> tuple[Reach, ...]:
    """Every run of days up to `last` on which something spoke against flying."""
    found = list(_stages(ledger, aircraft, last))
    for state in fold_snags(ledger).values():
        hosts = _hosted(ledger, state, aircraft, last)
        if hosts:
            found.extend(
                Reach(max(first, one.first), min(end, one.last), one.state, one.why, one.record)
                for one in _snag_reaches(ledger, state, last)
                for first, end in hosts
                if max(first, one.first) <= min(end, one.last)
            )
    return tuple(sorted(found, key=lambda one: (one.first, GRAVEST.index(one.state), one.why)))


def count_lost(reaches: tuple[Reach, ...], first: date, last: date) -> tuple[Lost, ...]:
    """The days of a season by reason, each day once: the gravest, then the one that began first."""
    days: dict[tuple[Unavailable, str, str | None], list[date]] = {}
    near = [one for one in reaches if one.first <= last and one.last >= first]
    day = first
    while near and day <= last:
        here = [one for one in near if one.first <= day <= one.last]
        if here:
            one = min(here, key=lambda one: (GRAVEST.index(one.state), one.first, one.why))
            days.setdefault((one.state, one.why, one.record), []).append(day)
        day += ONE
    return tuple(
        Lost(*key, len(listed), listed[0], listed[-1])
        for key, listed in sorted(
            days.items(), key=lambda item: (GRAVEST.index(item[0][0]), item[1])
        )
    )


def _stages(ledger: Ledger, aircraft: str, last: date) -> Iterator[Reach]:
    since = ledger.first_day(("aircraft", aircraft)) or last
    listed = ledger.stages(aircraft)
    for n, (stage, event) in enumerate(listed):
        first = since if event is None else event.moment.day
        later = listed[n + 1][1] if n + 1 < len(listed) else None
        end = last if later is None else min(later.moment.day - ONE, last)
        if stage != "in-service" and first <= end:
            words = stage.replace("-", " ")
            yield Reach(first, end, "not-in-service", words, event.id if event else None)


def _snag_reaches(ledger: Ledger, state: SnagState, last: date) -> Iterator[Reach]:
    """How one snag stood, from one day on which that may have changed to the next."""
    turns = sorted({day for day in _turns(ledger, state) if day <= last})
    for n, day in enumerate(turns):
        end = turns[n + 1] - ONE if n + 1 < len(turns) else last
        found = _standing(ledger, fold_snag_at(ledger, state, day), day)
        if found is not None:
            yield Reach(day, end, found[0], found[1], state.id)


def _turns(ledger: Ledger, state: SnagState) -> Iterator[date]:
    for id_ in state.events_seen:
        event = ledger.orders.events[id_]
        yield event.moment.day
        body = event.body
        if isinstance(body, Deferral):
            if body.until is not None and body.until < date.max:
                yield body.until + ONE
            out = _used_up(ledger, state, id_)
            if out is not None:
                yield out


def _used_up(ledger: Ledger, state: SnagState, deferral: str) -> date | None:
    """The day on which the flights of a deferral may have been used up."""
    event = ledger.orders.events[deferral]
    body = event.body
    if not isinstance(body, Deferral) or body.flights is None:
        return None
    used = 0
    if body.flights <= 0:
        return event.moment.day
    for day, flown in list_deferred_flights(ledger, state, event):
        used += int(flown.low if flown.high is None else flown.high)
        if used >= body.flights:
            return day
    return None


def _standing(ledger: Ledger, state: SnagState, day: date) -> tuple[Unavailable, str] | None:
    if not state.is_open:
        return None
    event = state.deferral
    if event is not None and isinstance(event.body, Deferral):
        out = _used_up(ledger, state, event.id)
        over = event.body.until is not None and day > event.body.until
        if over or (out is not None and out <= day):
            return "grounded", f"deferral ran out: {state.text}"
        return "limited", f"flown with: {state.text}"
    if state.severity in ("grounding", "not-yet-rated"):
        rated = "" if state.severity == "grounding" else " (not yet rated)"
        return "grounded", state.text + rated
    return ("limited", state.text) if state.severity == "limiting" else None


# --- where a snag was ---------------------------------------------------------


def _hosted(
    ledger: Ledger, state: SnagState, aircraft: str, last: date
) -> tuple[tuple[date, date], ...]:
    """The days on whose end a snag touched an aircraft."""
    if state.part is None:
        return ((state.first_day, last),) if state.found_on == aircraft else ()
    if ledger.records.parts[state.part].use == "assigned":
        since = ledger.places.used_since(state.part).get(aircraft)
        here = aircraft in ledger.places.assigned_to(state.part)
        return ((since, last),) if since is not None and here else ()
    return tuple(stays_in(ledger, state.part, aircraft, last, ()))


def stays_in(
    ledger: Ledger, part: str, aircraft: str, last: date, path: tuple[str, ...]
) -> Iterator[tuple[date, date]]:
    """Runs of days at whose end a part was in an aircraft, through other parts if need be."""
    for spell in ledger.places.spells.get(part, ()):
        if spell.assigned or part in path:
            continue
        first = ledger.orders.events[spell.start.latest.event].moment.day
        end = last
        if spell.end is not None:
            end = ledger.orders.events[spell.end.latest.event].moment.day - ONE
        if spell.into is not None:
            inner = stays_in(ledger, spell.into, aircraft, last, (*path, part))
            runs = [(max(first, one), min(end, two)) for one, two in inner]
        else:
            runs = [(first, end)] if spell.aircraft == aircraft else []
        yield from (run for run in runs if run[0] <= run[1])
