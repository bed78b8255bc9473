"""What a fold over the dones of a task gives: where each side counts from next, and why.

Each side of a task (a counter, or the calendar) keeps its own last-done. Reset rules:

* from-done: the next counts from when it was done;
* from-due: from the due point. Done before the early window (without a window: before
  half the interval) it counts from done; a whole interval late or more, the next is the
  first due point after it, and the skipped ones are missed;
* from-due-in-window: from the due point if done inside the window, else from done.
"""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from register.ledger.order import Point
from register.records.events import Event
from register.records.opening import OpeningTask
from register.records.programmes import CalendarInterval, CounterInterval, Terms
from register.records.values import Known, count_words, format_amount
from register.tasks.calendar import CalendarPoint
from register.tasks.reasons import Step


class Left(Struct, frozen=True):
    """What is left to a limit; below zero is past it. `low` None: no lower bound is known."""

    low: Decimal | None
    high: Decimal
    known: Known = "known"

    def plus(self, amount: Decimal) -> Left:
        """The same with `amount` more room."""
        return Left(None if self.low is None else self.low + amount, self.high + amount, self.known)


class CounterDue(Struct, frozen=True):
    """Due `base` + the interval after an anchor; without an anchor `base` is absolute."""

    anchor: Point | None
    base: Decimal
    is_first: bool
    known: Known = "known"
    #: Last done at an unknown count before the register began.
    is_vague: bool = False


class CalendarDue(Struct, frozen=True):
    """Due one interval after a calendar point."""

    base: CalendarPoint
    is_first: bool
    known: Known = "known"


class Lateness(Struct, frozen=True):
    """How late or early one done was on one side, and how many points it skipped."""

    event: Event
    late: Decimal
    beyond: Decimal
    missed: int


class SideDue(Struct, frozen=True):
    """The outcome of the fold for one side."""

    side: str
    counter: CounterDue | None
    calendar: CalendarDue | None
    lateness: tuple[Lateness, ...]
    steps: tuple[Step, ...]
    #: Last done before the register began, and nobody knows when.
    is_unknown: bool = False
    #: Where else a counter may count from: a done stood in no known order to what it followed.
    others: tuple[CounterDue, ...] = ()


def find_interval(
    terms: Terms, side: str, *, first: bool
) -> CounterInterval | CalendarInterval | None:
    """The interval of a side; the first interval where one is given."""
    for group in (terms.first, terms.every) if first else (terms.every,):
        for interval in group:
            if interval.side == side:
                return interval
    return None


def opening_steps(opening: OpeningTask | None, side: str) -> tuple[Step, ...]:
    """What is known of the last done from before the register."""
    if opening is None:
        return ()
    at = f" at {format_amount(opening.at[side])} {side}" if side in opening.at else ""
    when = f" on {opening.when.isoformat()}" if opening.when else ""
    return (
        Step(f"last done before the register began{when}{at} ({opening.known})", opening.place),
    )


def done_words(event: Event, lateness: list[Lateness], unit: str) -> str:
    """One done in words: its day, how late or early, what it skipped."""
    words = f"done {event.moment.day.isoformat()}"
    if not lateness or lateness[-1].event is not event:
        return words
    last = lateness[-1]
    if last.late > 0:
        words += f", {count_words(last.late, unit)} late"
        if last.beyond > 0 and last.beyond != last.late:
            words += f" ({format_amount(last.beyond)} beyond the window)"
    elif last.late < 0:
        words += f", {count_words(-last.late, unit)} early"
    if last.missed:
        words += f", {last.missed} due point{'s' if last.missed > 1 else ''} missed"
    return words
