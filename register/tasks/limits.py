"""One limit of a task as it stands on a day: what is left, and the state that makes."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

from msgspec import Struct

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.programmes import CalendarInterval, CounterInterval, Task
from register.records.standing_files import Soon
from register.records.values import MINUTE_COUNTERS, ZERO, Known, Span, count_words, format_amount
from register.tasks.calendar_dues import calendar_day, window_days
from register.tasks.counter_dues import counter_due_at, counter_left
from register.tasks.intervals import Left, SideDue, find_interval
from register.tasks.reasons import Step

State = Literal["overdue", "due", "cannot-tell", "in-window", "soon", "no-baseline", "ok"]
#: Worst first: whichever side comes first decides.
STATE_ORDER: tuple[State, ...] = (
    "overdue",
    "due",
    "cannot-tell",
    "in-window",
    "soon",
    "no-baseline",
    "ok",
)


def worst_state(states: list[State]) -> State:
    """The state that decides among several."""
    return min(states, key=STATE_ORDER.index, default="ok")


class Limit(Struct, frozen=True):
    """A counter limit (amounts in the counter's unit) or a date limit, on one day."""

    state: State
    counter: str | None = None
    due_at: Span | None = None
    now: Span | None = None
    left: Left | None = None
    early: Decimal = ZERO
    late: Decimal = ZERO
    day: date | None = None
    days_left: int | None = None
    permits_to: date | None = None
    window: tuple[date, date] | None = None
    known: Known = "known"
    missed: int = 0
    late_by: Decimal = ZERO
    unset: bool = False
    steps: tuple[Step, ...] = ()

    @property
    def is_past_due(self) -> bool:
        """At or past the due point, window or not."""
        if self.day is not None and self.days_left is not None:
            return self.days_left <= 0
        return self.left is not None and self.left.low is not None and self.left.low <= 0

    @property
    def left_to_last(self) -> Decimal | None:
        """Least that may be left to the last permitted point; None when not known."""
        if self.left is None or self.left.low is None:
            return None
        return self.left.low + self.late


def counter_limit(
    ledger: Ledger, subject: Subject, task: Task, folded: SideDue, day: date, soon: Soon
) -> Limit:
    """The state of one counter side."""
    due = folded.counter
    interval = find_interval(
        task.in_force(day), folded.side, first=due.is_first if due is not None else False
    )
    if not isinstance(interval, CounterInterval):
        return Limit("ok", folded.side)
    now = ledger.value(subject, folded.side)
    if interval.amount is None:
        step = Step(f"the interval in {folded.side} is not set", interval.place)
        return Limit("cannot-tell", folded.side, now=now, unset=True, steps=(*folded.steps, step))
    if due is None:
        return Limit("no-baseline", folded.side, now=now, steps=folded.steps)
    dues = (due, *folded.others)
    left = counter_left(ledger, subject, folded.side, dues, interval.amount)
    early, late = interval.early or ZERO, interval.late or ZERO
    last = folded.lateness[-1] if folded.lateness else None
    due_at = counter_due_at(ledger, subject, folded.side, dues, interval.amount)
    state = counter_state(left, early, late, soon_amount(folded.side, interval.amount, soon))
    if due.is_vague and state in ("due", "overdue") and left.high + late > 0:
        # Done once, nobody knows at what count: it may be long over, or not nearly.
        state = "cannot-tell"
    return Limit(
        state,
        folded.side,
        due_at,
        now,
        left,
        early,
        late,
        known=left.known,
        missed=last.missed if last else 0,
        late_by=max(last.late, ZERO) if last else ZERO,
        steps=(
            Step(_interval_words(interval, first=due.is_first), interval.place),
            *folded.steps,
            Step(_counter_words(folded.side, due_at, now, left)),
        ),
    )


def counter_state(left: Left, early: Decimal, late: Decimal, soon: Decimal) -> State:
    """State of a counter limit: the cautious end decides; open below is not told."""
    if left.low is None:
        return "overdue" if left.high + late < 0 else "cannot-tell"
    if left.low + late < 0:
        return "overdue"
    if left.low + late == 0:
        return "due"
    if left.low <= early and (early > 0 or left.low <= 0):
        return "in-window"
    return "soon" if left.low <= soon else "ok"


def soon_amount(counter: str, amount: Decimal, soon: Soon) -> Decimal:
    """How near is soon: the fleet's figure, or a tenth of the interval if smaller."""
    return min(soon.minutes if counter in MINUTE_COUNTERS else soon.flights, amount / 10)


def calendar_limit(task: Task, folded: SideDue, day: date, soon: Soon) -> Limit:
    """The state of the calendar side on a day; a due day permits itself."""
    due = folded.calendar
    interval = find_interval(
        task.in_force(day), "calendar", first=due.is_first if due is not None else False
    )
    if not isinstance(interval, CalendarInterval):
        return Limit("ok")
    target = calendar_day(due, interval) if due is not None else None
    if interval.amount is None:
        step = Step(f"the interval in {interval.unit} is not set", interval.place)
        return Limit("cannot-tell", unset=True, steps=(*folded.steps, step))
    if due is None or target is None:
        return Limit("cannot-tell" if folded.is_unknown else "no-baseline", steps=folded.steps)
    opens, closes = window_days(target, interval)
    last = folded.lateness[-1] if folded.lateness else None
    near = min(soon.days, (target - due.base.day).days // 10)
    return Limit(
        calendar_state(day, target, opens, closes, near),
        day=target,
        days_left=(target - day).days,
        permits_to=closes,
        window=(opens, closes) if opens != closes else None,
        known=due.known,
        missed=last.missed if last else 0,
        late_by=max(last.late, ZERO) if last else ZERO,
        steps=(
            Step(_interval_words(interval, first=due.is_first), interval.place),
            *folded.steps,
            Step(
                f"counted from {due.base.day.isoformat()}: due {target.isoformat()}, "
                f"{_days_words((target - day).days)} on {day.isoformat()}"
                + ("; the due day itself is still permitted" if target == day else "")
            ),
        ),
    )


def calendar_state(day: date, target: date, opens: date, closes: date, near: int) -> State:
    """State of a date limit on a day."""
    if day > closes:
        return "overdue"
    if day == closes:
        return "due"
    if day >= opens and (opens < target or day >= target):
        return "in-window"
    return "soon" if (target - day).days <= near else "ok"


def _interval_words(interval: CounterInterval | CalendarInterval, *, first: bool) -> str:
    start = "first after" if first else "every"
    if isinstance(interval, CounterInterval):
        words = f"{start} {count_words(interval.amount or ZERO, interval.counter)}"
        early, late = interval.early or ZERO, interval.late or ZERO
    else:
        words = f"{start} {count_words(interval.amount or 0, interval.unit.replace('-', ' '))}"
        early, late = Decimal(interval.early_days or 0), Decimal(interval.late_days or 0)
    if early or late:
        words += f", window -{format_amount(early)}/+{format_amount(late)}"
    return words


def _counter_words(counter: str, due_at: Span | None, now: Span, left: Left) -> str:
    if due_at is None:
        # The count when it was done is not known; what came since is.
        return f"counted from the last done, not from new: {left_words(left, counter)}"
    return f"due at {span_words(due_at)} {counter}, now {span_words(now)}: {left_words(left)}"


def span_words(span: Span) -> str:
    """A counter value in words: 12, about 12, between 0 and 3, at least 7."""
    low = format_amount(span.low)
    if span.high is None:
        return f"at least {low}"
    if span.low != span.high:
        return f"between {low} and {format_amount(span.high)}"
    return f"about {low}" if span.known == "estimated" else low


def left_words(left: Left, counter: str = "") -> str:
    """What is left, in words."""
    unit = counter.replace("-", " ")
    if left.low is None and left.high < 0:
        return f"over by at least {count_words(-left.high, unit)}"
    if left.low is None:
        return f"cannot tell: {count_words(left.high, unit)} left at most, perhaps none"
    if left.low < 0 <= left.high:
        most = f"at most {format_amount(left.high)} left"
        return f"may be over by {count_words(-left.low, unit)}, {most}"
    if left.low != left.high and left.high < 0:
        return f"over by {format_amount(-left.high)} to {count_words(-left.low, unit)}"
    if left.low != left.high:
        return f"between {format_amount(left.low)} and {count_words(left.high, unit)} left"
    if left.low < 0:
        return f"over by {count_words(-left.low, unit)}"
    return f"{count_words(left.low, unit)} left"


def _days_words(days: int) -> str:
    if days < 0:
        return f"over by {count_words(-days, 'days')}"
    return f"{count_words(days, 'days')} left"
