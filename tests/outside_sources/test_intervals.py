"""Intervals and due days held to what has been published about them.

The cases stand in data/intervals.json, each with its source and the status of its
figure (read in a public copy, rule read and dates computed, or from memory). Cases
written here say theirs beside them. All run through the register's own fold: a small
fleet is written as text, read, and asked. Hours are written as minutes or, where a
figure has tenths, as hours of a counter of their own.
"""

from __future__ import annotations

import json
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from laws.sheets import Sheets, due_at

CASES: dict[str, dict[str, Any]] = {
    case["id"]: case
    for case in json.loads((Path(__file__).parent / "data" / "intervals.json").read_text("utf-8"))
}


def given(id: str) -> dict[str, Any]:
    """What a published case starts from."""
    found: dict[str, Any] = CASES[id]["given"]
    return found


def expected(id: str) -> Any:
    """What a published case ends with."""
    return CASES[id]["expect"]


def hours(sheets: Sheets, when: str, amount: object) -> None:
    """One flight that adds hours to the counter `hours`."""
    sheets.fly(when, 1, counters={"hours": Decimal(str(amount))})


def hour_task(every: dict[str, Any], reset: str, opening: object | None = None) -> Sheets:
    """A fleet that counts hours, with one task each so many."""
    sheets = Sheets(counters=["hours"])
    if opening is not None:
        at = {"counters": {"hours": Decimal(str(opening))}}
        done = {"task": "inspect", "at": {"hours": Decimal(str(opening))}}
        sheets.aircraft("heron", opening={**at, "as_of": "2026-01-01", "tasks": [done]})
    sheets.task("inspect", every=[{"counter": "hours", **every}], reset=reset)
    return sheets


def calendar_task(every: dict[str, Any], reset: str = "from-done") -> Sheets:
    """A fleet with one task each so many months or days."""
    sheets = Sheets()
    sheets.task("inspect", every=[every], reset=reset)
    return sheets


def test_every_case_has_a_source_and_a_status() -> None:
    assert len(CASES) == 19
    assert all(case["source"] and case["status"] for case in CASES.values())


# --- calendar months: the last day of the n-th month ------------------------


@pytest.mark.parametrize("id", ["I-cal-1", "I-cal-2"])
def test_calendar_months_run_to_the_last_day(id: str) -> None:
    case = given(id)
    sheets = calendar_task({"calendar_months": case["calendar_months"]})
    sheets.done("inspect", case["done"])
    last = expected(id)
    limit = sheets.limit("inspect", last)
    assert limit.day == date.fromisoformat(last)
    assert limit.permits_to == limit.day
    assert limit.state == "due"
    after = (date.fromisoformat(last) + timedelta(days=1)).isoformat()
    assert sheets.limit("inspect", after).state == "overdue"


@pytest.mark.parametrize(
    ("months", "done", "last"),
    [
        # 14 CFR 91.409(a): 12 calendar months. Rule read, dates computed.
        (12, "2026-08-05", "2027-08-31"),
        (12, "2026-08-31", "2027-08-31"),
        (12, "2026-08-01", "2027-08-31"),
        # 14 CFR 91.411, 91.413: 24 calendar months. Rule read, dates computed.
        (24, "2026-02-01", "2028-02-29"),
        # From the end of a short month: not the clamped day, the last day.
        (1, "2027-02-28", "2027-03-31"),
    ],
)
def test_calendar_months_do_not_depend_on_the_day_of_the_month(
    months: int, done: str, last: str
) -> None:
    sheets = calendar_task({"calendar_months": months})
    sheets.done("inspect", done)
    assert sheets.limit("inspect", done).day == date.fromisoformat(last)


# --- hours: overrun, tolerance, early ---------------------------------------


