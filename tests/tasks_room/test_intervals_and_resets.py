"""Intervals: what resets them, what is missed, and what cannot be told."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from laws.sheets import Sheets, codes, due_at


def flights_task(reset: str = "from-done", first: int | None = None, **every: Any) -> Sheets:
    """A check each 25 flights."""
    sheets = Sheets()
    more: dict[str, Any] = {"first": [{"counter": "flights", "amount": first}]} if first else {}
    sheets.task("check", reset=reset, every=[{"counter": "flights", "amount": 25, **every}], **more)
    return sheets


def words(sheets: Sheets, on: str) -> str:
    """The explanation of the check on a day."""
    return "\n".join(step.says for step in sheets.item("check", on).steps)


def left_of(sheets: Sheets, on: str) -> tuple[Any, Any, str]:
    """What is left of the check on a day: least, most, and how well that is known."""
    left = sheets.limit("check", on).left
    assert left is not None
    return left.low, left.high, left.known


# --- first interval ----------------------------------------------------------------


def test_a_first_interval_may_differ() -> None:
    sheets = flights_task(first=10)
    sheets.fly("2026-05-01", 9)
    assert due_at(sheets.limit("check", "2026-05-01")) == 10
    sheets.fly("2026-05-02", 1)
    assert sheets.limit("check", "2026-05-02").state == "due"
    sheets.done("check", "2026-05-03")
    assert due_at(sheets.limit("check", "2026-05-03")) == 35


def test_a_first_calendar_interval_may_differ() -> None:
    sheets = Sheets()
    sheets.task("check", every=[{"months": 12}], first=[{"months": 1}])
    sheets.fly("2026-01-31", 1)
    assert sheets.limit("check", "2026-02-01").day == date(2026, 2, 28)
    sheets.done("check", "2026-02-20")
    assert sheets.limit("check", "2026-02-20").day == date(2027, 2, 20)


# --- from-due: missed points ----------------------------------------------------------


@pytest.mark.parametrize(
    ("done", "due", "missed"),
    [
        (13, 50, 0),
        (12, 37, 0),
        (25, 50, 0),
        (49, 50, 0),
        # An interval late to the flight: the next point strictly after it.
        (50, 75, 1),
        (51, 75, 1),
        (74, 75, 1),
        (75, 100, 2),
        (130, 150, 4),
    ],
)
def test_from_due_without_a_window(done: int, due: int, missed: int) -> None:
    sheets = flights_task("from-due")
    sheets.fly("2026-05-01", done)
    sheets.done("check", "2026-05-02")
    limit = sheets.limit("check", "2026-05-02")
    assert (due_at(limit), limit.missed) == (due, missed)
    plural = "s" if missed > 1 else ""
    assert (f"{missed} due point{plural} missed" in words(sheets, "2026-05-02")) == (missed > 0)


def test_lateness_is_said_and_does_not_add_up() -> None:
    sheets = flights_task("from-due")
    sheets.fly("2026-05-01", 29)
    sheets.done("check", "2026-05-02")
    sheets.fly("2026-05-03", 24)
    sheets.done("check", "2026-05-04")
    limit = sheets.limit("check", "2026-05-04")
    assert (due_at(limit), int(limit.late_by)) == (75, 3)
    said = words(sheets, "2026-05-04")
    assert "done 2026-05-02, 4 flights late" in said
    assert "done 2026-05-04, 3 flights late" in said


@pytest.mark.parametrize(
    ("done", "due", "missed"),
    [
        ("2026-08-31", "2026-12-31", 1),
        ("2026-08-30", "2026-08-31", 0),
        ("2026-03-15", "2026-08-31", 0),
        # Before half of the interval it counts from done.
        ("2026-02-15", "2026-06-15", 0),
        ("2027-01-01", "2027-04-30", 2),
    ],
)
def test_from_due_on_the_calendar(done: str, due: str, missed: int) -> None:
    sheets = Sheets()
    sheets.task("check", every=[{"months": 4}], reset="from-due")
    sheets.done("check", "2025-12-31")
    sheets.done("check", done)
    limit = sheets.limit("check", done)
    assert (limit.day, limit.missed) == (date.fromisoformat(due), missed)


def test_done_before_half_the_interval_counts_from_done_on_the_calendar() -> None:
    sheets = Sheets()
    sheets.task("check", every=[{"days": 100}], reset="from-due")
    for done, due in (("2026-02-19", "2026-05-30"), ("2026-02-20", "2026-07-20")):
        again = sheets.copy()
        again.done("check", "2026-01-01")
        again.done("check", done)
        assert again.limit("check", done).day == date.fromisoformat(due)


# --- failures, revisions, ranges ---------------------------------------------------------


def test_a_failed_done_resets_nothing_and_stays_open() -> None:
    sheets = flights_task()
    sheets.fly("2026-05-01", 10)
    sheets.done("check", "2026-05-02", result="fail")
    item = sheets.item("check", "2026-05-02")
    assert (item.state, due_at(item.limits[0])) == ("due", 25)
    assert item.failed is not None
    sheets.done("check", "2026-05-03")
    item = sheets.item("check", "2026-05-03")
    assert (item.state, due_at(item.limits[0])) == ("ok", 35)
    assert item.failed is None


def test_a_done_recorded_without_a_verdict_counts_as_done() -> None:
    sheets = flights_task()
    sheets.fly("2026-05-01", 10)
    sheets.done("check", "2026-05-02", result="recorded")
    assert due_at(sheets.limit("check", "2026-05-02")) == 35


def test_each_done_is_judged_by_the_revision_of_its_day() -> None:
    sheets = Sheets()
    sheets.task(
        "check",
        every=[{"counter": "flights", "amount": 25}],
        reset="from-due",
        revisions=[{"from": "2026-06-01", "every": [{"counter": "flights", "amount": 10}]}],
    )
    sheets.fly("2026-05-01", 27)
    sheets.done("check", "2026-05-31")
    # Judged by 25 flights: 2 late. From June the next is due 10 flights after 25.
    assert due_at(sheets.limit("check", "2026-05-31")) == 50
    limit = sheets.limit("check", "2026-06-01")
    assert (due_at(limit), int(limit.late_by)) == (35, 2)
    sheets.fly("2026-06-02", 9)
    sheets.done("check", "2026-06-03")
    limit = sheets.limit("check", "2026-06-03")
    assert (due_at(limit), int(limit.late_by)) == (45, 1)


def test_a_done_in_doubt_resets_to_the_cautious_end() -> None:
    """Five flights and the check on one day, in no order: 20 to 25 flights at the check."""
    sheets = flights_task("from-due-in-window", early=2, late=2)
    sheets.fly("2026-05-01", 20)
    sheets.fly("2026-05-02", 5)
    sheets.done("check", "2026-05-02")
    # At 20 it was early and counts from done: due 45. At 25 it was in the window: due 50.
    assert left_of(sheets, "2026-05-02")[0] == 20


def test_a_done_in_doubt_is_the_same_in_every_run() -> None:
    found = set()
    for n in range(20):
        sheets = flights_task("from-due-in-window", early=2, late=2)
        sheets.fly("2026-05-01", 20)
        sheets.fly("2026-05-02", 5, f"f{n}xyz")
        sheets.done("check", "2026-05-02", f"d{n}abc")
        found.add(left_of(sheets, "2026-05-02"))
    assert len(found) == 1


# --- what a part had behind it ---------------------------------------------------------------


def opened(opening: dict[str, Any], every: list[dict[str, Any]]) -> Sheets:
    """Heron as the register began with it."""
    sheets = Sheets()
    sheets.aircraft("heron", opening={"as_of": "2026-01-01", **opening})
    sheets.task("check", every=every)
    sheets.fly("2026-05-01", 2)
    return sheets


FLIGHTS = [{"counter": "flights", "amount": 25}]


def test_a_young_aircraft_counts_from_new() -> None:
    limit = opened({"counters": {"flights": 20}}, FLIGHTS).limit("check", "2026-05-01")
    assert (due_at(limit), limit.state) == (25, "ok")


@pytest.mark.parametrize("flights", [25, 150])
def test_one_with_a_life_behind_it_has_no_baseline(flights: int) -> None:
    item = opened({"counters": {"flights": flights}}, FLIGHTS).item("check", "2026-05-01")
    assert item.state == "no-baseline"
    assert item.was_never_done


def test_an_unknown_life_cannot_be_told() -> None:
    counters = {"flights": {"known": "unknown"}}
    assert (
        opened({"counters": counters}, FLIGHTS).item("check", "2026-05-01").state == "cannot-tell"
    )


def test_a_life_without_a_last_done_has_no_baseline_on_the_calendar() -> None:
    sheets = opened({"counters": {"flights": 3}}, [{"months": 6}])
    assert sheets.item("check", "2026-05-01").state == "no-baseline"
    # The day alone says that the register began, not that the aircraft was new then.
    assert opened({}, [{"months": 6}]).item("check", "2026-05-01").state == "no-baseline"
    new = opened({"counters": {"flights": 0}}, [{"months": 6}])
    assert new.limit("check", "2026-05-01").day == date(2026, 7, 1)


def test_a_last_done_from_before_counts_on_each_side() -> None:
    done = {"task": "check", "when": "2025-12-10", "at": {"flights": 140}}
    opening = {"counters": {"flights": 150}, "tasks": [done]}
    sheets = opened(opening, [*FLIGHTS, {"months": 6}])
    on_flights, on_calendar = sheets.item("check", "2026-05-01").limits
    assert due_at(on_flights) == 165
    assert on_calendar.day == date(2026, 6, 10)


def test_a_last_done_at_an_unknown_count_is_a_range() -> None:
    done = {"task": "check", "when": "2025-12-10", "known": "estimated"}
    opening = {"counters": {"flights": 10}, "tasks": [done]}
    assert left_of(opened(opening, FLIGHTS), "2026-05-01") == (13, 23, "estimated")


@pytest.mark.parametrize("every", [FLIGHTS, [{"months": 6}]])
def test_a_last_done_that_nobody_knows_cannot_be_told(every: list[dict[str, Any]]) -> None:
    done = {"task": "check", "known": "unknown"}
    opening = {"counters": {"flights": 150}, "tasks": [done]}
    assert opened(opening, every).item("check", "2026-05-01").state == "cannot-tell"


def test_a_last_done_at_an_unknown_count_of_many_cannot_be_told() -> None:
    """Somewhere between 2 and 152 flights ago: neither overdue nor well."""
    done = {"task": "check", "when": "2025-12-10"}
    opening = {"counters": {"flights": 150}, "tasks": [done]}
    sheets = opened(opening, FLIGHTS)
    assert sheets.item("check", "2026-05-01").state == "cannot-tell"
    sheets.fly("2026-05-02", 24)
    assert sheets.item("check", "2026-05-02").state == "overdue"


def test_unknown_engine_minutes_against_a_limit_cannot_be_told() -> None:
    sheets = Sheets()
    sheets.part("tu-07", "turbine")
    sheets.task(
        "service", on={"position": "engine"}, every=[{"counter": "engine-minutes", "amount": 60}]
    )
    sheets.add("install", "2026-05-01", part="tu-07", position="engine")
    sheets.fly("2026-05-02", 2, engine_minutes=20)
    sheets.fly("2026-05-03", 1)
    assert sheets.item("service", "2026-05-03", "tu-07").state == "cannot-tell"
    # What is surely over stays over.
    sheets.fly("2026-05-04", 5, engine_minutes=41)
    assert sheets.item("service", "2026-05-04", "tu-07").state == "overdue"


def test_an_interval_left_empty_cannot_be_told() -> None:
    sheets = Sheets()
    sheets.task("check", every=[{"counter": "flights", "amount": None}])
    path = "programmes/club.yaml"
    sheets.data[path]["tasks"][0]["every"] = [{"counter": "flights"}]
    sheets.fly("2026-05-01", 2)
    item = sheets.item("check", "2026-05-01")
    assert (item.state, item.limits[0].unset) == ("cannot-tell", True)


# --- life limits, parts that move ---------------------------------------------------------------


@pytest.mark.parametrize("key", ["early", "late"])
def test_a_life_limit_with_a_window_is_an_error(key: str) -> None:
    sheets = Sheets()
    sheets.part("sv-22", life=[{"counter": "flights", "limit": 500, key: 5}])
    assert codes(sheets.records().problems) == ["life-with-window"]
    assert sheets.records().problems[0].level == "error"


@pytest.mark.parametrize(
    "every", [{"counter": "flights", "amount": 500, "late": 5}, {"months": 24, "late_days": 30}]
)
def test_a_life_task_with_a_window_is_an_error(every: dict[str, Any]) -> None:
    sheets = Sheets()
    sheets.task("replace", life=True, every=[every])
    records = sheets.records()
    assert codes(records.problems) == ["life-with-window"]
    # It stays, and cannot be told: left out, it would never be missed.
    assert [task.is_damaged for task in records.programmes["club"].tasks] == [True]


def test_a_done_on_the_aircraft_belongs_to_the_part_that_stood_there() -> None:
    sheets = Sheets()
    sheets.task("slop", on={"position": "rudder"}, every=FLIGHTS)
    sheets.part("sv-22")
    sheets.part("sv-31")
    sheets.add("install", "2026-05-01", part="sv-22", position="rudder")
    sheets.fly("2026-05-02", 20)
    sheets.done("slop", "2026-05-03")
    assert due_at(sheets.limit("slop", "2026-05-03", "sv-22")) == 45
    sheets.add("remove", "2026-05-04", part="sv-22")
    sheets.add("install", "2026-05-05", part="sv-31", position="rudder")
    sheets.fly("2026-05-06", 3)
    assert due_at(sheets.limit("slop", "2026-05-06", "sv-31")) == 25


def test_a_part_takes_its_due_point_with_it() -> None:
    sheets = Sheets()
    sheets.aircraft("swift")
    sheets.task("slop", on={"part_kind": "servo"}, every=FLIGHTS)
    sheets.part("sv-22")
    sheets.add("install", "2026-05-01", part="sv-22", position="rudder")
    sheets.fly("2026-05-02", 20)
    sheets.add("remove", "2026-05-03", part="sv-22")
    sheets.add("install", "2026-05-04", part="sv-22", position="rudder", aircraft="swift")
    sheets.fly("2026-05-05", 5, aircraft="swift")
    items = sheets.items("2026-05-05")
    assert [(item.aircraft, item.state) for item in items] == [("swift", "due")]


@pytest.mark.parametrize(
    ("flown", "state"),
    [(19, "ok"), (22, "ok"), (23, "in-window"), (26, "in-window"), (27, "due"), (28, "overdue")],
)
def test_states_round_a_window(flown: int, state: str) -> None:
    sheets = flights_task(early=2, late=2)
    sheets.fly("2026-05-01", flown)
    assert sheets.item("check", "2026-05-01").state == state


@pytest.mark.parametrize(
    ("flown", "state"), [(22, "ok"), (23, "soon"), (25, "due"), (26, "overdue")]
)
def test_states_without_a_window(flown: int, state: str) -> None:
    sheets = flights_task()
    sheets.fly("2026-05-01", flown)
    assert sheets.item("check", "2026-05-01").state == state


# --- one of a thing is one -------------------------------------------------------------


def test_one_flight_early_or_late_is_one_flight() -> None:
    sheets = flights_task("from-due", early=2, late=2)
    sheets.fly("2026-05-01", 24)
    sheets.done("check", "2026-05-02")
    assert "done 2026-05-02, 1 flight early" in words(sheets, "2026-05-03")
    sheets.fly("2026-05-04", 27)
    sheets.done("check", "2026-05-05")
    assert "done 2026-05-05, 1 flight late" in words(sheets, "2026-05-06")


def test_one_day_early_late_over_or_ago_is_one_day() -> None:
    sheets = Sheets()
    sheets.task("check", reset="from-due", every=[{"months": 1, "early_days": 2, "late_days": 2}])
    sheets.fly("2026-01-15", 1)
    sheets.done("check", "2026-02-14")
    assert "done 2026-02-14, 1 day early" in words(sheets, "2026-02-15")
    sheets.done("check", "2026-03-16")
    assert "done 2026-03-16, 1 day late" in words(sheets, "2026-03-17")
    assert "over by 1 day" in words(sheets, "2026-04-16")
    assert "over by 1 days" not in words(sheets, "2026-04-16")
