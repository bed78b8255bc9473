"""Windows: the last permitted point is never before the due point, and time only worsens."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from laws.sheets import Sheets, due_at

from register.tasks.items import view_items
from register.tasks.limits import STATE_ORDER

SLIDE = st.one_of(st.none(), st.integers(0, 12))


def windowed(every: dict[str, Any], early: Any, late: Any, suffix: str = "") -> Sheets:
    """A task with a window where one is given."""
    slides = {f"early{suffix}": early, f"late{suffix}": late}
    sheets = Sheets()
    sheets.task("check", every=[{**every, **{k: v for k, v in slides.items() if v is not None}}])
    return sheets


@settings(max_examples=25)
@given(st.integers(1, 40), SLIDE, SLIDE)
def test_a_counter_only_makes_a_state_worse(
    amount: int, early: int | None, late: int | None
) -> None:
    sheets = windowed({"counter": "flights", "amount": amount}, early, late)
    sheets.fly("2026-05-01", 1)
    severity = []
    due = due_at(sheets.limit("check", "2026-05-01"))
    for used in range(1, amount + (late or 0) + 3):
        again = sheets.copy()
        if used > 1:
            again.fly("2026-05-02", used - 1)
        limit = again.limit("check", "2026-05-02")
        severity.append(-STATE_ORDER.index(limit.state))
        last = due + (late or 0)
        assert (limit.state == "overdue") == (used > last)
        assert (limit.state == "due") == (used == last)
        assert limit.left_to_last == last - used
    assert severity == sorted(severity)


@given(
    st.dates(date(2020, 1, 1), date(2030, 1, 1)),
    st.sampled_from([{"months": 1}, {"months": 5}, {"calendar_months": 2}, {"days": 25}]),
    SLIDE,
    SLIDE,
)
def test_time_only_makes_a_state_worse(
    done: date, every: dict[str, int], early: int | None, late: int | None
) -> None:
    sheets = windowed(every, early, late, "_days")
    sheets.done("check", done.isoformat())
    ledger = sheets.ledger()
    severity = []
    for n in range(0, 200):
        on = done + timedelta(days=n)
        limit = view_items(ledger, on)[0].limits[0]
        assert limit.day is not None
        assert limit.permits_to is not None
        assert limit.permits_to == limit.day + timedelta(days=late or 0)
        assert (limit.state == "overdue") == (on > limit.permits_to)
        severity.append(-STATE_ORDER.index(limit.state))
    assert severity == sorted(severity)
