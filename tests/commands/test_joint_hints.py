"""A screw named in plain words: the joint that is meant is offered, and only where it is plain."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from event_fleet import events_of
from workshop_room.jointed_fleet import joints_of, make_jointed_fleet

from fleets import run
from register.records.bodies import Snag

HINT = "heron has the joint "


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_jointed_fleet(tmp_path)


def hints(fleet: Path, *words: str) -> list[str]:
    result = run("snag", *words, fleet=fleet)
    assert result.exit_code == 0, result
    return [HINT + found for found in re.findall(rf"{HINT}(.*?--broken 1)", result.said)]


@pytest.mark.parametrize(
    ("words", "joint"),
    [
        (("screw broke, nose gear",), "nose-gear"),
        (("bolts", "loose", "at", "the", "nose", "gear", "plate"), "nose-gear"),
        (("Screws of the tail tray are gone",), "tail-tray"),
        (("a screw is missing in the tail",), "tail-tray"),
        (("screw missing", "--zone", "tail"), "tail-tray"),
    ],
)
def test_the_joint_meant_is_offered(fleet: Path, words: tuple[str, ...], joint: str) -> None:
    [line] = hints(fleet, "heron", *words)
    assert line.startswith(f"{HINT}{joint}: tailsheaf amend ")
    assert line.endswith(f"tailsheaf snag … --joint {joint} --broken 1")


@pytest.mark.parametrize(
    "words",
    [
        ("crack in the canopy",),  # no screw
        ("screw broke somewhere",),  # no place
        ("a screw is missing in the nose",),  # two joints there
        ("nut lost, canopy or spinner",),  # two joints named
        ("screw sheared at the nose gear", "--joint", "nose-gear"),  # said already
        ("screwdriver left in the tail",),
    ],
)
def test_nothing_is_offered_where_it_is_not_plain(fleet: Path, words: tuple[str, ...]) -> None:
    assert hints(fleet, "heron", *words) == []


def test_an_aircraft_without_joints_is_not_asked(fleet: Path) -> None:
    result = run("snag", "kestrel", "screw broke, nose gear", fleet=fleet)
    assert "joint" not in result.out + result.err


def test_the_line_offered_works(fleet: Path) -> None:
    [line] = hints(fleet, "heron", "screw broke, nose gear")
    words = line.split("tailsheaf ")[1].split(" next time")[0].split()
    amended = run(*words, fleet=fleet)
    assert amended.exit_code == 0, amended
    [event] = events_of(fleet, "snag")
    assert isinstance(event.body, Snag)
    assert joints_of(fleet)["nose-gear"].broken == 1
