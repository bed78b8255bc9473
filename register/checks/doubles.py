"""Flights entered twice, and one pack in two places at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta

from register.checks.survey import Survey, warn
from register.findings.doubles import FIRST, find_end, find_twins
from register.records.bodies import Flights
from register.records.events import Event
from register.trouble import Problem

#: How long a flight is taken to last where its minutes are not known (common practice).
USUAL_FLIGHT = timedelta(minutes=5)


def check_flights_once(survey: Survey) -> Iterator[Problem]:
    """Two records that look like the same flights of one aircraft."""
    for twins in find_twins(survey.ledger, survey.aircraft):
        yield _twin_problem(survey, twins.aircraft, twins.first, twins.later)


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
                if (later.moment.instant or FIRST) >= find_end(first, USUAL_FLIGHT):
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
