"""Leak-downs of the air systems of one aircraft: true loss, rate, hours to the minimum."""

from __future__ import annotations

from datetime import date
from math import log
from typing import Literal

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.air import AirSystem
from register.records.as_built import read_section
from register.records.values import format_amount
from register.workshop.leak import LeakDown, Taken, judge_leak, list_taken, split_tests

CAUTIONS = (
    "Pressurised air injures: eyes away, pressure off before a line is opened, never above the "
    "maker's figure. Follow the maker and your local rules.",
    "A tank, line or joint that fails at rest fails in the air; these hours are an estimate "
    "from two readings, not a promise.",
)
LeakState = Literal["inside", "out", "no-limit", "cannot-tell", "waiting", "rose"]
#: Corrected pressure higher by so much, in bar, is no leak: it was filled, or a figure is wrong.
_RISE = 0.02
_MOST_STRETCHED = 2


class LeakLine(Struct, frozen=True):
    """One leak-down: its first and last readings and what they come to.

    `allowed` is the loss, in bar, that the owner's limit permits in that time.
    """

    taken: tuple[Taken, ...]
    found: LeakDown | None
    state: LeakState
    allowed: float | None
    why_not: str


class SystemLine(Struct, frozen=True):
    """One air system with its leak-downs, the last one last."""

    system: AirSystem
    tests: tuple[LeakLine, ...]


class LeaksView(Struct, frozen=True):
    """The answer to `leak`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: str
    path: str
    systems: tuple[SystemLine, ...]
    is_one: bool
    cautions: tuple[str, ...]


def view_leaks(
    ledger: Ledger, aircraft: str, day: date, unread: tuple[str, ...], system: str | None = None
) -> LeaksView:
    """All air systems of an aircraft, or one with every leak-down."""
    systems: dict[str, AirSystem] = read_section(ledger.records, aircraft, "air")[0]
    lines = tuple(
        SystemLine(found, _tests(ledger, aircraft, found))
        for name, found in systems.items()
        if system is None or name == system
    )
    path = ledger.records.aircraft[aircraft].path
    return LeaksView(day, not unread, unread, aircraft, path, lines, system is not None, CAUTIONS)


def _tests(ledger: Ledger, aircraft: str, system: AirSystem) -> tuple[LeakLine, ...]:
    taken = list_taken(ledger, aircraft, system.name, system.ambient)
    return tuple(_judge(test, system) for test in split_tests(taken))


def _judge(test: tuple[Taken, ...], system: AirSystem) -> LeakLine:
    usable = [item for item in test if item.gauge is not None]
    odd = next((item for item in test if item.gauge is None), None)
    if odd is not None and len(usable) < 2:
        return LeakLine(test, None, "cannot-tell", None, f"a reading does not count: {odd.why_not}")
    if len(usable) < 2:
        return LeakLine(test, None, "waiting", None, "one reading: take the second one later")
    first, last = usable[0].gauge, usable[-1].gauge
    if first is None or last is None or last.minute <= first.minute:
        return LeakLine(test, None, "cannot-tell", None, "there is no time between the readings")
    found = judge_leak(first, last, system.minimum, system.volume_ml)
    if found.true_loss is None:
        why = "a temperature is not recorded, so what is leak and what is cold cannot be told"
        return LeakLine(test, found, "cannot-tell", None, why)
    if found.true_loss < -_RISE:
        why = "the corrected pressure rose: it was filled in between, or a figure is wrong"
        return LeakLine(test, found, "rose", None, why)
    return _against_limit(test, found, found.true_loss, system)


def _against_limit(
    test: tuple[Taken, ...], found: LeakDown, loss: float, system: AirSystem
) -> LeakLine:
    """Against the limit whose time is nearest; in proportion, but not to more than twice it.

    A leak slows as the pressure falls, so that in proportion a long time would permit too much.
    """
    if not system.losses:
        return LeakLine(test, found, "no-limit", None, "")
    nearest = min(system.losses, key=lambda item: abs(log(found.minutes / float(item.minutes))))
    share = found.minutes / float(nearest.minutes)
    allowed = float(nearest.bar) * (share if share <= _MOST_STRETCHED else 1)
    if loss <= allowed:
        return LeakLine(test, found, "inside", allowed, "")
    if share > _MOST_STRETCHED:
        why = (
            f"it lost more than {format_amount(nearest.bar)} bar, in far longer than the "
            f"{format_amount(nearest.minutes)} min of that limit: read again after that time"
        )
        return LeakLine(test, found, "cannot-tell", None, why)
    return LeakLine(test, found, "out", allowed, "")
