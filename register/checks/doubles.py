"""Flights entered twice, and one pack in two places at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from register.checks.survey import Survey, warn
from register.records.bodies import Flights
from register.records.events import Event
from register.trouble import Problem

#: Two entries of one aircraft this near in time are one flight (common practice, no source).
NEAR = timedelta(minutes=5)
#: How long a flight is taken to last where its minutes are not known (common practice).
USUAL_FLIGHT = timedelta(minutes=5)
_LONGEST = Decimal(24 * 60)
_FIRST = datetime(1950, 1, 1, tzinfo=UTC)


def check_flights_once(survey: Survey) -> Iterator[Problem]:
    """Two records that look like the same flights of one aircraft."""
    for aircraft in survey.aircraft:
        days: dict[date, list[Event]] = defaultdict(list)
        for event in survey.ledger.flights(aircraft):
            days[event.moment.day].append(event)
        for day in sorted(days):
            events = sorted(days[day], key=_entered)
            for n, later in enumerate(events):
                first = next((one for one in events[:n] if _are_twins(one, later)), None)
                if first is not None:
                    yield _twin_problem(survey, aircraft, first, later)


def _entered(event: Event) -> tuple[datetime, str]:
    """In the order of writing, so that the answer does not depend on the order of merging."""
    return (event.typed or event.moment.instant or _FIRST, event.id)


def _are_twins(one: Event, other: Event) -> bool:
    if not isinstance(one.body, Flights) or not isinstance(other.body, Flights):
        return False
    if _follows(one, other) or _follows(other, one):
        # Put in order by hand: both were flown.
        return False
    start, begin = one.moment.instant, other.moment.instant
    if start is not None and begin is not None:
        if abs(start - begin) <= NEAR:
            return True
        first, last = (one, other) if start < begin else (other, one)
        return _end(first, timedelta(0)) > (last.moment.instant or begin)
    same = (one.body.count, one.body.minutes) == (other.body.count, other.body.minutes)
    return same and one.machine != other.machine


def _follows(event: Event, other: Event) -> bool:
    return event.after is not None and other.id.startswith(event.after.event)


def _end(event: Event, unknown: timedelta) -> datetime:
    """When the flights of a timed record were over, at the earliest."""
    start = event.moment.instant or _FIRST
    minutes = event.body.minutes if isinstance(event.body, Flights) else None
    if minutes is None:
        return start + unknown
    return start + timedelta(minutes=float(min(minutes, _LONGEST)))


def _twin_problem(survey: Survey, aircraft: str, first: Event, later: Event) -> Problem:
    one, two = survey.short(first), survey.short(later)
    return warn(
        later.place("when"),
        "flights-twice",
        f"{two} and {one} may be the same flights of {aircraft}; both are counted",
        f"tailsheaf withdraw {two} --duplicate-of {one}"
        f"   or, if both were flown:  tailsheaf amend {two} after={one}",
        (first.place("when"),),
    )


def check_packs_apart(survey: Survey) -> Iterator[Problem]:
    """A pack named in two aircraft within the duration of one flight."""
    uses: dict[str, list[Event]] = defaultdict(list)
    names = survey.ledger.names
    for event in survey.ledger.events:
        if isinstance(event.body, Flights) and event.moment.instant is not None:
            for part in {names.part_name(ref) for ref in event.body.uses or ()} - {None}:
                uses[part or ""].append(event)
    for pack in sorted(uses):
        timed = sorted(uses[pack], key=lambda event: (event.order, event.id))
        for n, first in enumerate(timed):
            for later in timed[n + 1 :]:
                if (later.moment.instant or _FIRST) >= _end(first, USUAL_FLIGHT):
                    break
                if _host(survey, first) != _host(survey, later):
                    yield _overlap_problem(survey, pack, first, later)


def _host(survey: Survey, event: Event) -> str | None:
    return survey.ledger.names.aircraft_name(getattr(event.body, "aircraft", None))


def _overlap_problem(survey: Survey, pack: str, first: Event, later: Event) -> Problem:
    return warn(
        later.place("uses"),
        "pack-overlap",
        f"{pack} was in {_host(survey, first)} from {_clock(first)} and is named in "
        f"{_host(survey, later)} at {_clock(later)}: it cannot have been in both",
        f"tailsheaf amend {survey.short(later)} uses=PACK   "
        f"or  tailsheaf amend {survey.short(first)} uses=PACK",
        (first.place("uses"),),
    )


def _clock(event: Event) -> str:
    return f"{event.moment.instant:%H:%M}" if event.moment.instant else "?"
