"""Flights without the check that was due before them.

Only what the records prove is said: a season or gap with no done before its first flight,
a happening not answered before flying on, a done that came later than permitted. A task
never done is held to the present season only, since it may not have been in force before.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import accumulate, pairwise

from register.checks.survey import Survey, count_flights, number_of, record_done, warn
from register.ledger.counters import Subject
from register.ledger.order import Point
from register.records.bodies import Incident, Install, TaskDone
from register.records.events import Event
from register.records.programmes import Start
from register.records.values import format_amount
from register.tasks.calendar import season_of
from register.tasks.items import Item
from register.tasks.starts import Asked, find_triggers
from register.trouble import Place, Problem


def _starts(survey: Survey, *kinds: str) -> Iterator[tuple[Item, Start]]:
    for item in survey.items:
        for start in item.task.starts:
            if start.when in kinds:
                yield item, start


def _passes(survey: Survey, item: Item) -> list[Event]:
    found = survey.dones.of(item.task, item.subject, item.position)
    return [e for e in found if isinstance(e.body, TaskDone) and e.body.result != "fail"]


def _done_days(survey: Survey, item: Item) -> list[date]:
    opening = item.opening.when if item.opening is not None else None
    days = [event.moment.day for event in _passes(survey, item)]
    return days if opening is None else [opening, *days]


def check_season_begun(survey: Survey) -> Iterator[Problem]:
    """The first flight of a season without the season's check."""
    first_of_season = survey.ledger.records.fleet.season_start
    for item, start in _starts(survey, "season"):
        days = _done_days(survey, item)
        seen = survey.ledger.first_day(item.subject)
        flights = survey.flights_of(item.subject)
        present = season_of(flights[-1].moment.day, first_of_season) if flights else None
        for n, event in enumerate(flights):
            begins = season_of(event.moment.day, first_of_season)
            if n and flights[n - 1].moment.day >= begins:
                continue
            known = min(days, default=date.max) < begins
            in_force = known or (begins == present and seen is not None and seen < begins)
            if in_force and not _is_covered(days, begins, event.moment.day, start):
                says = f"the season that began {begins.isoformat()}"
                yield _without(item, flights[n:], days, says)


def check_gap_ended(survey: Survey) -> Iterator[Problem]:
    """The first flight after a gap without the check that a gap asks for."""
    fleet = survey.ledger.records.fleet
    usual = fleet.season_gap_days
    for item, start in _starts(survey, "season", "gap"):
        length = usual if start.when == "season" else start.days or usual
        if length is None:
            continue
        days = _done_days(survey, item)
        flights = survey.ledger.flights(item.aircraft)
        mine = {event.id for event in survey.flights_of(item.subject)}
        for n, (one, two) in enumerate(pairwise(flights)):
            before, after = one.moment.day, two.moment.day
            of_season = start.when == "season" and season_of(after, fleet.season_start) > before
            if (after - before).days < length or of_season:
                # The first flight of a season is held to the season's own rule.
                continue
            known = min(days, default=date.max) < after or n + 2 == len(flights)
            flown = [event for event in flights[n + 1 :] if event.id in mine]
            since = before + timedelta(days=1)
            if flown and known and not _is_covered(days, since, flown[0].moment.day, start):
                says = f"{(after - before).days} days without a flight"
                yield _without(item, flown, days, says)


def _is_covered(days: list[date], since: date, flown: date, start: Start) -> bool:
    """Done in the time asked for, or still good on the day of the flight."""
    valid = timedelta(days=start.valid_days or 0)
    return any(day <= flown and (day >= since or day + valid >= flown) for day in days)


def _without(item: Item, flights: list[Event], days: list[date], after: str) -> Problem:
    """From the first of these flights on, until the check was done at last."""
    day = flights[0].moment.day
    done = min((other for other in days if other > day), default=None)
    flown = [other for other in flights if done is None or other.moment.day < done]
    until = f"it was done on {done.isoformat()}" if done else "it is not done yet"
    return _problem(item, flights[0], flown, f"after {after}", until)