def test_excess_hours_count_into_the_next_hundred() -> None:
    case = given("I-100h-1")
    sheets = hour_task(
        {"amount": case["interval_h"], "late": case["overrun_allowed_h"]}, "from-due-in-window"
    )
    hours(sheets, "2026-05-01", case["done_h"])
    assert sheets.limit("inspect", "2026-05-01").state == "in-window"
    sheets.done("inspect", "2026-05-02")
    limit = sheets.limit("inspect", "2026-05-02")
    assert float(due_at(limit)) == expected("I-100h-1")
    assert float(limit.late_by) == 7.5


def test_tolerances_are_not_cumulative() -> None:
    case = given("I-100h-2")
    sheets = hour_task(
        {"amount": case["interval_h"], "late": case["tolerance_h"]}, "from-due-in-window"
    )
    hours(sheets, "2026-05-01", case["done_h"])
    assert sheets.limit("inspect", "2026-05-01").state == "due"
    sheets.done("inspect", "2026-05-02")
    left = sheets.limit("inspect", "2026-05-02").left
    assert left is not None
    assert left.low == left.high == expected("I-100h-2")


@pytest.mark.parametrize("reset", ["from-due", "from-due-in-window"])
@pytest.mark.parametrize(
    ("done", "due"),
    [
        # Engine manual extract (read): done early, outside the tolerance, counts from done.
        (given("I-eng-2")["done_h"], expected("I-eng-2")),
        # The same extract (read): due 100 +-10, done 110, next 200 and not 210.
        (110, 200),
        (90, 200),
        (89.5, 189.5),
    ],
)
def test_engine_manual(reset: str, done: float, due: float) -> None:
    amount = given("I-eng-2")["interval_h"]
    sheets = hour_task({"amount": amount, "early": 10, "late": 10}, reset)
    hours(sheets, "2026-05-01", done)
    sheets.done("inspect", "2026-05-02")
    assert float(due_at(sheets.limit("inspect", "2026-05-02"))) == due


def test_part_ml_minimum_programme_counts_from_the_actual_date() -> None:
    # AMC1 ML.A.302(d), by an authority's list of questions (read): one month of
    # tolerance, the next due from the actual date. 30 days stand for the month here.
    sheets = calendar_task({"months": 12, "late_days": 30})
    sheets.done("inspect", "2025-04-01")
    assert sheets.limit("inspect", "2026-04-20").state == "in-window"
    sheets.done("inspect", "2026-04-20")
    assert sheets.limit("inspect", "2026-04-20").day == date(2027, 4, 20)


def test_part_ml_minimum_programme_counts_from_the_actual_hours() -> None:
    # The same, 100 h with 10 h of tolerance (rule read, hours computed).
    sheets = hour_task({"amount": 100, "late": 10}, "from-done")
    hours(sheets, "2026-05-01", 106)
    sheets.done("inspect", "2026-05-02")
    assert due_at(sheets.limit("inspect", "2026-05-02")) == 206


# --- windows of the US Army manual -------------------------------------------


def test_army_window_below_fifty_hours() -> None:
    case = given("I-army-1")
    amount = Decimal(case["interval_h"])
    slide = amount / 10
    start = Decimal(str(case["due_h"])) - amount
    sheets = hour_task({"amount": amount, "early": slide, "late": slide}, "from-due", start)
    limit = sheets.limit("inspect", "2026-05-01")
    due = due_at(limit)
    assert [float(due - limit.early), float(due + limit.late)] == expected("I-army-1")


def test_army_window_at_fifty_hours_and_up() -> None:
    case = given("I-army-2")
    start = Decimal(str(case["due_h"])) - case["interval_h"]
    every = {"amount": case["interval_h"], "early": 5, "late": 5}
    opens, closes, following = expected("I-army-2")
    sheets = hour_task(every, "from-due-in-window", start)
    limit = sheets.limit("inspect", "2026-05-01")
    assert float(due_at(limit) - limit.early) == opens
    assert float(due_at(limit) + limit.late) == closes
    for done in (opens, case["due_h"], closes):
        sheets = hour_task(every, "from-due-in-window", start)
        hours(sheets, "2026-05-01", Decimal(str(done)) - start)
        sheets.done("inspect", "2026-05-02")
        assert float(due_at(sheets.limit("inspect", "2026-05-02"))) == following


