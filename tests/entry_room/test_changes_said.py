"""What an entry changed, in words that say it once and with their unit."""

from __future__ import annotations

from pathlib import Path

import pytest
from event_fleet import make_event_fleet

from fleets import run


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def test_a_failed_check_is_said_to_have_failed(fleet: Path) -> None:
    result = run("done", "surface-play", "heron", "-r", "2.4", fleet=fleet)
    assert "surface-play: failed, open until it passes" in result.out
    assert "now due" not in result.out


def test_how_late_a_check_was_has_its_unit(fleet: Path) -> None:
    run("done", "surface-play", "heron", "-r", "0.8", "--at", "2026-05-01", fleet=fleet)
    run("fly", "heron", "11", "--minutes", "88", "--at", "2026-05-10", fleet=fleet)
    result = run("done", "surface-play", "heron", "-r", "0.8", fleet=fleet)
    assert "(done 3 flights late)" in result.out


def test_what_cannot_be_told_is_said_once(tmp_path: Path) -> None:
    aircraft = """
        id: kest000001
        programmes: ["jet"]
        opening: {as_of: "2026-05-01", counters: {minutes: "?"}}
        """
    programme = """
        id: prgjet0001
        tasks:
          - {id: "airframe-look", every: [{counter: "minutes", amount: 900}], grounds: true}
        """
    fleet = make_event_fleet(
        tmp_path,
        {"aircraft/kestrel/aircraft.yaml": aircraft, "programmes/jet.yaml": programme},
    )
    run("done", "airframe-look", "kestrel", "--at", "2026-05-02", fleet=fleet)
    result = run("fly", "kestrel", "--minutes", "?", "--pack", "none", fleet=fleet)
    assert result.exit_code == 0, result
    [line] = [line for line in result.out.splitlines() if "airframe-look: now" in line]
    assert line.count("cannot tell") == 1
