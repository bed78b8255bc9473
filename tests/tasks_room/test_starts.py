"""What opens a task besides an interval."""

from __future__ import annotations

from typing import Any

import pytest
from laws.sheets import Sheets


def with_start(when: str, on: Any = "aircraft", **start: Any) -> Sheets:
    """A fleet with one task that opens in one way."""
    sheets = Sheets()
    sheets.task("check", on=on, start=[{"when": when, **start}])
    return sheets


def states(sheets: Sheets, subject: str, *days: str) -> list[str]:
    """The state of the check on each of several days."""
    return [sheets.item("check", day, subject).state for day in days]


# --- the day --------------------------------------------------------------------


def test_a_day_check_is_open_until_done_that_day() -> None:
    sheets = with_start("day")
    sheets.done("check", "2026-05-16")
    assert states(sheets, "heron", "2026-05-15", "2026-05-16", "2026-05-17") == ["due", "ok", "due"]
    assert sheets.item("check", "2026-05-17").is_day_check


def test_a_failed_day_check_is_more_than_a_day_not_begun() -> None:
    sheets = with_start("day")
    sheets.done("check", "2026-05-16", result="fail")
    item = sheets.item("check", "2026-05-16")
    assert item.state == "due"
    assert not item.is_day_check


@pytest.mark.parametrize("when", ["each-flight", "charge", "fuel-mix"])
def test_what_stands_on_the_card_is_never_due(when: str) -> None:
    sheets = with_start(when)
    sheets.fly("2026-05-16", 3)
    item = sheets.item("check", "2026-05-17")
    assert (item.state, item.task.is_card_only) == ("ok", True)


# --- the season -----------------------------------------------------------------


def season(valid_days: int | None = None, gap: int | None = 90) -> Sheets:
    """A season from 1 March; heron was checked and flew in the season before."""
    sheets = Sheets(season_start="03-01", **({"season_gap_days": gap} if gap else {}))
    start = {"when": "season"} | ({"valid_days": valid_days} if valid_days else {})
    sheets.task("check", start=[start])
    sheets.done("check", "2025-03-08")
    sheets.fly("2025-03-09", 2)
    for month in ("05", "07", "09"):
        sheets.fly(f"2025-{month}-15", 2)
    sheets.fly("2025-10-19", 2)
    return sheets


def test_a_winter_flight_within_the_gap_opens_nothing() -> None:
    sheets = season()
    sheets.fly("2026-01-01", 1)
    # 74 days after 19 October, and the season is still that of 2025.
    assert states(sheets, "heron", "2025-12-31", "2026-01-01", "2026-02-28") == ["ok"] * 3


def test_the_date_opens_the_list_though_the_gap_is_short() -> None:
    sheets = season()
    sheets.fly("2026-01-01", 1)
    sheets.fly("2026-03-21", 2)
    # Due before the first flight, from the season's first day on; then flown without.
    assert states(sheets, "heron", "2026-03-01", "2026-03-20", "2026-03-21") == ["due"] * 3
    item = sheets.item("check", "2026-03-21")
    assert any("flown 2026-03-21 without" in step.says for step in item.steps)
    sheets.done("check", "2026-03-22")
    assert states(sheets, "heron", "2026-03-22", "2026-05-01") == ["ok", "ok"]


@pytest.mark.parametrize(
    ("gap", "on", "state"),
    [(74, "2026-01-01", "due"), (75, "2026-01-01", "ok"), (75, "2026-01-02", "due")],
)
def test_a_gap_opens_on_its_last_day(gap: int, on: str, state: str) -> None:
    assert states(season(gap=gap), "heron", on) == [state]


@pytest.mark.parametrize(("gap", "state"), [(74, "due"), (75, "ok")])
def test_a_gap_flown_over_counts_its_last_day_too(gap: int, state: str) -> None:
    sheets = season(gap=gap)
    sheets.fly("2026-01-01", 1)
    assert states(sheets, "heron", "2026-01-02") == [state]


