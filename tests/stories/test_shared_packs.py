"""A pack shared by two aircraft: cycles, flights, rejection, and two places at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from stories.story_fleet import Owner, exactly, make_story, part

DAY = "2026-05-16"
PACK = """use: "assigned"
opening:
  counters:
    charges: {value: 96, known: known}
    flights: 0
life:
  - {counter: "charges", limit: 150}
"""


@pytest.fixture
def owner(tmp_path: Path) -> Owner:
    """One pack of 96 cycles, another new; a fan jet beside the turbine jet."""
    fan = 'id: "b000000001"\ntitle: "Blue Fan"\nstage: "in-service"\n'
    fleet = make_story(
        tmp_path,
        {
            "aircraft/bf/aircraft.yaml": fan,
            "parts/pk-04/part.yaml": part("p000000004", "battery", PACK),
            "parts/pk-05/part.yaml": part("p000000005", "battery", 'use: "assigned"\n'),
        },
    )
    return Owner(fleet)


def test_cycles_and_flights_of_a_shared_pack(owner: Owner) -> None:
    owner.says(DAY, "charge", "pk-04")
    owner.says(DAY, "fly", "gj", "2", "--minutes", "15", "--pack", "pk-04")
    owner.says(DAY, "charge", "pk-04")
    owner.says(DAY, "fly", "bf", "1", "--minutes", "5", "--pack", "pk-04")
    owner.says(DAY, "charge", "pk-04")
    assert owner.counter(DAY, "pk-04", "charges") == exactly(99)
    assert owner.counter(DAY, "pk-04", "flights") == exactly(3)


def test_a_rejected_pack_shows_on_both_aircraft(owner: Owner) -> None:
    owner.says(DAY, "fly", "gj", "2", "--minutes", "15", "--pack", "pk-04")
    owner.says(DAY, "fly", "bf", "1", "--minutes", "5", "--pack", "pk-04")
    before = owner.asks(DAY, "fleet", "--on", DAY)
    owner.says(DAY, "condition", "pk-04", "rejected", "--reason", "resistance doubled")
    for aircraft in ("gj", "bf"):
        reasons = owner.standing(DAY, aircraft)["reasons"]
        assert any("assigned pack pk-04 rejected" in reason["says"] for reason in reasons)
    after = owner.asks(DAY, "fleet", "--on", DAY)
    flights = [[line["flights"] for line in data["aircraft"]] for data in (before, after)]
    assert flights[0] == flights[1]


def test_one_pack_in_two_aircraft_at_once_is_reported(owner: Owner) -> None:
    owner.says(DAY, "fly", "gj", "--minutes", "8", "--pack", "pk-04", "--at", f"{DAY} 10:05")
    owner.says(DAY, "fly", "bf", "--minutes", "5", "--pack", "pk-04", "--at", f"{DAY} 10:08")
    codes = [problem["code"] for problem in owner.problems(DAY)]
    assert "pack-overlap" in codes


def test_a_set_gains_one_cycle_each(owner: Owner) -> None:
    owner.says(DAY, "charge", "pk-04", "pk-05")
    assert owner.counter(DAY, "pk-04", "charges") == exactly(97)
    assert owner.counter(DAY, "pk-05", "charges") == exactly(1)