def _problem(
    item: Item,
    event: Event,
    flown: list[Event],
    why: str,
    until: str,
    related: tuple[Place, ...] = (),
) -> Problem:
    day = event.moment.day.isoformat()
    aircraft, task, subject = item.aircraft, item.task, item.subject
    on = "" if subject == ("aircraft", aircraft) else f" on {subject[1]}"
    return warn(
        event.place("when"),
        "flown-without-check",
        f"{aircraft} flew {number_of(count_flights(flown), 'flight')} from {day} without "
        f"{task.id}{on}, {why}; {until}",
        record_done(task, subject[1], event.moment.day),
        (*related, task.place),
    )


def check_happenings_answered(survey: Survey) -> Iterator[Problem]:
    """Flights after an incident or an installation, before the check that it asks for."""
    for item, start in _starts(survey, "incident", "install"):
        passes = _passes(survey, item)
        said: set[tuple[str, str]] = set()
        asked = Asked(
            survey.ledger,
            item.aircraft,
            item.subject,
            item.position,
            item.task,
            survey.today,
            passes,
        )
        for event in find_triggers(asked, start):
            answer, flown, why = _find_answer(survey, item, start, event, passes)
            # Several parts installed before one flight ask for one check.
            key = (answer.id if answer else "", flown[0].id if flown else "")
            if flown and key not in said:
                said.add(key)
                until = _done_words(answer)
                yield _problem(item, flown[0], flown, why, until, (event.place("when"),))


def _done_words(answer: Event | None) -> str:
    return f"it was done on {answer.moment.day.isoformat()}" if answer else "it is not done yet"


def _find_answer(
    survey: Survey, item: Item, start: Start, trigger: Event, passes: list[Event]
) -> tuple[Event | None, list[Event], str]:
    """The done that answers a happening, the flights that should have waited for it, and why."""
    ledger = survey.ledger
    compare = ledger.orders.compare
    point = ledger.orders.last_point(trigger.id)
    later = passes[bisect_left(passes, trigger.moment.day, key=_day) :]
    answer = next(
        (e for e in later if compare(point, ledger.orders.segments(e.id)[0]) != "after"), None
    )
    until = ledger.orders.segments(answer.id)[0] if answer is not None else None
    flights = ledger.flights(item.aircraft)
    end = len(flights) if answer is None else bisect_right(flights, _day(answer), key=_day)
    flown = [
        event
        for event in flights[bisect_left(flights, trigger.moment.day, key=_day) : end]
        if any(
            compare(point, segment) == "before"
            and (until is None or compare(segment, until) == "before")
            for segment in ledger.orders.segments(event.id)
        )
    ]
    if item.subject[0] == "part":
        mine = {found.event.id for found in ledger.counters.contributions(item.subject)}
        flown = [event for event in flown if event.id in mine]
    why = f"after the {_trigger_words(trigger)} of {trigger.moment.day.isoformat()}"
    if start.after_counter is not None and start.after_amount is not None and flown:
        host: Subject = item.subject
        if not ledger.counters.gains(host, start.after_counter):
            host = ("aircraft", item.aircraft)
        gained = ledger.gained(host, start.after_counter, point, until)
        why += f", {format_amount(start.after_amount)} {start.after_counter} later"
        if gained.low <= start.after_amount:
            return answer, [], why
        if start.after_counter == "flights":
            return answer, _beyond(flown, start), why
        flown = _beyond_counter(survey, host, start, point, flown)
    return answer, flown, why


def _beyond_counter(
    survey: Survey, host: Subject, start: Start, point: Point, flown: list[Event]
) -> list[Event]:
    """Flights from the first that passed what was allowed; at least the last."""
    ledger, allowed = survey.ledger, start.after_amount or 0
    for n in range(len(flown)):
        after = flown[n + 1] if n + 1 < len(flown) else None
        until = ledger.orders.segments(after.id)[0] if after is not None else None
        if ledger.gained(host, start.after_counter or "", point, until).low > allowed:
            return flown[n:]
    return flown[-1:]


def _day(event: Event) -> date:
    return event.moment.day


def _beyond(flown: list[Event], start: Start) -> list[Event]:
    """Flights past the number allowed; at least the last."""
    totals = accumulate(count_flights([event]) for event in flown)
    kept = [
        event
        for event, total in zip(flown, totals, strict=True)
        if total > (start.after_amount or 0)
    ]
    return kept or flown[-1:]


def _trigger_words(event: Event) -> str:
    body = event.body
    if isinstance(body, Incident):
        return body.what.replace("-", " ")
    part = body.part.name if isinstance(body, Install) and body.part else "a part"
    return f"installation of {part}"