def test_a_flight_after_the_gap_keeps_the_list_open_until_done() -> None:
    sheets = season(gap=70)
    sheets.fly("2026-01-01", 1)
    sheets.fly("2026-01-10", 1)
    assert states(sheets, "heron", "2026-01-01", "2026-01-20") == ["due", "due"]
    sheets.done("check", "2026-01-21")
    assert states(sheets, "heron", "2026-01-21", "2026-02-01") == ["ok", "ok"]


def test_a_check_before_the_gap_was_one_does_not_answer_it() -> None:
    sheets = season(gap=90)
    # The day after the last flight: the gap that this would answer had not begun.
    sheets.done("check", "2025-10-20")
    assert states(sheets, "heron", "2026-01-16", "2026-01-17") == ["ok", "due"]
    sheets.done("check", "2026-01-18")
    assert states(sheets, "heron", "2026-01-18", "2026-02-20") == ["ok", "ok"]


def test_a_check_in_winter_is_good_for_its_days() -> None:
    sheets = season(valid_days=60, gap=None)
    sheets.done("check", "2026-02-10")
    assert states(sheets, "heron", "2026-03-01", "2026-04-11", "2026-04-12") == ["ok", "ok", "due"]
    words = [step.says for step in sheets.item("check", "2026-04-12").steps]
    assert "last done 2026-02-10, good through 2026-04-11" in words


@pytest.mark.parametrize(("flown", "state"), [("2026-04-11", "ok"), ("2026-04-12", "due")])
def test_the_first_flight_within_those_days_makes_the_season_good(flown: str, state: str) -> None:
    sheets = season(valid_days=60, gap=None)
    sheets.done("check", "2026-02-10")
    sheets.fly(flown, 1)
    assert states(sheets, "heron", "2026-05-01") == [state]


def test_a_check_in_winter_without_days_of_grace_is_not_the_season_s() -> None:
    sheets = season(gap=None)
    sheets.done("check", "2026-02-10")
    assert states(sheets, "heron", "2026-03-01") == ["due"]


def test_a_season_s_check_never_recorded_has_no_baseline() -> None:
    sheets = with_start("season")
    sheets.fly("2026-05-01", 1)
    assert states(sheets, "heron", "2026-05-02") == ["no-baseline"]


def test_an_opening_last_done_counts_for_the_season() -> None:
    sheets = with_start("season")
    sheets.aircraft(
        "heron",
        opening={"as_of": "2026-03-20", "tasks": [{"task": "check", "when": "2026-03-10"}]},
    )
    sheets.fly("2026-05-01", 1)
    assert states(sheets, "heron", "2026-05-02", "2027-03-01") == ["ok", "due"]


# --- layup and non-use, per thing -------------------------------------------------


def test_an_aircraft_s_storage_list_opens_on_the_day_after() -> None:
    sheets = with_start("layup", days=30)
    sheets.fly("2026-09-06", 2)
    assert states(sheets, "heron", "2026-10-06", "2026-10-07") == ["ok", "due"]


def test_a_pack_has_its_own_thirty_days() -> None:
    sheets = with_start("layup", {"part_kind": "battery"}, days=30)
    sheets.aircraft("swift")
    sheets.part("rx-2", "battery", use="assigned")
    sheets.fly("2026-09-06", 2, uses=["rx-2"])
    sheets.fly("2026-09-27", 1, aircraft="swift", uses=["rx-2"])
    found = {
        day: {item.state for item in sheets.items(day)}
        for day in ("2026-10-07", "2026-10-27", "2026-10-28")
    }
    assert found == {"2026-10-07": {"ok"}, "2026-10-27": {"ok"}, "2026-10-28": {"due"}}


