"""Readings of an air system as typed: pressure, temperature and time, for a leak-down."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

from msgspec import Struct

from register.entry.amounts import read_minutes
from register.entry.clerk import Clerk, Plan, Stamp, When
from register.entry.dates import read_when, take_now
from register.entry.drafting import Draft
from register.entry.naming import match_name
from register.entry.subjects import find_aircraft
from register.records.air import AirSystem
from register.records.as_built import read_section
from register.records.units import PRESSURE_UNITS, parse_quantity, parse_temperature
from register.records.values import format_amount
from register.text.nodes import Plain
from register.trouble import RegisterError
from register.workshop.leak import (
    MOST_BAR,
    Gauge,
    choose_ambient,
    judge_leak,
    list_taken,
    split_tests,
)

_READING = re.compile(r"(?P<pressure>[^@/]+)(?:@(?P<heat>[^@/]+))?(?:/(?P<clock>\d{1,2}:\d{2}))?")
_COLDEST, _HOTTEST = Decimal(-40), Decimal(90)
_LEAST_AMBIENT, _MOST_AMBIENT = Decimal("0.5"), Decimal("1.1")
#: A second reading higher than the first by so much, corrected, is not one of the same filling.
_RISE = 0.02


class LeakWords(Struct, frozen=True):
    """Readings as typed, `8.0@24/14:00`; `minutes` between two without a clock."""

    readings: Sequence[str]
    minutes: str | None = None
    ambient: str | None = None
    begin: bool = False


class Typed(Struct, frozen=True):
    """One reading as understood: bar, degrees Celsius, and when it was taken."""

    bar: Decimal
    heat: Decimal | None
    when: When


def read_systems(clerk: Clerk, aircraft: str) -> dict[str, AirSystem]:
    """The air systems of an aircraft."""
    found: dict[str, AirSystem] = read_section(clerk.ledger.records, aircraft, "air")[0]
    return found


def find_system(systems: dict[str, AirSystem], aircraft: str, typed: str) -> str:
    """The air system meant."""
    add = f"write air: {typed.strip().lower()}: in aircraft/{aircraft}/aircraft.yaml or in its kit"
    return match_name(typed, systems, "air system", add=add)


def plan_leak(clerk: Clerk, aircraft: str, system: str, words: LeakWords, stamp: Stamp) -> Plan:
    """Record readings of an air system; the first of several begins a leak-down."""
    draft = Draft(clerk, stamp, takes_time=True)
    name = find_aircraft(clerk, aircraft)
    systems = read_systems(clerk, name)
    chosen = systems[find_system(systems, name, system)]
    ambient = _read_ambient(words.ambient)
    typed = _read_all(draft, words)
    _check_order(typed)
    begins = words.begin or len(typed) > 1 or _is_new(draft, name, chosen, typed[0], ambient)
    for n, item in enumerate(typed):
        draft.when = item.when
        body: dict[str, Plain] = {
            "subject": clerk.ref(("aircraft", name)),
            "name": chosen.name,
            "value": item.bar,
            "unit": "bar",
            "temperature": item.heat,
            "ambient": ambient,
            "begins": True if begins and not n else None,
        }
        draft.write(f"aircraft/{name}", "reading", body)
    draft.touch(("aircraft", name))
    _say(draft, name, chosen, typed, ambient, begins=begins)
    return draft.plan(f"Read the pressure of {chosen.name} of {name}")


def _read_all(draft: Draft, words: LeakWords) -> tuple[Typed, ...]:
    parsed = [_parse(text) for text in words.readings]
    if words.minutes is not None:
        if len(parsed) != 2 or any(clock for _, _, clock in parsed):
            raise RegisterError(
                "--minutes is the time between two readings that have no clock time",
                mend="8.0@24 7.2@15 --minutes 30",
                code="usage",
            )
        gap = read_minutes(words.minutes, what="--minutes", most=None)
        last = _last_moment(draft)
        first = _earlier(draft, last, gap)
        times = [first, last]
    else:
        if len(parsed) > 1 and not all(clock for _, _, clock in parsed):
            raise RegisterError(
                "when was each of them taken?",
                mend="8.0@24/14:00 7.2@15/14:30, or --minutes 30 between the two",
                code="leak-times",
            )
        times = _clock_times(draft, [clock for _, _, clock in parsed])
    return tuple(Typed(bar, heat, when) for (bar, heat, _), when in zip(parsed, times, strict=True))


def _last_moment(draft: Draft) -> When:
    """The moment of the last reading: as stamped, else now."""
    if draft.when.instant is not None:
        return draft.when
    if draft.when.day == draft.clerk.today:
        return take_now(draft.clerk.now, draft.clerk.ledger.records.zone)
    raise RegisterError(
        "a leak-down needs the time of day",
        mend=f'--at "{draft.when.day.isoformat()} 14:30"',
        code="leak-times",
    )


def _earlier(draft: Draft, last: When, minutes: Decimal) -> When:
    if last.instant is None:
        return last
    moment = last.instant.astimezone(UTC) - timedelta(minutes=float(minutes))
    home = moment.astimezone(draft.clerk.ledger.records.zone)
    return When(home.date(), home)


def _clock_times(draft: Draft, clocks: list[str | None]) -> list[When]:
    """Each on the day of the entry; one later by the clock than the next is of the day before."""
    if clocks == [None]:
        return [_last_moment(draft)]
    clerk, day = draft.clerk, draft.when.day
    found: list[When] = []
    for clock in reversed(clocks):
        when = _clock_on(clerk, day, clock)
        if found and when.instant and found[-1].instant and when.instant > found[-1].instant:
            day -= timedelta(days=1)
            when = _clock_on(clerk, day, clock)
        found.append(when)
    return found[::-1]


def _clock_on(clerk: Clerk, day: date, clock: str | None) -> When:
    try:
        return read_when(f"{day.isoformat()} {clock}", clerk.now, clerk.ledger.records.zone)
    except RegisterError as error:
        raise RegisterError(error.says, mend="8.0@24/14:00", code=error.code) from error


def _parse(text: str) -> tuple[Decimal, Decimal | None, str | None]:
    found = _READING.fullmatch(text.strip())
    amount = parse_quantity(found["pressure"], PRESSURE_UNITS) if found else None
    if found is None or amount is None:
        raise RegisterError(
            f"{text[:40]!r} is not a reading this program reads",
            mend="pressure@temperature/time: 8.0@24/14:00, or 116psi@75F/14:00",
            code="reading-wrong",
        )
    if amount.value < 0:
        raise RegisterError(
            f"{text[:40]!r}: a gauge does not read below zero here",
            mend="give what the gauge shows, in bar",
            code="amount-wrong",
        )
    if amount.value > MOST_BAR:
        bare = " If the gauge shows psi, write the unit." if amount.is_bare else ""
        raise RegisterError(
            f"{text[:40]!r}: {format_amount(amount.value)} bar is more than any model's air "
            f"system holds.{bare}",
            mend=f"{format_amount(amount.value)}psi, or the right figure in bar",
            code="amount-unlikely",
        )
    # A gauge shows no more than a thousandth of a bar.
    bar = amount.value if amount.unit in ("", "bar") else amount.value.quantize(Decimal("0.001"))
    return bar, _read_heat(found["heat"], text), found["clock"]


def _read_heat(word: str | None, text: str) -> Decimal | None:
    if word is None:
        return None
    found = parse_temperature(word)
    if found is None or not _COLDEST <= found.value <= _HOTTEST:
        raise RegisterError(
            f"{text[:40]!r}: {word!r} is not the temperature of an air tank",
            mend="degrees Celsius after the @: 8.0@24, or @75F",
            code="temperature-wrong",
        )
    return found.value


def _read_ambient(text: str | None) -> Decimal | None:
    if text is None:
        return None
    found = parse_quantity(text, PRESSURE_UNITS)
    if found is None or not _LEAST_AMBIENT <= found.value <= _MOST_AMBIENT:
        raise RegisterError(
            f"--ambient {text[:20]!r} is not a pressure of the air around",
            mend="--ambient 0.98 (bar), or --ambient 982hPa: as a barometer at the place shows it",
            code="ambient-wrong",
        )
    return found.value


def _check_order(typed: Sequence[Typed]) -> None:
    for one, two in pairwise(typed):
        if one.when.instant and two.when.instant and two.when.instant <= one.when.instant:
            raise RegisterError(
                "the second reading is not later than the first",
                mend="8.0@24/14:00 7.2@15/14:30: the first reading first",
                code="leak-times",
            )


def _gauge(item: Typed, ambient: Decimal | None, system: AirSystem) -> Gauge:
    pressure, basis = choose_ambient(ambient, system.ambient)
    instant: datetime | None = item.when.instant
    minute = instant.timestamp() / 60 if instant is not None else 0.0
    return Gauge(item.bar, minute, item.heat, pressure, basis)


def _is_new(
    draft: Draft, aircraft: str, system: AirSystem, typed: Typed, ambient: Decimal | None
) -> bool:
    """Whether a reading begins a leak-down: the first one, or one that only filling explains."""
    taken = [
        item
        for item in list_taken(draft.clerk.ledger, aircraft, system.name, system.ambient)
        if item.gauge is not None
    ]
    gauge = _gauge(typed, ambient, system)
    if not taken or taken[-1].gauge is None or taken[-1].gauge.minute >= gauge.minute:
        return True
    found = judge_leak(taken[-1].gauge, gauge)
    loss = found.apparent if found.true_loss is None else found.true_loss
    return loss < -_RISE


def _say(
    draft: Draft,
    aircraft: str,
    system: AirSystem,
    typed: tuple[Typed, ...],
    ambient: Decimal | None,
    *,
    begins: bool,
) -> None:
    said = ", then ".join(
        f"{format_amount(item.bar)} bar"
        + (f" at {format_amount(item.heat)} °C" if item.heat is not None else "")
        for item in typed
    )
    draft.say(f"{aircraft} {system.name}: {said}" + ("; a leak-down begins" if begins else ""))
    if any(item.heat is None for item in typed):
        draft.warn("without the temperature of each reading no true loss can be told: 8.0@24")
    if system.full is not None and any(item.bar > system.full for item in typed):
        draft.warn(
            f"more than the full {format_amount(system.full)} bar that is stated "
            f"({system.basis.text}): let the excess off before anything else"
        )
    first = _gauge(typed[0], ambient, system)
    if not begins:
        first = _first_gauge(draft, aircraft, system) or first
    found = judge_leak(first, _gauge(typed[-1], ambient, system), system.minimum)
    if found.true_loss is not None and found.minutes > 0:
        hours = f", {found.hours:.1f} h to the minimum" if found.hours is not None else ""
        draft.say(
            f"true loss {found.true_loss:.3f} bar in {found.minutes:.0f} min "
            f"({found.apparent:.3f} on the gauge){hours}: tailsheaf leak {aircraft} {system.name}"
        )


def _first_gauge(draft: Draft, aircraft: str, system: AirSystem) -> Gauge | None:
    """The first reading of the leak-down that goes on."""
    taken = list_taken(draft.clerk.ledger, aircraft, system.name, system.ambient)
    tests = split_tests(taken)
    return next((item.gauge for item in tests[-1] if item.gauge), None) if tests else None
