"""balance --ballast-at: an answer at every place asked for, also where none is needed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from workshop_room.scale_fleet import WEIGHED, make_scale_fleet

from fleets import run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_scale_fleet(tmp_path)


def weigh(fleet: Path, *words: str) -> None:
    result = run("balance", "swift", *(words or WEIGHED), "--tanks", "empty", fleet=fleet)
    assert result.exit_code == 0, result


def told(fleet: Path, *words: str) -> str:
    result = run("balance", "swift", *words, fleet=fleet)
    assert result.exit_code == 0, result
    return " ".join(result.out.split())


def states(data: Any) -> dict[str, Any]:
    return {state["tanks"]: state for state in data["looks"][-1]["states"]}


def test_inside_already_none_is_needed_and_what_a_hundred_grams_do(fleet: Path) -> None:
    weigh(fleet)
    data = run_json("balance", "swift", "--ballast-at", "-700", fleet=fleet)
    assert data["ballast"] == []
    before = states(data)["tanks empty"]
    assert before["against_limits"] == "inside"
    [trial] = [item for item in data["ballast_tried"] if item["state"] == "tanks empty"]
    assert (trial["place"], trial["mass"], trial["against_limits"]) == ("arm -700", 0.1, "inside")
    # The same by --add, which goes the other way round.
    added = run_json("balance", "swift", "--add", "lead=0.1@-700", fleet=fleet)
    assert trial["cg"] == pytest.approx(states(added)["tanks empty"]["cg"], abs=0.001)
    assert trial["moved"] == pytest.approx(trial["cg"] - before["cg"], abs=0.002)
    out = told(fleet, "--ballast-at", "-700")
    assert "inside already; none needed" in out
    assert f"tanks empty: 0.1 kg at arm -700 moves the CG {-trial['moved']:.1f} mm forward" in out


def test_nothing_asked_nothing_said(fleet: Path) -> None:
    weigh(fleet)
    assert "none needed" not in told(fleet)
    assert run_json("balance", "swift", fleet=fleet)["ballast_tried"] == []


def test_a_place_where_no_mass_helps_is_named(fleet: Path) -> None:
    # Behind the aft limit: weight far behind it only makes it worse.
    heavy = ("--weigh", "nose=0.8", "--weigh", "main-left=6.4", "--weigh", "main-right=6.4")
    weigh(fleet, *heavy)
    assert "BEHIND" in told(fleet)
    out = told(fleet, "--ballast-at", "900")
    assert "arm 900: no mass there brings it inside" in out
    assert "none needed" not in out


def test_before_a_weighing_it_is_said_that_it_cannot_be_told(fleet: Path) -> None:
    out = told(fleet, "--ballast-at", "-700")
    assert "none needed" not in out
    assert "cannot be told" in out
