"""Torques of heads that hold less than the thread, and computed ones beside stated ones."""

from __future__ import annotations

from pathlib import Path

import pytest
from workshop_room.jointed_fleet import AIRCRAFT, make_jointed_fleet

from fleets import run, run_json
from register.workshop.torque import CAUTION

JOINTS = """
      flat: {thread: M4, length: 10, head: HEAD, into: steel, material: steel-8.8}
      firm:
        {thread: M4, length: 10, head: cap, into: steel, material: steel-8.8,
         torque: {value: 1.5, unit: "N·m", basis: {kind: "maker", reference: "sheet 2"}}}
      hard:
        {thread: M4, length: 10, head: button, into: steel, material: steel-8.8,
         torque: {value: 9, unit: "N·m", basis: {kind: "owner"}}}
"""
HEADS = ["button", "countersunk", "countersunk-cross", "countersunk-torx"]


def fleet_of(folder: Path, head: str) -> Path:
    text = AIRCRAFT.rstrip() + JOINTS.replace("HEAD", head)
    return make_jointed_fleet(folder, {"aircraft/heron/aircraft.yaml": text})


def rows(fleet: Path, *words: str) -> dict[str, str]:
    """The lines of a screen by their first word."""
    out = run("fasteners", "heron", *words, fleet=fleet).out
    return {line.split()[0]: line for line in out.splitlines() if line.strip()}


@pytest.mark.parametrize("head", HEADS)
def test_the_table_has_no_figure_where_the_head_holds_less(
    tmp_path: Path, head: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "120")
    fleet = fleet_of(tmp_path, head)
    row = rows(fleet)["flat"]
    assert "N·m" not in row
    mark = row.split()[-1]
    assert row.split()[-2:] == ["-", mark]
    told = " ".join(run("fasteners", "heron", fleet=fleet).out.split())
    assert f"{mark} ask the maker: a flat or button head holds less than the thread" in told
    assert "1.5 N·m" in rows(fleet)["firm"]


def test_one_joint_says_that_the_computed_figure_does_not_hold(tmp_path: Path) -> None:
    fleet = fleet_of(tmp_path, "button")
    told = " ".join(run("fasteners", "heron", "flat", fleet=fleet).out.split())
    assert "ask the maker: a flat or button head holds less than the thread" in told
    assert CAUTION in told
    torque = run_json("fasteners", "heron", "flat", fleet=fleet)["fitted"][0]["torque"]
    assert torque["ask_maker"] is True
    firm = run_json("fasteners", "heron", "firm", fleet=fleet)["fitted"][0]["torque"]
    assert firm["ask_maker"] is False


def test_beside_a_stated_torque_the_stated_one_counts(tmp_path: Path) -> None:
    fleet = fleet_of(tmp_path, "button")
    told = " ".join(run("fasteners", "heron", "firm", fleet=fleet).out.split())
    assert "stated 1.5 N·m, maker: sheet 2; the stated one counts computed" in told
    assert "counts" not in run("fasteners", "heron", "flat", fleet=fleet).out
    # Beyond proof load it is still pointed out, whatever the head.
    hard = run("fasteners", "heron", "hard", fleet=fleet).out
    assert "HIGH" in hard
