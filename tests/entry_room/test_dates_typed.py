"""Days and times as a person types them; nothing ambiguous is guessed."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.entry.dates import read_day, read_when, take_now
from register.trouble import Exit, RegisterError

VIENNA = ZoneInfo("CET")
NOW = datetime(2026, 5, 16, 22, 30, tzinfo=UTC)
"""In Vienna it is already Sunday, 17 May, half past midnight."""
NOON = datetime(2026, 5, 16, 10, 0, tzinfo=UTC)
"""Saturday noon in Vienna."""


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("2026-05-02", "2026-05-02"),
        ("today", "2026-05-16"),
        (" Yesterday ", "2026-05-15"),
        ("tomorrow", "2026-05-17"),
        ("sat", "2026-05-16"),
        ("saturday", "2026-05-16"),
        ("su", "2026-05-10"),
        ("Fri", "2026-05-15"),
        ("last saturday", "2026-05-09"),
        ("last sun", "2026-05-10"),
        ("3 days ago", "2026-05-13"),
        ("1 day ago", "2026-05-15"),
        ("2 weeks ago", "2026-05-02"),
        ("12 may", "2026-05-12"),
        ("may 12", "2026-05-12"),
        ("12 May 2024", "2024-05-12"),
        ("may 12, 2024", "2024-05-12"),
        ("20 may", "2025-05-20"),
        ("3 sept", "2025-09-03"),
        ("1st jun", "2025-06-01"),
    ],
)
def test_a_day(typed: str, day: str) -> None:
    assert read_day(typed, NOON, VIENNA) == date.fromisoformat(day)


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("sat", "2026-05-16"),
        ("fri", "2026-05-22"),
        ("20 may", "2026-05-20"),
        ("2 may", "2027-05-02"),
    ],
)
def test_a_day_to_come(typed: str, day: str) -> None:
    assert read_day(typed, NOON, VIENNA, ahead=True) == date.fromisoformat(day)


def test_today_is_that_of_the_home_zone() -> None:
    assert read_day("today", NOW, VIENNA) == date(2026, 5, 17)
    assert read_day("today", NOW, ZoneInfo("UTC")) == date(2026, 5, 16)


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("12.5.", "date-form"),
        ("5/12/2026", "date-form"),
        ("12-05-2026", "date-form"),
        ("2026-5-1", "date-form"),
        ("last week", "date-form"),
        ("last friday", "date-form"),
        ("may 2026", "date-form"),
        ("t", "date-form"),
        ("12 ma", "date-form"),
        ("ju 12", "date-form"),
        ("", "date-form"),
        ("2026-02-30", "date-impossible"),
        ("31 april", "date-impossible"),
        ("29 feb", "date-impossible"),
        ("0026-05-16", "date-unlikely"),
    ],
)
def test_what_is_no_day_is_refused_with_the_form_to_type(typed: str, code: str) -> None:
    with pytest.raises(RegisterError) as caught:
        read_day(typed, NOON, VIENNA)
    assert (caught.value.code, caught.value.exit_code) == (code, Exit.USAGE)
    assert "year-month-day" in caught.value.mend


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("12.5.", "two ways"),
        ("5/12/2026", "two ways"),
        ("31.5.2026", "is not written year-month-day"),
        ("5.5.2026", "is not written year-month-day"),
        ("2026-5-1", "is not a day this program reads"),
        ("2026-05", "is a month"),
        ("may 2026", "is a month"),
        ("5/2026", "is a month"),
        ("last friday", "could be 2026-05-15 or 2026-05-08"),
        ("99.99.", "is not written year-month-day"),
    ],
)
def test_one_problem_of_a_day_is_named(typed: str, words: str) -> None:
    with pytest.raises(RegisterError) as caught:
        read_day(typed, NOON, VIENNA)
    assert words in caught.value.says


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("sat", "2026-05-16"),
        ("14:20", "2026-05-16T14:20+02:00"),
        ("yesterday 14:20", "2026-05-15T14:20+02:00"),
        ("sat 9:05", "2026-05-16T09:05+02:00"),
        ("yesterday at 14:20", "2026-05-15T14:20+02:00"),
        ("2026-01-10 14:20", "2026-01-10T14:20+01:00"),
        ("2026-05-10T14:20", "2026-05-10T14:20+02:00"),
        ("2026-05-10T14:20+03:00", "2026-05-10T14:20+03:00"),
        ("2026-05-10 14:20Z", "2026-05-10T14:20+00:00"),
        ("2026-05-10T14:20:31+0300", "2026-05-10T14:20+03:00"),
    ],
)
def test_a_moment(typed: str, text: str) -> None:
    assert read_when(typed, NOON, VIENNA).text == text


def test_a_clock_time_that_is_none() -> None:
    with pytest.raises(RegisterError, match="not a time of the clock"):
        read_when("25:10", NOON, VIENNA)


@pytest.mark.parametrize(
    ("typed", "words"),
    [("2026-03-29 02:30", "does not exist"), ("2025-10-26 02:30", "comes twice")],
)
def test_an_hour_the_clocks_skip_or_repeat_is_not_guessed(typed: str, words: str) -> None:
    with pytest.raises(RegisterError, match=words) as caught:
        read_when(typed, NOON, VIENNA)
    assert "+01:00" in caught.value.mend
    assert "+02:00" in caught.value.mend


def test_a_fact_of_a_day_to_come_is_a_slip_of_the_year() -> None:
    with pytest.raises(RegisterError, match="has not come yet") as caught:
        read_when("2027-05-10", NOON, VIENNA)
    assert caught.value.mend.endswith("--at 2026-05-10")
    assert read_when("tomorrow", NOON, VIENNA).text == "2026-05-17"


def test_now_is_this_minute_in_home_time() -> None:
    assert take_now(NOW, VIENNA).text == "2026-05-17T00:30+02:00"


@given(st.dates(date(1950, 1, 1), date(2150, 12, 31)))
def test_every_iso_day_is_itself(day: date) -> None:
    assert read_day(day.isoformat(), NOON, VIENNA) == day


@given(st.integers(0, 6), st.integers(0, 3000))
def test_a_weekday_is_the_last_such_day(weekday: int, days: int) -> None:
    now = NOON + timedelta(days=days)
    name = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")[weekday]
    found = read_day(name, now, VIENNA)
    assert found.weekday() == weekday
    assert 0 <= (now.date() - found).days <= 6


@given(st.text(max_size=20))
def test_any_text_is_a_day_or_a_refusal(text: str) -> None:
    refusal: RegisterError | None = None
    try:
        read_when(text, NOON, VIENNA)
    except RegisterError as error:
        refusal = error
    assert refusal is None or (refusal.exit_code == Exit.USAGE and refusal.mend)
