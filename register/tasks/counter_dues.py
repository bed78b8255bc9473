"""The counter side of a task: one fold over what was done, in each order it can have been.

Where a day does not say whether a done came before or after what was flown, every due
point that some order gives is kept; the one that comes first decides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.ledger.order import Point
from register.records.events import Event
from register.records.opening import OpeningTask
from register.records.programmes import CalendarInterval, CounterInterval, Task
from register.records.values import ZERO, Span, weakest_known
from register.tasks.intervals import (
    CounterDue,
    Lateness,
    Left,
    SideDue,
    done_words,
    find_interval,
    opening_steps,
)
from register.tasks.reasons import event_step

#: More due points skipped on one doubtful day than this are not told apart.
MOST_STEPS = 20

Outcome = tuple[CounterDue, Decimal, int]
"""Where the next interval counts from, by how much this one was over, points skipped."""


def fold_counter(
    ledger: Ledger,
    subject: Subject,
    task: Task,
    side: str,
    dones: Sequence[Event],
    opening: OpeningTask | None,
    *,
    told: bool = True,
) -> SideDue:
    """Fold the dones of a task on one counter; not told, without the steps that explain it."""
    due = _counter_start(ledger, subject, task, side, opening)
    others: tuple[CounterDue, ...] = ()
    steps = list(opening_steps(opening, side))
    lateness: list[Lateness] = []
    for event in dones:
        outcomes = [
            outcome
            for one in ((due, *others) if due is not None else ())
            for outcome in _outcomes(ledger, subject, task, side, one, event)
        ]
        if outcomes:
            outcomes.sort(key=lambda item: _caution(ledger, subject, side, item[0], item[2]))
            interval = find_interval(task.in_force(event.moment.day), side, first=False)
            slide = interval.late if isinstance(interval, CounterInterval) else None
            late = max(over for _, over, _ in outcomes)
            beyond = max(late - (slide or ZERO), ZERO)
            lateness.append(Lateness(event, late, beyond, outcomes[0][2]))
            due, *rest = dict.fromkeys(outcome[0] for outcome in outcomes)
            others = tuple(rest)
        else:
            due, others = CounterDue(ledger.orders.last_point(event.id), ZERO, False), ()
        if told:
            steps.append(event_step(done_words(event, lateness, side), event))
    return SideDue(side, due, None, tuple(lateness), tuple(steps), others=others)


def _outcomes(
    ledger: Ledger, subject: Subject, task: Task, side: str, due: CounterDue, event: Event
) -> Iterator[Outcome]:
    """What a done makes of a due point, in each order it can have had; nothing: from done."""
    terms = task.in_force(event.moment.day)
    interval = find_interval(terms, side, first=due.is_first)
    every = find_interval(terms, side, first=False)
    if not isinstance(interval, CounterInterval) or interval.amount is None or due.is_vague:
        return
    point = ledger.orders.last_point(event.id)
    fresh = CounterDue(point, ZERO, False)
    least, most = _overrun(ledger, subject, side, due, interval.amount, point)
    for over in _turns(interval, every, least, most):
        reached, missed = _reset_counter(terms.reset, due, fresh, interval, every, over)
        yield reached, over, missed
    if most is None:
        yield fresh, least, 0


def _turns(
    interval: CounterInterval,
    every: CounterInterval | CalendarInterval | None,
    least: Decimal,
    most: Decimal | None,
) -> Iterator[Decimal]:
    """Both ends of an overrun, and between them where a reset rule answers otherwise."""
    yield least
    if most is None or most == least:
        return
    yield most
    no_window = interval.early is None and interval.late is None
    early = -(interval.amount or ZERO) / 2 if no_window else -(interval.early or ZERO)
    step = every.amount if isinstance(every, CounterInterval) and every.amount else interval.amount
    for edge in (early, *((step or ZERO) * n for n in range(1, MOST_STEPS))):
        if least < edge < most:
            yield edge


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
    ledger: Ledger,
    subject: Subject,
    side: str,
    dues: Sequence[CounterDue],
    amount: Decimal,
) -> Left:
    """What is left of an interval now, to the first and to the last of its due points."""
    found = []
    for due in dues:
        since = _since(ledger, subject, side, due, None)
        target = due.base + amount
        low = None if since.high is None else target - since.high
        found.append(Left(low, target - since.low, weakest_known(since.known, due.known)))
    lows = [left.low for left in found if left.low is not None]
    return Left(
        min(lows) if len(lows) == len(found) else None,
        max(left.high for left in found),
        weakest_known(*(left.known for left in found)),
    )


def counter_due_at(
    ledger: Ledger,
    subject: Subject,
    side: str,
    dues: Sequence[CounterDue],
    amount: Decimal,
) -> Span | None:
    """The absolute counter value at which it falls due, for showing."""
    found = [_due_at(ledger, subject, side, due, amount) for due in dues]
    spans = [span for span in found if span is not None and span.high is not None]
    if len(spans) < len(found):
        return None
    return Span(
        min(span.low for span in spans),
        max(span.high for span in spans if span.high is not None),
        weakest_known(*(span.known for span in spans)),
    )


def _due_at(
    ledger: Ledger, subject: Subject, side: str, due: CounterDue, amount: Decimal
) -> Span | None:
    if due.is_vague:
        return None
    if due.anchor is None:
        return Span.exact(due.base + amount, due.known)
    gained = ledger.gained(subject, side, due.anchor)
    value, opening = ledger.value(subject, side), ledger.file_of(subject).opening.value(side)
    if value.is_open or gained.is_open or opening.is_open:
        return None
    at_anchor = opening + ledger.gained(subject, side, None, due.anchor)
    return at_anchor + Span.exact(due.base + amount)
