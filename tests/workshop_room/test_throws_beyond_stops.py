"""A throw beyond the surface's own stop is kept as a fact, and pointed out."""

from __future__ import annotations

from pathlib import Path

import pytest
from event_fleet import events_of
from workshop_room.throws_fleet import make_throws_fleet

from fleets import run


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_throws_fleet(tmp_path)


@pytest.mark.parametrize(
    ("surface", "words", "told"),
    [
        ("aileron-left", ("--up", "60"), "up: 60.0° is beyond its own stop of 26°"),
        ("aileron-left", ("--up", "60deg"), "up: 60.0° is beyond its own stop of 26°"),
        ("aileron-left", ("--down", "31deg"), "down: 31.0° is beyond its own stop of 30°"),
    ],
)
def test_beyond_the_stop_is_recorded_and_warned_of(
    fleet: Path, surface: str, words: tuple[str, ...], told: str
) -> None:
    result = run("throws", "heron", surface, *words, fleet=fleet)
    assert result.exit_code == 0, result
    assert told in result.out
    assert "look at the figure, the chord, or stops:" in " ".join(result.out.split())
    assert len(events_of(fleet, "throws")) == 1


@pytest.mark.parametrize(
    ("surface", "words"),
    [
        ("aileron-left", ("--up", "26deg", "--down", "30deg")),
        ("aileron-left", ("--down", "28deg")),  # beyond the stop of the other way only
        ("aileron-right", ("--up", "60")),  # no stop is stated
    ],
)
def test_up_to_the_stop_nothing_is_said(fleet: Path, surface: str, words: tuple[str, ...]) -> None:
    assert "stop" not in run("throws", "heron", surface, *words, fleet=fleet).out