@pytest.mark.parametrize("done", ["1604.3", "1614.5"])
def test_army_outside_the_window_counts_from_actual_hours(done: str) -> None:
    # TM 1-1500-328-23 ch. 2 (rule read, hours computed).
    sheets = hour_task({"amount": 75, "early": 5, "late": 5}, "from-due-in-window", "1534.4")
    hours(sheets, "2026-05-01", Decimal(done) - Decimal("1534.4"))
    sheets.done("inspect", "2026-05-02")
    assert due_at(sheets.limit("inspect", "2026-05-02")) == Decimal(done) + 75


def test_army_calendar_window_and_next_from_due() -> None:
    case = given("I-army-4")
    slide, opens, closes, following = expected("I-army-4")
    # The manual reckons the window in months of 30 days, and the due days by months:
    # 10 % of 6 x 30 days, round 31 January, and 31 July next.
    assert int(slide) == case["interval_months"] * case["days_per_month"] // 10
    every = {"months": 6, "early_days": int(slide), "late_days": int(slide)}
    sheets = calendar_task(every, "from-due-in-window")
    sheets.done("inspect", "1998-07-31")
    assert sheets.limit("inspect", "1999-01-12").state == "ok"
    limit = sheets.limit("inspect", opens)
    assert limit.state == "in-window"
    assert limit.day == date.fromisoformat(case["due"])
    assert limit.window == (date.fromisoformat(opens), date.fromisoformat(closes))
    assert limit.permits_to == date.fromisoformat(closes)
    for done in (opens, case["due"], closes):
        again = calendar_task(every, "from-due-in-window")
        again.done("inspect", "1998-07-31")
        again.done("inspect", done)
        assert again.limit("inspect", closes).day == date.fromisoformat(following)


@pytest.mark.parametrize("done", ["1999-01-12", "1999-02-19"])
def test_army_outside_the_calendar_window_counts_from_actual_date(done: str) -> None:
    # TM 1-1500-328-23 ch. 2 (rule read, dates computed).
    sheets = calendar_task({"months": 6, "early_days": 18, "late_days": 18}, "from-due-in-window")
    sheets.done("inspect", "1998-07-31")
    sheets.done("inspect", done)
    found = sheets.limit("inspect", done).day
    assert found == date.fromisoformat(done).replace(month=int(done[6]) + 6)


@pytest.mark.parametrize(
    ("id", "slide"), [("I-army-7", 75), ("I-army-8", 30)], ids=["75 h", "10 % of 300 h"]
)
def test_time_between_overhauls(id: str, slide: int) -> None:
    amount = given(id)["tbo_h"]
    sheets = hour_task({"amount": amount, "early": slide, "late": slide}, "from-done")
    opens, closes = expected(id)
    states = []
    for used in (opens - 1, opens, amount, closes, closes + 1):
        again = sheets.copy()
        hours(again, "2026-05-01", used)
        states.append(again.limit("inspect", "2026-05-01").state)
    assert states == [states[0], "in-window", "in-window", "due", "overdue"]
    assert states[0] in ("ok", "soon")


def test_dual_limits_each_side_on_its_own_whichever_first() -> None:
    # TM 1-1500-328-23 ch. 2 (rule read, figures computed).
    sheets = Sheets(counters=["hours"])
    sheets.task("inspect", every=[{"counter": "hours", "amount": 25}, {"months": 6}])
    sheets.done("inspect", "2026-01-31")
    hours(sheets, "2026-02-01", 25)
    item = sheets.item("inspect", "2026-02-01")
    assert [limit.state for limit in item.limits] == ["due", "ok"]
    assert item.state == "due"
    sheets.done("inspect", "2026-02-02")
    hours(sheets, "2026-03-01", 3)
    on_hours, on_calendar = sheets.item("inspect", "2026-08-02").limits
    assert due_at(on_hours) == 50
    assert (on_hours.state, on_calendar.state) == ("ok", "due")
    assert sheets.item("inspect", "2026-08-03").state == "overdue"