def test_a_test_run_is_use_of_the_engine_and_not_of_the_airframe() -> None:
    sheets = with_start("layup", days=30)
    sheets.task("engine-storage", on={"position": "engine"}, start=[{"when": "layup", "days": 30}])
    sheets.part("tu-07", "turbine")
    sheets.add("install", "2026-05-01", part="tu-07", position="engine")
    sheets.fly("2026-09-06", 2)
    sheets.add("engine-run", "2026-09-30", part="tu-07", minutes=2)
    assert sheets.item("check", "2026-10-07").state == "due"
    assert sheets.item("engine-storage", "2026-10-07", "tu-07").state == "ok"
    assert sheets.item("engine-storage", "2026-10-30", "tu-07").state == "ok"
    assert sheets.item("engine-storage", "2026-10-31", "tu-07").state == "due"


def test_a_storage_list_done_stays_done_until_the_next_use() -> None:
    sheets = with_start("layup", days=30)
    sheets.fly("2026-09-06", 2)
    sheets.done("check", "2026-09-20")
    assert states(sheets, "heron", "2026-10-07", "2027-02-01") == ["ok", "ok"]
    sheets.fly("2027-03-01", 1)
    assert states(sheets, "heron", "2027-03-31", "2027-04-01") == ["ok", "due"]


@pytest.mark.parametrize(
    ("after", "state"), [({"after": "lastone:2"}, "ok"), ({"after": "lastone:1"}, "due")]
)
def test_a_storage_list_done_in_the_evening_of_the_last_use(
    after: dict[str, str], state: str
) -> None:
    sheets = with_start("layup", days=30)
    sheets.fly("2026-09-06", 2, "lastone")
    sheets.done("check", "2026-09-06", **after)
    assert states(sheets, "heron", "2026-10-07") == [state]


# --- install, work, fix, incident ---------------------------------------------------


def test_once_after_installing() -> None:
    sheets = with_start("install", {"position": "rudder"})
    sheets.part("sv-22")
    sheets.add("install", "2026-05-02", part="sv-22", position="rudder")
    assert states(sheets, "sv-22", "2026-05-02") == ["due"]
    sheets.done("check", "2026-05-03", subject="sv-22")
    assert states(sheets, "sv-22", "2026-05-03", "2027-05-03") == ["ok", "ok"]


def test_a_done_of_the_day_answers_what_it_directly_followed() -> None:
    sheets = with_start("install", {"position": "rudder"})
    sheets.part("sv-22")
    id = sheets.add("install", "2026-05-02", part="sv-22", position="rudder")
    sheets.done("check", "2026-05-02", subject="sv-22", after=id)
    assert states(sheets, "sv-22", "2026-05-02") == ["ok"]


@pytest.mark.parametrize(("done", "state"), [(4, "ok"), (2, "due")])
def test_a_done_of_the_day_alone_counts_if_written_down_later(done: int, state: str) -> None:
    sheets = with_start("install", {"position": "rudder"})
    sheets.part("sv-22")
    sheets.add("install", "2026-05-02", part="sv-22", position="rudder", machine="m-one", seq=3)
    sheets.done("check", "2026-05-02", subject="sv-22", machine="m-one", seq=done)
    assert states(sheets, "sv-22", "2026-05-02") == [state]


def test_some_flights_after_installing() -> None:
    sheets = with_start("install", {"position": "rudder"}, after={"flights": 5})
    sheets.part("sv-22")
    sheets.add("install", "2026-05-02", part="sv-22", position="rudder")
    found = []
    for n in range(6):
        sheets.fly(f"2026-05-{n + 3:02d}", 1)
        found += states(sheets, "sv-22", f"2026-05-{n + 3:02d}")
    assert found == ["ok", "ok", "ok", "soon", "due", "overdue"]
    sheets.done("check", "2026-05-09", subject="sv-22")
    assert states(sheets, "sv-22", "2026-05-09") == ["ok"]


def test_work_opens_what_names_its_position() -> None:
    sheets = Sheets()
    sheets.task("throws", start=[{"when": "work", "positions": ["rudder"]}])
    sheets.task("range", start=[{"when": "work", "kinds": ["receiver"]}])
    sheets.task("any", start=[{"when": "work"}])
    for name, kind in (("sv-22", "servo"), ("rx-2", "receiver")):
        sheets.part(name, kind)
    sheets.add("install", "2026-05-02", part="sv-22", position="rudder")
    assert {item.task.id: item.state for item in sheets.items("2026-05-02")} == {
        "throws": "due",
        "range": "ok",
        "any": "due",
    }
    for task in ("throws", "any"):
        sheets.done(task, "2026-05-03")
    sheets.add("remove", "2026-05-04", part="sv-22")
    assert {item.task.id: item.state for item in sheets.items("2026-05-04")} == {
        "throws": "due",
        "range": "ok",
        "any": "due",
    }


