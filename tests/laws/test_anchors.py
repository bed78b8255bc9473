"""An anchored calendar never drifts: the n-th point is n intervals from the first."""

from __future__ import annotations

from datetime import date, timedelta

from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st
from laws.sheets import Sheets

SLIDE = 12
RESETS = st.sampled_from(["from-due", "from-due-in-window"])


@given(
    st.dates(date(2000, 1, 1), date(2040, 12, 31)),
    st.integers(1, 14),
    RESETS,
    st.lists(st.integers(-SLIDE, SLIDE), min_size=1, max_size=12),
)
def test_done_inside_the_window_the_due_days_stay_on_the_anchor(
    anchor: date, months: int, reset: str, slides: list[int]
) -> None:
    sheets = Sheets()
    sheets.task(
        "check",
        every=[{"months": months, "early_days": SLIDE, "late_days": SLIDE}],
        reset=reset,
    )
    sheets.done("check", anchor.isoformat())
    done = anchor
    for n, slide in enumerate(slides, 1):
        done = anchor + relativedelta(months=months * n) + timedelta(days=slide)
        sheets.done("check", done.isoformat())
    limit = sheets.limit("check", done.isoformat())
    assert limit.day == anchor + relativedelta(months=months * (len(slides) + 1))
    assert limit.missed == 0


@given(
    st.dates(date(2000, 1, 1), date(2040, 12, 31)),
    st.integers(1, 14),
    st.integers(15, 2000),
)
def test_however_late_the_next_point_lies_on_the_anchor(
    anchor: date, months: int, late: int
) -> None:
    sheets = Sheets()
    sheets.task("check", every=[{"months": months}], reset="from-due")
    sheets.done("check", anchor.isoformat())
    done = anchor + relativedelta(months=months) + timedelta(days=late)
    sheets.done("check", done.isoformat())
    limit = sheets.limit("check", done.isoformat())
    points = [anchor + relativedelta(months=months * n) for n in range(2, 120)]
    assert limit.day == min(point for point in points if point > done)
    assert limit.missed == sum(point <= done for point in points)