# --- variation ----------------------------------------------------------------


def test_a_permitted_variation_counts_from_the_original_date() -> None:
    case = given("I-easa-ext")
    every = {"months": case["interval_months"], "late_days": 30}
    sheets = calendar_task(every, "from-due-in-window")
    sheets.done("inspect", "2024-03-15")
    assert sheets.limit("inspect", case["done"]).day == date.fromisoformat(case["due"])
    sheets.done("inspect", case["done"])
    found = sheets.limit("inspect", case["done"])
    assert found.day == date.fromisoformat(expected("I-easa-ext"))
    assert found.late_by == 26


def test_without_variation_the_date_of_release_counts() -> None:
    # EASA FAQ 19102, no variation used (rule read, dates computed).
    sheets = calendar_task({"months": 12})
    sheets.done("inspect", "2024-03-15")
    sheets.done("inspect", "2025-03-01")
    assert sheets.limit("inspect", "2025-03-01").day == date(2026, 3, 1)


# --- every 25 flights, window -2/+2: common practice, no source ----------------


@pytest.mark.parametrize(
    ("reset", "done", "due", "late", "beyond"),
    [
        ("from-due-in-window", 27, 50, 2, 0),
        ("from-due-in-window", 24, 50, -1, 0),
        ("from-due-in-window", 29, 54, 4, 2),
        ("from-due-in-window", 20, 45, -5, 0),
        ("from-done", 27, 52, 2, 0),
        ("from-due", 29, 50, 4, 2),
    ],
)
def test_slop_check(reset: str, done: int, due: int, late: int, beyond: int) -> None:
    sheets = Sheets()
    sheets.task(
        "slop", every=[{"counter": "flights", "amount": 25, "early": 2, "late": 2}], reset=reset
    )
    sheets.fly("2026-05-01", done)
    sheets.done("slop", "2026-05-02")
    item = sheets.item("slop", "2026-05-02")
    limit = item.limits[0]
    assert due_at(limit) == due
    assert limit.late_by == max(late, 0)
    words = " ".join(step.says for step in item.steps)
    assert (f"{late} flights late" in words) == (late > 0)
    flights = "flight" if late == -1 else "flights"
    assert (f"{-late} {flights} early" in words) == (late < 0)
    assert (f"({beyond} beyond the window)" in words) == (beyond > 0)


# --- six months from 31 August: own arithmetic, clamping as dateutil does -------


@pytest.mark.parametrize(
    ("every", "due"),
    [
        ({"months": 6}, "2027-02-28"),
        ({"months": 1}, "2026-09-30"),
        ({"months": 18}, "2028-02-29"),
        ({"days": 180}, "2027-02-27"),
    ],
)
def test_from_the_end_of_august(every: dict[str, int], due: str) -> None:
    sheets = calendar_task(every)
    sheets.done("inspect", "2026-08-31")
    assert sheets.limit("inspect", "2026-09-01").day == date.fromisoformat(due)


@pytest.mark.parametrize(
    ("reset", "following"), [("from-due", "2027-08-31"), ("from-done", "2027-08-28")]
)
def test_the_second_point_counts_from_the_anchor(reset: str, following: str) -> None:
    sheets = calendar_task({"months": 6}, reset)
    sheets.done("inspect", "2026-08-31")
    sheets.done("inspect", "2027-02-28")
    assert sheets.limit("inspect", "2027-02-28").day == date.fromisoformat(following)


def test_the_due_day_itself_is_not_overdue_and_says_so() -> None:
    sheets = calendar_task({"months": 6})
    sheets.done("inspect", "2026-08-31")
    item = sheets.item("inspect", "2027-02-28")
    assert item.state == "due"
    assert any("the due day itself is still permitted" in step.says for step in item.steps)
    assert sheets.item("inspect", "2027-03-01").state == "overdue"