def test_work_on_another_aircraft_opens_nothing_here() -> None:
    sheets = with_start("work")
    sheets.aircraft("swift", programmes=[])
    sheets.part("sv-22")
    sheets.add("install", "2026-05-02", part="sv-22", position="rudder", aircraft="swift")
    assert states(sheets, "heron", "2026-05-02") == ["ok"]


def test_assigning_a_pack_is_no_work_on_the_aircraft() -> None:
    sheets = with_start("work")
    sheets.part("pk-04", "battery", use="assigned")
    sheets.add("install", "2026-05-02", part="pk-04", position="power")
    assert states(sheets, "heron", "2026-05-02") == ["ok"]


def test_three_flights_after_a_fix() -> None:
    sheets = with_start("fix", positions=["rudder"], after={"flights": 3})
    other = sheets.add("snag", "2026-05-01", aircraft="heron", text="loose", position="elevator")
    sheets.add("fix", "2026-05-01", snags=[other], action="tightened")
    assert states(sheets, "heron", "2026-05-01") == ["ok"]
    snag = sheets.add("snag", "2026-05-02", aircraft="heron", text="loose horn", position="rudder")
    fix = sheets.add("fix", "2026-05-02", snags=[snag], action="glued the horn")
    found = []
    for n in range(4):
        sheets.fly(f"2026-05-{n + 3:02d}", 1)
        found += states(sheets, "heron", f"2026-05-{n + 3:02d}")
    assert found == ["ok", "soon", "due", "overdue"]
    opened = sheets.item("check", "2026-05-06").opened
    assert [item.event.id for item in opened if item.event is not None] == [fix]


def test_flights_of_the_day_of_a_fix_count_at_the_cautious_end() -> None:
    sheets = with_start("fix", after={"flights": 3})
    snag = sheets.add("snag", "2026-05-02", aircraft="heron", text="loose horn")
    sheets.add("fix", "2026-05-02", snags=[snag], action="glued the horn")
    sheets.fly("2026-05-02", 3)
    assert states(sheets, "heron", "2026-05-02") == ["due"]


def test_an_incident_opens_each_item_of_its_list_by_itself() -> None:
    sheets = Sheets()
    for task in ("spar", "gear", "mounts"):
        start = [{"when": "incident", "what": ["hard-landing"]}]
        sheets.task(task, list="hard landing", start=start)
    sheets.task("spinner", list="tip strike", start=[{"when": "incident", "what": ["tip-strike"]}])
    sheets.add("incident", "2026-05-02", what="hard landing")
    sheets.done("spar", "2026-05-03")
    sheets.done("gear", "2026-05-03", result="fail")
    found = {item.task.id: item for item in sheets.items("2026-05-03")}
    assert {name: item.state for name, item in found.items()} == {
        "spar": "ok",
        "gear": "due",
        "mounts": "due",
        "spinner": "ok",
    }
    assert found["gear"].failed is not None
    assert found["mounts"].failed is None
    sheets.add("incident", "2026-05-10", what="hard-landing")
    assert {item.state for item in sheets.items("2026-05-10")} == {"due", "ok"}
    assert sheets.item("spar", "2026-05-10").state == "due"


def test_a_withdrawn_incident_opens_nothing() -> None:
    sheets = with_start("incident")
    id = sheets.add("incident", "2026-05-02", what="hard-landing")
    assert states(sheets, "heron", "2026-05-02") == ["due"]
    sheets.add("withdrawal", "2026-05-04", withdraws=id)
    assert states(sheets, "heron", "2026-05-02") == ["ok"]
