"""Amounts as owners type them: nothing is taken for a thousandth, nothing is dropped unsaid."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from register.records.spending import Money, money_until, read_money
from register.text.parsing import parse_text
from register.views.season_tally import Sum
from register.views.season_words import sum_text, total_text


def read(*lines: str, prices: str = "") -> Money:
    """What private.yaml says."""
    text = "spending:\n" + "".join(f'  - "{line}"\n' for line in lines)
    if prices:
        text += f'prices:\n  sv-1: "{prices}"\n'
    return read_money(parse_text("private.yaml", text.encode()).node)


@pytest.mark.parametrize("words", ["1 200 EUR leg", "1 200,50 EUR leg", "12 000 leg"])
def test_an_amount_in_groups_is_not_taken_for_its_first(words: str) -> None:
    money = read(f"2026-06-30 heron gear {words}")
    assert not money.spent
    [problem] = money.problems
    one, two = words.split()[:2]
    assert problem.mend == f"write it in one: {one}{two}"


def test_a_price_in_groups_too() -> None:
    money = read(prices="2 000 EUR")
    assert not money.prices
    assert [problem.mend for problem in money.problems] == ["write it in one: 2000"]


@pytest.mark.parametrize(
    ("words", "currency", "text"),
    [
        ("50 eur tape", "EUR", "tape"),
        ("50eur tape", "EUR", "tape"),
        ("50 for tape", "", "for tape"),
        ("50 XTS tape", "XTS", "tape"),
        ("50 2 tapes", "", "2 tapes"),
    ],
)
def test_a_currency_in_small_letters_counts(words: str, currency: str, text: str) -> None:
    [spent] = read(f"2026-06-30 heron gear {words}").spent
    assert (spent.amount, spent.currency, spent.text) == (Decimal(50), currency, text)


def test_a_mistyped_aircraft_and_a_later_day_are_said() -> None:
    money = money_until(
        read(
            "2026-07-03 herno gear 12 EUR",
            "2027-01-01 heron gear 40 EUR",
            "2026-07-03 fleet fuel 5",
        ),
        date(2026, 11, 25),
        ("heron", "kestrel"),
    )
    assert [spent.whom for spent in money.spent] == ["herno", "fleet"]
    assert [(one.place.line, one.mend) for one in money.problems] == [
        (2, "write heron in its place"),
        (3, "correct the day, or leave it until then"),
    ]
    assert "1 line is dated after 2026-11-25" in money.problems[1].says


def test_cents_and_refunds_are_shown() -> None:
    sums = (
        Sum("gear", "", Decimal(127), 1),
        Sum("gear", "EUR", Decimal("-43.50"), 1),
        Sum("fuel", "EUR", Decimal("0.4"), 1),
    )
    assert sum_text(sums, "gear") == "127 and -43.50 EUR"
    assert sum_text(sums, "fuel") == "0.40 EUR"
    assert total_text(sums) == "127 and -43.10 EUR"
