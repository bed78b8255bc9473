"""Leak-down of an air system: pressures compared only after correction to one temperature.

The amount of a gas in a fixed volume goes as absolute pressure over absolute temperature, so
p2 = (p1 + pa) T2 / T1 - pa in gauge figures, with pa the ambient pressure and T in kelvin; the
leak rate is V/R (p2/T2 - p1/T1) / time (40 CFR 1065.644). Pressures in bar gauge, ambient in bar
absolute, temperatures in degrees Celsius, times in minutes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.bodies import Reading
from register.records.events import Event

#: ISO 2533 standard atmosphere at sea level, in bar.
STANDARD_AMBIENT = Decimal("1.01325")
STANDARD_BASIS = "standard atmosphere at sea level (ISO 2533)"
KELVIN = 273.15
#: Molar gas constant, J/(mol K): exact since the SI of 2019.
GAS_CONSTANT = 8.31446261815324
#: A fall within so many bar is what a gauge may not show (common practice, no source).
SMALLEST_FALL = 0.005
#: No model's air system holds more, in bar: beyond it the unit was mistaken (from memory).
MOST_BAR = Decimal(40)
#: Beyond these, in degrees Celsius, a reading is a slip of the pen.
_COLDEST, _HOTTEST = Decimal(-90), Decimal(200)


class Gauge(Struct, frozen=True):
    """One reading: bar gauge, minutes on any clock, temperature and ambient where stated."""

    pressure: Decimal
    minute: float
    temperature: Decimal | None
    ambient: Decimal
    ambient_basis: str


class LeakDown(Struct, frozen=True):
    """What two readings come to. None where temperatures or the time are not known.

    `corrected` is the second reading at the first one's temperature and ambient; `rate` in bar
    an hour at the second's; `hours` to the minimum if the loss goes on at that rate, and
    `hours_slowing` if it slows as the pressure falls. `air_ml` of ambient air lost a minute.
    """

    minutes: float
    apparent: float
    corrected: float | None
    true_loss: float | None
    by_temperature: float | None
    rate: float | None
    hours: float | None
    hours_slowing: float | None
    air_ml: float | None
    moles_per_second: float | None


def correct_gauge(
    pressure: float, start: float, end: float, ambient: float, ambient_end: float | None = None
) -> float:
    """A gauge pressure taken at `start` degrees as it would read at `end` degrees, no leak."""
    after = ambient if ambient_end is None else ambient_end
    return (pressure + ambient) * (end + KELVIN) / (start + KELVIN) - after


def leak_rate(volume: float, p1: float, t1: float, p2: float, t2: float, seconds: float) -> float:
    """Moles a second into a volume (below zero: out of it): V/R (p2/T2 - p1/T1) / seconds.

    Cubic metres, pascals absolute, kelvin (40 CFR 1065.644).
    """
    return volume / GAS_CONSTANT * (p2 / t2 - p1 / t1) / seconds


def judge_leak(
    first: Gauge, last: Gauge, minimum: Decimal | None = None, volume_ml: Decimal | None = None
) -> LeakDown:
    """The true loss between two readings. The second must be later than the first."""
    minutes = last.minute - first.minute
    p1, p2 = float(first.pressure), float(last.pressure)
    apparent = p1 - p2
    if first.temperature is None or last.temperature is None:
        return LeakDown(minutes, apparent, *(None,) * 8)
    t1, t2 = float(first.temperature), float(last.temperature)
    a1, a2 = float(first.ambient), float(last.ambient)
    corrected = correct_gauge(p2, t2, t1, a2, a1)
    true_loss = p1 - corrected
    # The gauge is watched at the temperature of now: the hours count from there.
    loss_now = correct_gauge(p1, t1, t2, a1, a2) - p2
    rate = loss_now / minutes * 60 if minutes > 0 else None
    hours, slowing = _hours_left(p2, loss_now, minutes, minimum)
    moles = air = None
    if volume_ml is not None and minutes > 0:
        volume = float(volume_ml) / 1e6
        k1, k2 = t1 + KELVIN, t2 + KELVIN
        moles = -leak_rate(volume, (p1 + a1) * 1e5, k1, (p2 + a2) * 1e5, k2, minutes * 60)
        air = moles * GAS_CONSTANT * k2 / (a2 * 1e5) * 1e6 * 60
    return LeakDown(
        minutes,
        apparent,
        corrected,
        true_loss,
        apparent - true_loss,
        rate,
        hours,
        slowing,
        air,
        moles,
    )


def _hours_left(
    pressure: float, loss: float, minutes: float, minimum: Decimal | None
) -> tuple[float | None, float | None]:
    if minimum is None or minutes <= 0:
        return None, None
    room = pressure - float(minimum)
    if room <= 0:
        return 0.0, 0.0
    if loss <= SMALLEST_FALL:
        return None, None
    hours = room / loss * minutes / 60
    slowing = None
    if minimum > 0 and pressure > 0:
        slope = math.log((pressure + loss) / pressure) / minutes
        slowing = math.log(pressure / float(minimum)) / slope / 60
    return hours, slowing


class Taken(Struct, frozen=True):
    """One reading of the ledger as a gauge reading; `gauge` None when it cannot count."""

    event: Event
    gauge: Gauge | None
    begins: bool
    why_not: str


def list_taken(
    ledger: Ledger, aircraft: str, system: str, ambient: Decimal | None
) -> tuple[Taken, ...]:
    """Readings of an air system, in order. `ambient` is the place's usual one, if stated."""
    found = []
    for event in ledger.about(("aircraft", aircraft)):
        body = event.body
        if isinstance(body, Reading) and body.measured.name == system:
            found.append(_take(event, body, ambient))
    return tuple(found)


def _take(event: Event, body: Reading, usual: Decimal | None) -> Taken:
    value, unit = body.measured.value, body.measured.unit
    instant = event.moment.instant
    if value is None or unit.casefold() != "bar":
        return Taken(event, None, body.begins, f"it is in {unit or 'no unit'}, not in bar")
    if instant is None:
        return Taken(event, None, body.begins, "it has no time of day")
    if body.temperature is not None and not _COLDEST < body.temperature < _HOTTEST:
        return Taken(event, None, body.begins, "its temperature cannot be one of the air")
    if value > MOST_BAR or (body.ambient is not None and not 0 < body.ambient < MOST_BAR):
        return Taken(event, None, body.begins, "its pressure cannot be one in bar")
    ambient, basis = choose_ambient(body.ambient, usual)
    gauge = Gauge(value, instant.timestamp() / 60, body.temperature, ambient, basis)
    return Taken(event, gauge, body.begins, "")


def choose_ambient(stated: Decimal | None, usual: Decimal | None) -> tuple[Decimal, str]:
    """The ambient pressure that counts, and where it comes from."""
    if stated is not None:
        return stated, "stated with the reading"
    if usual is not None:
        return usual, "the usual one of the place, as the aircraft's file states"
    return STANDARD_AMBIENT, STANDARD_BASIS


def split_tests(taken: Iterable[Taken]) -> tuple[tuple[Taken, ...], ...]:
    """Readings cut into leak-downs: each begins with a reading that says so, or the first."""
    tests: list[list[Taken]] = []
    for item in taken:
        if item.begins or not tests:
            tests.append([])
        tests[-1].append(item)
    return tuple(tuple(test) for test in tests)
