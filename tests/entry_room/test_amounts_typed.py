"""Minutes and counts as a person types them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.entry.amounts import read_count, read_each, read_minutes, read_number
from register.trouble import Exit, RegisterError


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [
        ("12", "12"),
        ("12 min", "12"),
        ("12m", "12"),
        ("7.5", "7.5"),
        ("0.2 h", "12"),
        ("0.2h", "12"),
        ("1:30", "90"),
        ("0:07:30", "7.5"),
        ("1h30m", "90"),
        ("7m30s", "7.5"),
        ("7 min 30 s", "7.5"),
        ("90s", "1.5"),
        ("20 s", "0.33"),
        ("1200", "1200"),
    ],
)
def test_minutes(typed: str, minutes: str) -> None:
    found = read_minutes(typed)
    assert found == Decimal(minutes)
    assert "E" not in str(found)


@pytest.mark.parametrize(
    "typed", ["-4", "", "h", "twelve", "1:75", "7,5", "1e3", "inf", "12 apples"]
)
def test_what_is_no_amount_of_minutes(typed: str) -> None:
    with pytest.raises(RegisterError) as caught:
        read_minutes(typed)
    assert caught.value.exit_code == Exit.USAGE
    assert "12" in caught.value.mend


def test_more_than_a_day_for_one_flight_is_refused() -> None:
    assert read_minutes("24h") == 1440
    with pytest.raises(RegisterError, match="more than 1440"):
        read_minutes("24.1h")
    assert read_minutes("300h", most=None) == 18000


@pytest.mark.parametrize("typed", ["7,8,6", "7 8 6", "7, 8, 6", "7m 8m 6m"])
def test_minutes_flight_by_flight(typed: str) -> None:
    assert read_each(typed) == (Decimal(7), Decimal(8), Decimal(6))


@pytest.mark.parametrize("typed", ["0", "-1", "501", "2.5", "three", ""])
def test_what_is_no_count(typed: str) -> None:
    with pytest.raises(RegisterError) as caught:
        read_count(typed)
    assert caught.value.exit_code == Exit.USAGE


def test_counts_and_numbers() -> None:
    assert read_count("500") == 500
    assert read_count(0, least=0) == 0
    assert read_number("-1.5", what="cg") == Decimal("-1.5")


@given(st.integers(0, 23), st.integers(0, 59))
def test_hours_and_minutes_in_three_forms_are_one_amount(hours: int, minutes: int) -> None:
    total = hours * 60 + minutes
    assert read_minutes(f"{hours}:{minutes:02}") == total
    assert read_minutes(f"{hours}h{minutes}m") == total
    assert read_minutes(str(total)) == total


@given(st.text(max_size=12))
def test_any_text_is_an_amount_or_a_refusal(text: str) -> None:
    refusal: RegisterError | None = None
    found = Decimal(0)
    try:
        found = read_minutes(text)
    except RegisterError as error:
        refusal = error
    assert 0 <= found <= 1440
    assert refusal is None or refusal.exit_code == Exit.USAGE
