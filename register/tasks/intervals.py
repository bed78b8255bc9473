"""When an interval falls due next: one fold over what was done, side by side.

Each side of a task (a counter, or the calendar) keeps its own last-done. Reset rules:

* from-done: the next counts from when it was done;
* from-due: from the due point. Done before the early window (without a window: before
  half the interval) it counts from done; a whole interval late or more, the next is the
  first due point after it, and the skipped ones are missed;
* from-due-in-window: from the due point if done inside the window, else from done.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.ledger.order import Point
from register.records.events import Event
from register.records.opening import OpeningTask
from register.records.programmes import CalendarInterval, CounterInterval, Task, Terms
from register.records.values import ZERO, Known, Span, format_amount, weakest_known
from register.tasks.calendar import CalendarPoint
from register.tasks.reasons import Step, event_step


@dataclass(frozen=True, slots=True)
class Left:
    """What is left to a limit; below zero is past it. `low` None: no lower bound is known."""

    low: Decimal | None
    high: Decimal
    known: Known = "known"

    def plus(self, amount: Decimal) -> Left:
        """The same with `amount` more room."""
        return Left(None if self.low is None else self.low + amount, self.high + amount, self.known)


@dataclass(frozen=True, slots=True)
class CounterDue:
    """Due `base` + the interval after an anchor; without an anchor `base` is absolute."""

    anchor: Point | None
    base: Decimal
    is_first: bool
    known: Known = "known"
    #: Last done at an unknown count before the register began.
    is_vague: bool = False


@dataclass(frozen=True, slots=True)
class CalendarDue:
    """Due one interval after a calendar point."""

    base: CalendarPoint
    is_first: bool
    known: Known = "known"


@dataclass(frozen=True, slots=True)
class Lateness:
    """How late or early one done was on one side, and how many points it skipped."""

    event: Event
    late: Decimal
    beyond: Decimal
    missed: int


@dataclass(frozen=True, slots=True)
class SideDue:
    """The outcome of the fold for one side."""

    side: str
    counter: CounterDue | None
    calendar: CalendarDue | None
    lateness: tuple[Lateness, ...]
    steps: tuple[Step, ...]
    #: Last done before the register began, and nobody knows when.
    is_unknown: bool = False


def find_interval(
    terms: Terms, side: str, *, first: bool
) -> CounterInterval | CalendarInterval | None:
    """The interval of a side; the first interval where one is given."""
    for group in (terms.first, terms.every) if first else (terms.every,):
        for interval in group:
            if interval.side == side:
                return interval
    return None


def fold_counter(
    ledger: Ledger,
    subject: Subject,
    task: Task,
    side: str,
    dones: Sequence[Event],
    opening: OpeningTask | None,
) -> SideDue:
    """Fold the dones of a task on one counter."""
    due = _counter_start(ledger, subject, task, side, opening)
    steps = list(_opening_steps(opening, side))
    lateness: list[Lateness] = []
    for event in dones:
        terms = task.in_force(event.moment.day)
        interval = find_interval(terms, side, first=due.is_first if due else False)
        every = find_interval(terms, side, first=False)
        point = ledger.orders.last_point(event.id)
        fresh = CounterDue(point, ZERO, False)
        if (
            not isinstance(interval, CounterInterval)
            or interval.amount is None
            or due is None
            or due.is_vague
        ):
            due = fresh
        else:
            over = _overrun(ledger, subject, side, due, interval.amount, point)
            options = {
                _reset_counter(terms.reset, due, fresh, interval, every, value)
                for value in over
                if value is not None
            }
            if None in over:
                options.add((fresh, 0))
            chosen, missed = min(
                options, key=lambda option: _caution(ledger, subject, side, option[0], option[1])
            )
            late = max((value for value in over if value is not None), default=ZERO)
            lateness.append(
                Lateness(event, late, max(late - (interval.late or ZERO), ZERO), missed)
            )
            due = chosen
        steps.append(event_step(_done_words(event, lateness, side), event))
    return SideDue(side, due, None, tuple(lateness), tuple(steps))


def _counter_start(
    ledger: Ledger, subject: Subject, task: Task, side: str, opening: OpeningTask | None
) -> CounterDue | None:
    """Where the first interval counts from.

    Without a last-done it counts from new, if the first due point was not yet reached
    when the register began: a done before it could only make the next one later. A thing
    with more behind it has no baseline; with an unknown life it cannot be told.
    """
    if opening is not None:
        if opening.known == "unknown":
            return CounterDue(None, ZERO, False, "unknown", is_vague=True)
        if side in opening.at:
            return CounterDue(None, opening.at[side], False, opening.known)
        if opening.when is not None:
            return CounterDue(None, ZERO, False, "estimated", is_vague=True)
        return None
    value = ledger.file_of(subject).opening.value(side)
    if value.is_open:
        return CounterDue(None, ZERO, True, "unknown")
    first = find_interval(task.terms[0], side, first=True)
    if isinstance(first, CounterInterval) and first.amount is not None:
        return CounterDue(None, ZERO, True, value.known) if value.low < first.amount else None
    return CounterDue(None, ZERO, True) if value.low == 0 else None


def _opening_steps(opening: OpeningTask | None, side: str) -> tuple[Step, ...]:
    if opening is None:
        return ()
    at = f" at {format_amount(opening.at[side])} {side}" if side in opening.at else ""
    when = f" on {opening.when.isoformat()}" if opening.when else ""
    return (
        Step(f"last done before the register began{when}{at} ({opening.known})", opening.place),
    )


def _since(
    ledger: Ledger, subject: Subject, side: str, due: CounterDue, until: Point | None
) -> Span:
    """Counter gained since the anchor; with no anchor the absolute value."""
    if due.anchor is None:
        value = ledger.value(subject, side, until)
        if due.is_vague:
            gained = ledger.gained(subject, side, None, until)
            return Span(gained.low, value.high, weakest_known(value.known, "estimated"))
        return value
    return ledger.gained(subject, side, due.anchor, until)


def _overrun(
    ledger: Ledger, subject: Subject, side: str, due: CounterDue, amount: Decimal, point: Point
) -> tuple[Decimal, Decimal | None]:
    """How far past the due point a done came: least and most; most None is unknown."""
    since = _since(ledger, subject, side, due, point)
    target = due.base + amount
    return since.low - target, None if since.high is None else since.high - target


def _reset_counter(
    reset: str,
    due: CounterDue,
    fresh: CounterDue,
    interval: CounterInterval,
    every: CounterInterval | CalendarInterval | None,
    over: Decimal,
) -> tuple[CounterDue, int]:
    """Where the next interval counts from, and how many due points were skipped."""
    amount = interval.amount or ZERO
    reached = CounterDue(due.anchor, due.base + amount, False, due.known)
    if reset == "from-done":
        return fresh, 0
    if reset == "from-due-in-window":
        inside = -(interval.early or ZERO) <= over <= (interval.late or ZERO)
        return (reached if inside else fresh), 0
    no_window = interval.early is None and interval.late is None
    early = amount / 2 if no_window else (interval.early or ZERO)
    if over < -early:
        return fresh, 0
    step = every.amount if isinstance(every, CounterInterval) and every.amount else amount
    missed = int(over // step) if over >= step else 0
    return CounterDue(due.anchor, reached.base + step * missed, False, due.known), missed


def _caution(
    ledger: Ledger, subject: Subject, side: str, due: CounterDue, missed: int
) -> tuple[Decimal, Decimal, int]:
    """Least where a due point comes first, as seen now: after what followed on that day too."""
    since = _since(ledger, subject, side, due, None)
    most = since.low if since.high is None else since.high
    return due.base - most, due.base - since.low, missed


def counter_left(
    ledger: Ledger, subject: Subject, side: str, due: CounterDue, amount: Decimal
) -> Left:
    """What is left of an interval now."""
    since = _since(ledger, subject, side, due, None)
    target = due.base + amount
    low = None if since.high is None else target - since.high
    return Left(low, target - since.low, weakest_known(since.known, due.known))


def counter_due_at(
    ledger: Ledger, subject: Subject, side: str, due: CounterDue, amount: Decimal
) -> Span | None:
    """The absolute counter value at which it falls due, for showing."""
    if due.is_vague:
        return None
    if due.anchor is None:
        return Span.exact(due.base + amount, due.known)
    value = ledger.value(subject, side)
    gained = ledger.gained(subject, side, due.anchor)
    opening = ledger.file_of(subject).opening.value(side)
    before = ledger.gained(subject, side, None, due.anchor)
    if value.is_open or gained.is_open or opening.is_open:
        return None
    at_anchor = opening + before
    span = Span.exact(due.base + amount)
    return at_anchor + span


def fold_calendar(
    ledger: Ledger,
    subject: Subject,
    task: Task,
    dones: Sequence[Event],
    opening: OpeningTask | None,
) -> SideDue:
    """Fold the dones of a task on the calendar."""
    due = _calendar_start(ledger, subject, opening)
    steps = list(_opening_steps(opening, "calendar"))
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
        steps.append(event_step(_done_words(event, lateness, "days"), event))
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


def _done_words(event: Event, lateness: list[Lateness], unit: str) -> str:
    words = f"done {event.moment.day.isoformat()}"
    if not lateness or lateness[-1].event is not event:
        return words
    last = lateness[-1]
    if last.late > 0:
        words += f", {format_amount(last.late)} {unit} late"
        if last.beyond > 0 and last.beyond != last.late:
            words += f" ({format_amount(last.beyond)} beyond the window)"
    elif last.late < 0:
        words += f", {format_amount(-last.late)} {unit} early"
    if last.missed:
        words += f", {last.missed} due point{'s' if last.missed > 1 else ''} missed"
    return words
