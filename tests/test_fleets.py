"""The builders and the surroundings do what the other tests rely on."""

from __future__ import annotations

import os
import subprocess
import time
from pathlib import Path

import pytest

from fleets import FLEET_YAML, Golden, make_fleet, read_files


def test_make_fleet_dedents_and_adds_the_fleet_file(tmp_path: Path) -> None:
    fleet = make_fleet(
        tmp_path,
        {
            "aircraft/heron/aircraft.yaml": """
                id: hn-01
                title: "Heron"
            """
        },
    )
    assert read_files(fleet) == {
        "aircraft/heron/aircraft.yaml": b'id: hn-01\ntitle: "Heron"\n',
        "fleet.yaml": FLEET_YAML.encode(),
    }


def test_make_fleet_keeps_a_given_fleet_file(tmp_path: Path) -> None:
    assert read_files(make_fleet(tmp_path, {"fleet.yaml": "schema: 2\n"})) == {
        "fleet.yaml": b"schema: 2\n"
    }


def test_a_golden_is_held_once_accepted(tmp_path: Path) -> None:
    Golden(tmp_path, accept=True)("due/one", "3 flights\n")
    Golden(tmp_path)("due/one", "3 flights\n")
    with pytest.raises(AssertionError, match="4 flights"):
        Golden(tmp_path)("due/one", "4 flights\n")


def test_a_golden_never_accepted_fails(tmp_path: Path) -> None:
    with pytest.raises(AssertionError, match="pytest --accept"):
        Golden(tmp_path)("new", "text")
    assert list(tmp_path.iterdir()) == []


def test_git_knows_only_the_test_identity(tmp_path: Path) -> None:
    listed = subprocess.run(
        ["git", "config", "--list"], cwd=tmp_path, capture_output=True, text=True, check=True
    ).stdout
    assert listed.splitlines() == [
        "user.name=Test Owner",
        "user.email=owner@example.invalid",
        "init.defaultbranch=main",
    ]


def test_zone_and_width_are_fixed() -> None:
    assert time.strftime("%Z", time.localtime(0)) == "UTC"
    assert os.environ["COLUMNS"] == "80"
