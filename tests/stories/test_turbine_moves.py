"""A turbine moves between two aircraft mid-season; its hours go with it."""

from __future__ import annotations

from pathlib import Path

import pytest
from stories.story_fleet import Owner, exactly, make_story, part

OPENING = "opening:\n  counters:\n    engine-minutes: {value: 1098, known: known}\n"
OPENING += "    flights: 0\n    minutes: 0\n"


@pytest.fixture
def owner(tmp_path: Path) -> Owner:
    """18.30 h at fitting; 31 flights and 5.10 h in one jet, 12 and 2.05 h in the next."""
    fleet = make_story(tmp_path, {"parts/tu-07/part.yaml": part("t000000007", "turbine", OPENING)})
    owner = Owner(fleet)
    owner.says("2026-04-04", "install", "tu-07", "gj", "engine")
    owner.says("2026-04-05", "engine-run", "tu-07", "12")
    for day, flights, minutes in (
        ("2026-04-11", "10", "95"),
        ("2026-05-02", "10", "95"),
        ("2026-06-06", "8", "76"),
        ("2026-06-13", "3", "28"),
    ):
        owner.says(day, "fly", "gj", flights, "--minutes", minutes, "--engine-minutes", minutes)
    owner.says("2026-06-20", "remove", "tu-07")
    owner.says("2026-06-27", "install", "tu-07", "rj", "engine")
    owner.says("2026-07-04", "fly", "rj", "8", "--minutes", "80", "--engine-minutes", "82")
    for minutes in ("10", "11", "10", "10"):
        owner.says(
            "2026-07-05", "fly", "rj", "--minutes", minutes, "--engine-minutes", minutes,
            "--at", f"2026-07-05 1{minutes[-1]}:00" if minutes == "11" else "2026-07-05",
        )  # fmt: skip
    return owner


def test_hours_follow_the_turbine(owner: Owner) -> None:
    # 18.30 + 5.10 + 2.05 = 25.45 h, in minutes 1098 + 306 + 123 = 1527.
    assert owner.counter("2026-07-06", "tu-07", "engine-minutes") == exactly(1527)
    assert owner.counter("2026-07-06", "tu-07", "flights") == exactly(43)


def test_service_is_overdue_where_the_turbine_is_now(owner: Owner) -> None:
    item = owner.item("2026-07-06", "engine-service", "tu-07")
    assert item is not None
    assert item["aircraft"] == "rj"
    assert item["state"] == "overdue"
    limit = item["limits"][0]
    # Overdue by 0.45 h = 27 min.
    assert (limit["due_at"], limit["now"], limit["remaining"]) == (1500, 1527, -27)
    red = owner.standing("2026-07-06", "rj")
    assert red["standing"] == "grounded"
    assert any(reason["name"] == "engine-service" for reason in red["reasons"])


def test_the_first_jet_shows_no_engine_and_no_engine_item(owner: Owner) -> None:
    due = owner.asks("2026-07-06", "due", "gj", "--all", "--on", "2026-07-06")
    assert all(item["task"] != "engine-service" for item in due["items"])
    grey = owner.standing("2026-07-06", "gj")
    assert any(reason["kind"] == "position" for reason in grey["reasons"])


def test_airframes_keep_their_own_flights(owner: Owner) -> None:
    fleet = owner.asks("2026-07-06", "fleet", "--on", "2026-07-06")
    flights = {line["aircraft"]: line["flights"]["low"] for line in fleet["aircraft"]}
    assert flights == {"gj": 31, "rj": 12}


def test_both_jets_carry_the_swap_inspection(owner: Owner) -> None:
    for aircraft in ("gj", "rj"):
        item = owner.item("2026-07-06", "swap-check", aircraft)
        assert item is not None
        assert item["state"] == "due"


def test_the_flight_that_passed_the_hour_is_named(owner: Owner) -> None:
    # 1404 at the change, 1486 after the first day, 1496 after the next flight, 1507 after that.
    why = owner.asks("2026-07-06", "why", "tu-07", "engine-service", "--on", "2026-07-06")
    passed = why["items"][0]["passed"]
    assert passed["day"] == "2026-07-05"
    assert passed["flight"] == {"low": 1, "high": 1}


def test_an_earlier_removal_changes_only_the_turbine(owner: Owner) -> None:
    history = owner.asks("2026-07-06", "history", "tu-07", "--kind", "remove")
    removal = history["records"][0]["id"]
    owner.says("2026-07-06", "amend", removal, "when=2026-06-10")
    # The 3 flights of 13 June were flown without it: 28 min less.
    assert owner.counter("2026-07-06", "tu-07", "engine-minutes") == exactly(1499)
    assert owner.counter("2026-07-06", "tu-07", "flights") == exactly(40)
    fleet = owner.asks("2026-07-06", "fleet", "--on", "2026-07-06")
    assert {line["aircraft"]: line["flights"]["low"] for line in fleet["aircraft"]} == {
        "gj": 31,
        "rj": 12,
    }
    flown = [p for p in owner.problems("2026-07-06") if p["code"] == "flown-without-part"]
    assert any("gj" in problem["file"] for problem in flown)
