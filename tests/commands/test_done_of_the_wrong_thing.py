"""A check named with the wrong part, position or figure: refused, and nothing typed is lost."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from fleets import read_files, run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    fleet = make_event_fleet(tmp_path)
    assert run("parts", "sv-1", "--add", "--kind", "servo", fleet=fleet).exit_code == 0
    assert run("install", "sv-1", "heron", "aileron-left", fleet=fleet).exit_code == 0
    return fleet


def test_the_mend_keeps_the_reading_and_the_day(fleet: Path) -> None:
    line = ("done", "surface-play", "sv-1", "-r", "play-mm=0.4", "--at", "2026-05-10")
    error = run_json(*line, fleet=fleet, exit_code=2)["error"]
    assert "surface-play is on the aircraft" in error["says"]
    typed, alone = error["mend"].split("   or, of sv-1 alone:  ")
    assert alone == "tailsheaf reading sv-1 play-mm=0.4"
    assert run(*shlex.split(typed)[1:], fleet=fleet).exit_code == 0
    (event,) = events_of(fleet, "task-done")
    assert event.moment.day.isoformat() == "2026-05-10"
    assert [str(item.value) for item in event.body.readings] == ["0.4"]
    assert run(*shlex.split(alone)[1:], fleet=fleet).exit_code == 0


def test_a_position_of_a_check_on_the_aircraft_is_named_truly(fleet: Path) -> None:
    line = ("done", "surface-play", "heron", "-p", "aileron-left", "-r", "play-mm=0.4")
    error = run_json(*line, fleet=fleet, exit_code=2)["error"]
    assert error["says"] == "surface-play is on the whole aircraft, not on what is at aileron-left"
    assert error["mend"] == (
        "tailsheaf done surface-play heron -r play-mm=0.4"
        "   or, of sv-1 alone:  tailsheaf reading sv-1 play-mm=0.4"
    )


@pytest.mark.parametrize("text", ["play-mm=-1mm", "play-mm=-.1", "-1"])
def test_a_length_below_zero_is_no_pass(text: str, fleet: Path) -> None:
    before = read_files(fleet)
    error = run_json("done", "surface-play", "heron", f"--reading={text}", fleet=fleet, exit_code=2)
    assert error["error"]["code"] == "reading-negative"
    assert read_files(fleet) == before


def test_what_has_a_sign_may_be_below_zero(fleet: Path) -> None:
    for text in ("tail-offset-mm=-1mm", "outside=-4degC", "incidence=-0.5deg", "pressure=-0.2bar"):
        assert run("reading", "heron", text, fleet=fleet).exit_code == 0, text
    error = run_json("reading", "heron", "gap=-0.2mm", fleet=fleet, exit_code=2)["error"]
    assert error["code"] == "reading-negative"


def test_a_figure_may_begin_with_its_point(fleet: Path) -> None:
    result = run("done", "surface-play", "heron", "-r", "play-mm=.10mm", fleet=fleet)
    assert result.exit_code == 0, result
    (event,) = events_of(fleet, "task-done")
    assert [str(item.value) for item in event.body.readings] == ["0.10"]
