"""Under from-done a later done never brings the next due point nearer."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from laws.sheets import Sheets, due_at

FIRST = date(2026, 3, 2)
CALENDAR = st.sampled_from([{"months": 1}, {"calendar_months": 2}, {"days": 20}])


def write(days: list[int], dones: list[int], calendar: dict[str, int], first: int) -> Sheets:
    """Flights on some days and dones on others: no day has both."""
    sheets = Sheets()
    every: list[dict[str, Any]] = [{"counter": "flights", "amount": 20}, calendar]
    sheets.task("check", every=every, first=[{"counter": "flights", "amount": first}])
    for n, flown in enumerate(days):
        sheets.fly((FIRST + timedelta(days=2 * n)).isoformat(), flown)
    for n in sorted(dones):
        sheets.done("check", (FIRST + timedelta(days=2 * n + 1)).isoformat())
    return sheets


@given(
    st.lists(st.integers(1, 9), min_size=1, max_size=10),
    st.sets(st.integers(0, 9), max_size=4),
    st.integers(0, 9),
    CALENDAR,
    st.integers(1, 20),
)
def test_a_later_done_never_brings_the_due_point_nearer(
    days: list[int], dones: set[int], last: int, calendar: dict[str, int], first: int
) -> None:
    earlier = [n for n in dones if n <= last]
    on = (FIRST + timedelta(days=40)).isoformat()
    before = write(days, earlier, calendar, first).item("check", on).limits
    after = write(days, [*earlier, last], calendar, first).item("check", on).limits
    assert due_at(after[0]) >= due_at(before[0])
    assert after[1].day is not None
    assert before[1].day is not None
    assert after[1].day >= before[1].day
