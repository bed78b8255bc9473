"""The calendar side of a task: one fold over what was done, from an anchor."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.opening import OpeningTask
from register.records.programmes import CalendarInterval, Task
from register.tasks.calendar import CalendarPoint
from register.tasks.intervals import (
    CalendarDue,
    Lateness,
    SideDue,
    done_words,
    find_interval,
    opening_steps,
)
from register.tasks.reasons import event_step


def fold_calendar(
    ledger: Ledger,
    subject: Subject,
    task: Task,
    dones: Sequence[Event],
    opening: OpeningTask | None,
    *,
    told: bool = True,
) -> SideDue:
    """Fold the dones of a task on the calendar; not told, without the steps that explain it."""
    due = _calendar_start(ledger, subject, opening)
    steps = list(opening_steps(opening, "calendar"))
    lateness: list[Lateness] = []
    for event in dones:
        day = event.moment.day
        terms = task.in_force(day)
        interval = find_interval(terms, "calendar", first=due.is_first if due else False)
        every = find_interval(terms, "calendar", first=False)
        fresh = CalendarDue(CalendarPoint(day), False)
        if (
            not isinstance(interval, CalendarInterval)
            or interval.amount is None
            or due is None
            or not isinstance(every, CalendarInterval)
        ):
            due = fresh
        else:
            target = due.base.plus(interval.unit, interval.amount)
            late = (day - target.day).days
            due, missed = _reset_calendar(terms.reset, due, fresh, interval, every, day)
            lateness.append(
                Lateness(
                    event,
                    Decimal(late),
                    Decimal(max(late - (interval.late_days or 0), 0)),
                    missed,
                )
            )
        if told:
            steps.append(event_step(done_words(event, lateness, "days"), event))
    unknown = due is None and opening is not None and opening.known == "unknown"
    return SideDue("calendar", None, due, tuple(lateness), tuple(steps), unknown)


def _calendar_start(
    ledger: Ledger, subject: Subject, opening: OpeningTask | None
) -> CalendarDue | None:
    if opening is not None:
        if opening.when is None or opening.known == "unknown":
            return None
        return CalendarDue(CalendarPoint(opening.when), False, opening.known)
    file = ledger.file_of(subject)
    first = ledger.first_day(subject)
    if file.opening.has_life or first is None:
        return None
    return CalendarDue(CalendarPoint(first), True)


def _reset_calendar(
    reset: str,
    due: CalendarDue,
    fresh: CalendarDue,
    interval: CalendarInterval,
    every: CalendarInterval,
    day: date,
) -> tuple[CalendarDue, int]:
    reached = due.base.plus(interval.unit, interval.amount or 0)
    over = (day - reached.day).days
    if reset == "from-done":
        return fresh, 0
    if reset == "from-due-in-window":
        inside = -(interval.early_days or 0) <= over <= (interval.late_days or 0)
        return (CalendarDue(reached, False, due.known) if inside else fresh), 0
    no_window = interval.early_days is None and interval.late_days is None
    if no_window:
        # Half the interval, in days between the two points.
        too_early = 2 * (day - due.base.day) < (reached.day - due.base.day)
    else:
        too_early = over < -(interval.early_days or 0)
    if too_early:
        return fresh, 0
    missed = 0
    step = every.amount or interval.amount or 1
    while reached.plus(every.unit, step).day <= day:
        reached = reached.plus(every.unit, step)
        missed += 1
    return CalendarDue(reached, False, due.known), missed


def calendar_day(due: CalendarDue, interval: CalendarInterval) -> date | None:
    """The day it falls due; that day itself is still permitted."""
    if interval.amount is None:
        return None
    return due.base.plus(interval.unit, interval.amount).day


def window_days(day: date, interval: CalendarInterval) -> tuple[date, date]:
    """First and last day of the window round a due day."""
    return (
        day - timedelta(days=interval.early_days or 0),
        day + timedelta(days=interval.late_days or 0),
    )
