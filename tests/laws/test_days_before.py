"""A state on a day depends only on facts dated up to that day."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st
from laws.sheets import Sheets
from laws.small_fleets import FIRST, add_event, answer, fleets


@st.composite
def later_facts(draw: st.DrawFn) -> tuple[Sheets, Sheets, date]:
    """A fleet, the same fleet with more facts after a day, and the day."""
    before = draw(fleets(8))
    on = FIRST + timedelta(days=draw(st.integers(0, 45)))
    after = before.copy()
    for n in range(draw(st.integers(1, 5))):
        add_event(draw, after, on + timedelta(days=draw(st.integers(1, 30))), 100 + n)
    return before, after, on


@given(later_facts())
def test_later_facts_change_nothing_on_an_earlier_day(case: tuple[Sheets, Sheets, date]) -> None:
    before, after, on = case
    known = before.ledger(on.isoformat())
    assert answer(known, on) == answer(after.ledger().at(on), on)
