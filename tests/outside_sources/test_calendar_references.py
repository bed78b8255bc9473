"""Calendar arithmetic held to RFC 5545 and to dateutil, an independent implementation."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import MONTHLY, rrule, rrulestr
from hypothesis import given
from hypothesis import strategies as st

from register.tasks.calendar import (
    CalendarPoint,
    add_months,
    month_end,
    month_length,
    season_day,
    season_of,
)

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "data" / "intervals.json").read_text("utf-8")
)
DAYS = st.dates(date(1950, 1, 1), date(2150, 12, 31))


def find_cases(letter: str) -> list[Any]:
    """Published cases whose id begins with a letter."""
    return [pytest.param(case, id=case["id"]) for case in CASES if case["id"].startswith(letter)]


def expand(start: str, rule: str, take: int) -> list[str]:
    """A recurrence by dateutil."""
    found = rrulestr(rule, dtstart=datetime.fromisoformat(start))
    return [item.date().isoformat() for item, _ in zip(found, range(take), strict=False)]


@pytest.mark.parametrize("case", find_cases("M-"))
def test_month_arithmetic(case: dict[str, Any]) -> None:
    added = case["given"]["add"]
    months = added.get("months", 0) + 12 * added.get("years", 0)
    start = date.fromisoformat(case["given"]["start"])
    assert add_months(start, months).isoformat() == case["expect"]


@pytest.mark.parametrize("case", find_cases("R-"))
def test_the_reference_itself_gives_the_published_expansion(case: dict[str, Any]) -> None:
    """What the reference says below counts only if it agrees with RFC 5545 here."""
    rule = case["given"]
    assert expand(rule["DTSTART"], rule["RRULE"], len(case["expect"])) == case["expect"]


@pytest.mark.parametrize("case", find_cases("R-"))
def test_published_expansions_from_our_months(case: dict[str, Any]) -> None:
    """The same days from our own months: the n-th day of a month, or counted from its end."""
    rule = dict(part.split("=") for part in case["given"]["RRULE"].split(";"))
    start = date.fromisoformat(case["given"]["DTSTART"])
    step = int(rule.get("INTERVAL", 1))
    found: list[date] = []
    for n in range(0, 60 * step, step):
        first = add_months(start.replace(day=1), n)
        length = month_end(first).day
        days = (int(word) for word in rule["BYMONTHDAY"].split(","))
        wanted = sorted(d if d > 0 else length + 1 + d for d in days)
        found.extend(first.replace(day=d) for d in wanted if d <= length)
    kept = [item.isoformat() for item in found if item >= start]
    assert kept[: len(case["expect"])] == case["expect"]


@given(DAYS, st.integers(0, 600))
def test_adding_months_is_relativedelta(start: date, months: int) -> None:
    assert add_months(start, months) == start + relativedelta(months=months)


@given(DAYS)
def test_month_end_is_the_last_day_by_rrule(day: date) -> None:
    first = datetime(day.year, day.month, 1)  # noqa: DTZ001 (days of a calendar have no zone)
    last = rrule(MONTHLY, dtstart=first, bymonthday=-1, count=1)[0].date()
    assert month_end(day) == last
    assert month_length(day.year, day.month) == last.day


@given(DAYS, st.integers(1, 60), st.integers(1, 20))
def test_the_nth_calendar_month_is_by_rrule(anchor: date, months: int, times: int) -> None:
    """Last days of every `months`-th month, taken from rrule."""
    point = CalendarPoint(anchor)
    for _ in range(times):
        point = point.plus("calendar-months", months)
    first = datetime(anchor.year, anchor.month, 1)  # noqa: DTZ001 (days have no zone)
    rule = rrule(MONTHLY, interval=months, dtstart=first, bymonthday=-1, count=times + 1)
    assert point.day == rule[times].date()


@given(DAYS, st.integers(1, 36), st.integers(1, 20))
def test_the_nth_point_counts_from_the_anchor(anchor: date, months: int, times: int) -> None:
    point = CalendarPoint(anchor)
    for _ in range(times):
        point = point.plus("months", months)
    assert point.day == anchor + relativedelta(months=months * times)


@given(DAYS, st.integers(1, 2000), st.integers(1, 10))
def test_days_are_days(anchor: date, days: int, times: int) -> None:
    point = CalendarPoint(anchor)
    for _ in range(times):
        point = point.plus("days", days)
    assert point.day == anchor + relativedelta(days=days * times)


def test_three_behaviours_at_the_end_of_a_month_differ() -> None:
    """From 31 August each month: clamping, skipping (RFC 5545), and the last day always."""
    anchor = date(2026, 8, 31)
    clamped = [CalendarPoint(anchor, months=n).day.isoformat() for n in (1, 2, 3, 4)]
    assert clamped == ["2026-09-30", "2026-10-31", "2026-11-30", "2026-12-31"]
    skipped = expand("2026-08-31", "FREQ=MONTHLY;BYMONTHDAY=31", 4)
    assert skipped == ["2026-08-31", "2026-10-31", "2026-12-31", "2027-01-31"]
    # From 30 August the last day always differs from clamping too.
    from_30th = CalendarPoint(date(2026, 8, 30))
    assert from_30th.plus("months", 2).day == date(2026, 10, 30)
    assert from_30th.plus("calendar-months", 2).day == date(2026, 10, 31)
    # Chained steps lose the day; counted from the anchor it comes back.
    assert add_months(add_months(anchor, 6), 6) == date(2027, 8, 28)
    assert CalendarPoint(anchor).plus("months", 6).plus("months", 6).day == anchor.replace(
        year=2027
    )


@given(DAYS, st.integers(1, 12), st.integers(1, 31))
def test_a_season_is_the_last_beginning_not_after_the_day(day: date, month: int, of: int) -> None:
    start = (month, min(of, month_length(2024, month)))
    begins = season_of(day, start)
    assert begins <= day
    assert begins in (season_day(day.year, start), season_day(day.year - 1, start))
    assert season_day(begins.year + 1, start) > day
