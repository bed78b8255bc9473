"""What every estimator gives back: a figure or a piece of evidence, with all that stands behind it.

A figure without its interval, or a test without its number of events, is not an answer here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from msgspec import Struct

LEVEL = 0.95
"""The level of an interval where none is asked for."""


class Behind(Struct, frozen=True):
    """What a result was computed from.

    `exposure` is in whatever the caller counts (flights, hours, landings, days); None where the
    method knows none. `units` are the aircraft, parts or readings watched, `ties` the events or
    readings that share their place with another.
    """

    events: int
    exposure: float | None = None
    units: int = 1
    ties: int = 0


class Figure(Struct, frozen=True):
    """An estimate with its interval.

    `value` is None where the data give none (a time between faults with no fault). `low` or
    `high` is None where the interval is open on that side. `convention` says which of the
    interval's known conventions was used. With `too_few` the interval alone may be shown.
    """

    value: float | None
    low: float | None
    high: float | None
    level: float
    method: str
    convention: str
    behind: Behind
    too_few: bool


class Evidence(Struct, frozen=True):
    """The outcome of a test.

    `p` is the chance of data at least this far out if there is nothing to find; None where it
    cannot be computed. `direction` is -1, 0 or 1 and is meant by the test's own docstring. With
    `too_few`, a real effect would be missed more often than found, so a large p says nothing.
    """

    statistic: float
    p: float | None
    direction: int
    method: str
    convention: str
    behind: Behind
    too_few: bool


class Step(Struct, frozen=True):
    """One step of a curve: the age or time, who was watched just before it, and the new height."""

    at: float
    at_risk: int
    events: int
    value: float
    error: float
    low: float | None
    high: float | None


class Curve(Struct, frozen=True):
    """A step function with pointwise limits: flat between its steps and 0 (or 1) before them."""

    steps: tuple[Step, ...]
    level: float
    method: str
    convention: str
    behind: Behind
    too_few: bool

    def step_at(self, at: float) -> Step | None:
        """The last step at or before a place; None before the first."""
        return next((step for step in reversed(self.steps) if step.at <= at), None)


def count_ties(values: Iterable[float]) -> int:
    """How many of the values are equal to another one."""
    return sum(count for count in Counter(values).values() if count > 1)


def p_words(p: float | None) -> str:
    """The chance of a test, with no more figures than it is worth."""
    if p is None:
        return "none"
    return "below 0.001" if p < 0.001 else f"{p:.2f}" if p >= 0.1 else f"{p:.3f}"


def check_level(level: float) -> None:
    """Refuse a level that is not inside 0 to 1: a slip of our own, never the owner's.

    Raises:
        ValueError: the level is a percentage, or no level.
    """
    if not 0 < level < 1:
        raise ValueError(f"a level lies between 0 and 1, not {level}")
