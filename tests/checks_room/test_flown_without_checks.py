"""Flights without the check that was due before them: seasons, gaps, happenings, limits."""

from __future__ import annotations

import pytest
from checks_room.checking import found, the
from laws.sheets import Sheets


def with_season(**start: int) -> Sheets:
    """A look each season, and a flight in the autumn before."""
    sheets = Sheets(season_start="03-01")
    sheets.task("season-look", start={"when": "season", **start})
    sheets.done("season-look", "2025-03-10")
    sheets.fly("2025-10-19", 1)
    sheets.fly("2026-01-01", 1)
    return sheets


def test_the_first_flight_of_a_season_without_its_check() -> None:
    sheets = with_season()
    sheets.fly("2026-03-21", 2)
    sheets.fly("2026-03-22", 1)
    assert the(sheets, "flown-without-check").says == (
        "heron flew 3 flights from 2026-03-21 without season-look, "
        "after the season that began 2026-03-01; it is not done yet"
    )
    sheets.done("season-look", "2026-03-22")
    assert the(sheets, "flown-without-check").says.startswith("heron flew 2 flights")
    sheets.done("season-look", "2026-03-21")
    assert found(sheets) == []


@pytest.mark.parametrize(("flown", "codes"), [("2026-04-11", 0), ("2026-04-12", 1)])
def test_a_check_done_before_the_season_holds_for_its_days(flown: str, codes: int) -> None:
    sheets = with_season(valid_days=60)
    sheets.done("season-look", "2026-02-10")
    sheets.fly(flown, 1)
    assert found(sheets) == ["flown-without-check"] * codes


def test_seasons_before_a_task_was_ever_done_are_not_held_against_it() -> None:
    sheets = Sheets(season_start="03-01")
    sheets.task("season-look", start={"when": "season"})
    for year in (2023, 2024, 2025):
        sheets.fly(f"{year}-05-02", 1)
    sheets.fly("2026-05-02", 1)
    problem = the(sheets, "flown-without-check")
    assert "2026-03-01" in problem.says


def test_a_season_is_not_a_gap_too() -> None:
    sheets = with_season()
    sheets.data["fleet.yaml"]["season_gap_days"] = 60
    sheets.fly("2026-03-21", 2)
    assert found(sheets) == ["flown-without-check", "flown-without-check"]
    assert "74 days without a flight" in " ".join(sheets_says for sheets_says in _says(sheets))
    assert "79 days" not in " ".join(_says(sheets))


def _says(sheets: Sheets) -> list[str]:
    from checks_room.checking import problems

    return [problem.says for problem in problems(sheets)]


@pytest.mark.parametrize(("second", "codes"), [("2026-04-30", 0), ("2026-05-01", 1)])
def test_a_gap_opens_at_its_days(second: str, codes: int) -> None:
    sheets = Sheets()
    sheets.task("gap-look", start={"when": "gap", "days": 30})
    sheets.fly("2026-04-01", 1)
    sheets.fly(second, 1)
    assert found(sheets) == ["flown-without-check"] * codes


def with_incident() -> Sheets:
    """A hard landing, and a list for it."""
    sheets = Sheets()
    sheets.task("gear-mounts", start={"when": "incident", "what": ["hard-landing"]})
    sheets.fly("2026-05-02", 3, "flown")
    sheets.add("incident", "2026-05-02", "inc001", what="hard landing", after="flown:2")
    return sheets


def test_flying_on_after_an_incident() -> None:
    sheets = with_incident()
    assert the(sheets, "flown-without-check").says == (
        "heron flew 3 flights from 2026-05-02 without gear-mounts, "
        "after the hard landing of 2026-05-02; it is not done yet"
    )
    sheets.done("gear-mounts", "2026-05-02", after="inc001")
    assert found(sheets) == []


def test_another_incident_asks_for_nothing() -> None:
    sheets = with_incident()
    sheets.data = {
        path: {**data, "what": "tip strike"} if data.get("record") == "incident" else data
        for path, data in sheets.data.items()
    }
    assert found(sheets) == []


def test_flying_after_an_installation_within_and_beyond_what_it_allows() -> None:
    sheets = Sheets()
    sheets.task(
        "recheck",
        on={"part_kind": "servo"},
        start={"when": "install", "after": {"flights": 3}},
    )
    sheets.part("sv-22")
    sheets.add("install", "2026-05-01", part="sv-22", position="rudder")
    sheets.fly("2026-05-02", 3)
    assert found(sheets) == []
    sheets.fly("2026-05-09", 2, "beyond")
    problem = the(sheets, "flown-without-check")
    assert problem.says.startswith("heron flew 2 flights from 2026-05-09 without recheck on sv-22")
    sheets.done("recheck", "2026-05-08", subject="sv-22")
    assert found(sheets) == []


def with_limit(**keys: object) -> Sheets:
    """A grounding task each ten flights, with two more allowed."""
    sheets = Sheets()
    sheets.task("play", every=[{"counter": "flights", "amount": 10, "late": 2}], **keys)
    return sheets


@pytest.mark.parametrize(("flown", "codes"), [(12, 0), (13, 1)])
def test_a_grounding_limit_passed_is_remarked_on_at_its_last_point(flown: int, codes: int) -> None:
    sheets = with_limit(grounds=True)
    sheets.fly("2026-05-02", flown)
    assert found(sheets) == ["flown-without-check"] * codes
    sheets.done("play", "2026-05-03")
    assert found(sheets) == ["flown-without-check"] * codes


def test_a_limit_that_does_not_ground_is_not_remarked_on() -> None:
    sheets = with_limit()
    sheets.fly("2026-05-02", 40)
    assert found(sheets) == []


def test_flights_past_a_date_are_remarked_on_and_lateness_on_the_shelf_is_not() -> None:
    sheets = Sheets()
    sheets.task("weigh", grounds=True, every=[{"months": 1, "late_days": 5}])
    sheets.done("weigh", "2026-03-01")
    sheets.fly("2026-04-06", 1)
    assert found(sheets) == []
    sheets.done("weigh", "2026-04-20")
    assert found(sheets) == []
    sheets.fly("2026-04-07", 2)
    assert the(sheets, "flown-without-check").says == (
        "heron flew 2 flights 14 days past its last permitted day of weigh; "
        "it was done on 2026-04-20"
    )
