"""Flights past the last permitted point of a grounding task."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from register.checks.survey import Survey, number_of, record_done, warn
from register.ledger.order import Point
from register.records.bodies import Flights, TaskDone
from register.records.events import Event
from register.records.values import format_amount
from register.tasks.calendar_dues import fold_calendar
from register.tasks.counter_dues import fold_counter
from register.tasks.intervals import Lateness, SideDue
from register.tasks.items import Item
from register.trouble import Problem


def check_limits_kept(survey: Survey) -> Iterator[Problem]:
    """Grounding tasks done later than permitted, or not done yet, with flights beyond."""
    for item in survey.items:
        if item.grounds:
            yield from _check_dones(survey, item)
            yield from _check_open(survey, item)


def _check_dones(survey: Survey, item: Item) -> Iterator[Problem]:
    for folded in _fold(survey, item):
        for lateness in folded.lateness:
            if lateness.beyond <= 0:
                continue
            if folded.side == "calendar":
                flown = _flown_late(survey, item, lateness)
                if flown:
                    words = f"{number_of(int(lateness.beyond), 'day')} past its last permitted day"
                    yield _problem(survey, item, flown, flown[0], lateness.event, words)
            else:
                words = f"{format_amount(lateness.beyond)} {folded.side} past its last point"
                until = survey.ledger.orders.segments(lateness.event.id)[0]
                day = _last_day(survey, item, folded.side, lateness.beyond, until)
                yield _problem(survey, item, (), lateness.event, lateness.event, words, day)


def _fold(survey: Survey, item: Item) -> Iterator[SideDue]:
    ledger, task = survey.ledger, item.task
    every = survey.dones.of(task, item.subject, item.position)
    dones = [e for e in every if isinstance(e.body, TaskDone) and e.body.result != "fail"]
    if not dones:
        return
    sides = {interval.side for terms in task.terms for interval in (*terms.every, *terms.first)}
    for side in sorted(sides):
        if side == "calendar":
            yield fold_calendar(ledger, item.subject, task, dones, item.opening, told=False)
        else:
            opening = item.opening
            yield fold_counter(ledger, item.subject, task, side, dones, opening, told=False)


def _flown_late(survey: Survey, item: Item, lateness: Lateness) -> list[Event]:
    """Flights after the last permitted day and before the day it was done."""
    done = lateness.event.moment.day
    permitted = done - timedelta(days=int(lateness.beyond))
    return [e for e in survey.flights_of(item.subject) if permitted < e.moment.day < done]


def _check_open(survey: Survey, item: Item) -> Iterator[Problem]:
    """What is past its last permitted point today, for certain."""
    for limit in item.limits:
        if limit.permits_to is not None and limit.permits_to < survey.today:
            permitted = limit.permits_to
            flown = [
                event
                for event in survey.flights_of(item.subject)
                if permitted < event.moment.day <= survey.today
            ]
            if flown:
                words = f"after its last permitted day, {permitted.isoformat()}"
                yield _problem(survey, item, flown, flown[0], None, words)
        elif limit.left is not None and limit.left.high + limit.late < 0:
            beyond = -(limit.left.high + limit.late)
            flown = survey.flights_of(item.subject)[-1:]
            if flown:
                words = f"{format_amount(beyond)} {limit.counter} past its last point"
                day = _last_day(survey, item, limit.counter or "", beyond)
                yield _problem(survey, item, (), flown[0], None, words, day)


def _last_day(
    survey: Survey, item: Item, counter: str, beyond: Decimal, until: Point | None = None
) -> date | None:
    """The last day on which the check would have been in time by a counter."""
    now = survey.ledger.value(item.subject, counter, until)
    return survey.last_day_within(item.subject, counter, now.low - beyond)


def _problem(
    survey: Survey,
    item: Item,
    flown: Sequence[Event],
    at: Event,
    done: Event | None,
    words: str,
    in_time: date | None = None,
) -> Problem:
    count = sum((e.body.count for e in flown if isinstance(e.body, Flights)), 0)
    flights = f"{number_of(count, 'flight')} " if count else ""
    on = "" if item.subject == ("aircraft", item.aircraft) else f" on {item.subject[1]}"
    until = f"it was done on {done.moment.day.isoformat()}" if done else "it is not done yet"
    return warn(
        at.place("when"),
        "flown-without-check",
        f"{item.aircraft} flew {flights}{words} of {item.task.id}{on}; {until}",
        record_done(item.task, item.subject[1], in_time or at.moment.day),
        (item.task.place,),
    )
