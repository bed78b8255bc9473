"""Figures that are out of bounds, or larger than a day can hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from register.checks.survey import Survey, number_of, warn
from register.records.bodies import Charge, EngineRun, Flights, Measured, TaskDone
from register.records.events import Event
from register.records.programmes import ReadingWanted
from register.records.values import format_amount
from register.trouble import Problem

MINUTES_A_DAY = Decimal(24 * 60)
#: More flights of one aircraft, or charges of one pack, in a day than anyone manages.
MOST_A_DAY = 100


def check_readings_inside(survey: Survey) -> Iterator[Problem]:
    """A reading outside its bounds in a check recorded as passed, or in another unit."""
    for event in survey.ledger.events:
        body = event.body
        if not isinstance(body, TaskDone) or body.result != "pass" or not body.readings:
            continue
        tasks = survey.tasks_named(body.task)
        if tasks:
            for measured in body.readings:
                wanted = _find_wanted(tasks[0].readings, measured)
                if wanted is not None:
                    yield from _check_reading(survey, event, measured, wanted)


def _find_wanted(wanted: tuple[ReadingWanted, ...], measured: Measured) -> ReadingWanted | None:
    name = measured.name.strip().lower()
    if not name and wanted:
        return wanted[0]
    return next((item for item in wanted if item.name == name), None)


def _check_reading(
    survey: Survey, event: Event, measured: Measured, wanted: ReadingWanted
) -> Iterator[Problem]:
    value = measured.value
    if value is None:
        return
    shown = f"{wanted.name}: {format_amount(value)} {measured.unit}".rstrip()
    if wanted.unit and measured.unit and wanted.unit != measured.unit:
        yield warn(
            event.place("readings"),
            "unit-differs",
            f"{shown} was given where the task asks for {wanted.unit}; it was not compared",
            f"tailsheaf withdraw {survey.short(event)}   and enter it in {wanted.unit}",
        )
        return
    low, high = wanted.low, wanted.high
    if (low is not None and value < low) or (high is not None and value > high):
        yield warn(
            event.place("readings"),
            "reading-out",
            f"{shown} is outside {_bounds(low, high)} and was recorded as passed "
            f"({wanted.basis.text})",
            f"tailsheaf amend {survey.short(event)} result=fail",
        )


def _bounds(low: Decimal | None, high: Decimal | None) -> str:
    if low is None:
        return f"at most {format_amount(high or Decimal(0))}"
    if high is None:
        return f"at least {format_amount(low)}"
    return f"{format_amount(low)} to {format_amount(high)}"


def check_minutes_likely(survey: Survey) -> Iterator[Problem]:
    """More minutes of one aircraft or engine in a day than a day has."""
    totals: dict[tuple[str, str, date], Decimal] = defaultdict(Decimal)
    for event in survey.ledger.events:
        for key, name, minutes in _minutes_of(survey, event):
            running = (key, name, event.moment.day)
            before = totals[running]
            totals[running] = before + minutes
            if before <= MINUTES_A_DAY < totals[running]:
                yield warn(
                    event.place(key),
                    "minutes-unlikely",
                    f"{key}: {name} has {format_amount(totals[running])} minutes on "
                    f"{event.moment.day.isoformat()}, more than a day",
                    f"tailsheaf amend {survey.short(event)} {key}=MINUTES",
                )


def _minutes_of(survey: Survey, event: Event) -> Iterator[tuple[str, str, Decimal]]:
    body, names = event.body, survey.ledger.names
    if isinstance(body, Flights):
        name = names.aircraft_name(body.aircraft)
        pairs = (("minutes", body.minutes), ("engine_minutes", body.engine_minutes))
        if name is not None:
            yield from ((key, name, value) for key, value in pairs if value is not None)
    elif isinstance(body, EngineRun) and body.minutes is not None:
        name = names.part_name(body.part)
        if name is not None:
            yield "minutes", name, body.minutes


def check_counts_likely(survey: Survey) -> Iterator[Problem]:
    """More flights of one aircraft, or charges of one pack, in a day than anyone manages."""
    totals: dict[tuple[str, str, date], int] = defaultdict(int)
    for event in survey.ledger.events:
        body, names = event.body, survey.ledger.names
        if isinstance(body, Flights):
            word, count, found = "flight", body.count, {names.aircraft_name(body.aircraft)}
        elif isinstance(body, Charge):
            word, count = "charge", body.count
            found = {names.part_name(ref) for ref in body.parts}
        else:
            continue
        for name in sorted(filter(None, found)):
            running = (word, name, event.moment.day)
            before = totals[running]
            totals[running] = before + count
            if before <= MOST_A_DAY < totals[running]:
                yield warn(
                    event.place("count"),
                    "count-unlikely",
                    f"count: {number_of(totals[running], word)} of {name} on "
                    f"{event.moment.day.isoformat()}",
                    f"tailsheaf amend {survey.short(event)} count=NUMBER",
                )
