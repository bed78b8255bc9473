"""A file that is there and cannot be read is no unknown name, and its edits are not given away."""

from __future__ import annotations

from pathlib import Path

from fleets import run, run_json


def _spoil(tmp_path: Path) -> Path:
    fleet = tmp_path / "fleet"
    assert run("init", str(fleet)).exit_code == 0
    assert run("kit", "gannet", "--add", fleet=fleet).exit_code == 0
    assert run("aircraft", "robin", "--kit", "gannet", fleet=fleet).exit_code == 0
    kit = fleet / "kits/gannet.yaml"
    kit.write_bytes(kit.read_bytes() + b"positions:\n  engine: {kind: turbine}\n bad: [\n")
    return fleet


def test_check_points_to_the_error_and_not_to_the_way_back(tmp_path: Path) -> None:
    found = run_json("check", fleet=_spoil(tmp_path), exit_code=1)["problems"]
    by_code = {problem["code"]: problem for problem in found}
    # Who names the kit has nothing to mend.
    assert {problem["file"] for problem in found} == {"kits/gannet.yaml"}
    mend = by_code["not-in-history"]["mend"]
    assert mend.startswith("first what is wrong in it")
    assert "loses your edits" in mend


def test_a_file_that_cannot_be_read_is_not_made_again(tmp_path: Path) -> None:
    fleet = _spoil(tmp_path)
    before = (fleet / "kits/gannet.yaml").read_bytes()
    for line in (("kit", "gannet", "--add"), ("kit", "gannet", "--title", "Gannet 2")):
        error = run_json(*line, fleet=fleet, exit_code=4)["error"]
        assert error["code"] == "file-unreadable"
        assert error["mend"].startswith("git checkout -- kits/gannet.yaml")
        assert "tailsheaf check" in error["mend"]
    assert (fleet / "kits/gannet.yaml").read_bytes() == before
