"""An aircraft that changes hands, with a fault at sampled calls: nothing half-done stays."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from faults.fleet_at_work import Workplace, copy_fleet
from faults.library import COUNT, KINDS, SCRIPT, Kind, run_faulted

POINTS = 4
TRIED = [kind for kind in KINDS if kind.name in ("power cut", "ENOSPC once")]


def records(root: Path) -> dict[str, str]:
    """Every record of a fleet by its path without the random id of the change of owner."""
    found: dict[str, str] = {}
    for path in root.rglob("*.yaml"):
        name = path.relative_to(root).as_posix()
        if name.startswith((".git", "clashes")):
            continue
        if "change-of-owner" in name:
            assert "change of owner" not in found, "the change is there twice"
            found["change of owner"] = ""
        else:
            found[name] = path.read_text("utf-8")
    return found


def types(place: Workplace, root: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Type a line in a folder."""
    return subprocess.run(
        [str(SCRIPT), *words], cwd=root, env=dict(place.env), capture_output=True, text=True,
        check=False,
    )  # fmt: skip


@pytest.fixture
def seller(places: dict[str, Workplace]) -> Workplace:
    """The fleet at work."""
    return places["fly"]


def test_a_handover_cut_short(seller: Workplace, tmp_path: Path) -> None:
    """The file is whole or not there; the change is recorded once, after the file."""
    file = tmp_path / "heron.tailsheaf"
    words = ("handover", "heron", str(file))
    clean = copy_fleet(seller.root, tmp_path / "clean")
    ops = len(run_faulted(clean, words, COUNT, 0, seller.env).ops)
    wanted = records(clean)
    for kind in TRIED:
        for at in range(ops // POINTS, ops, ops // POINTS):
            file.unlink(missing_ok=True)
            root = copy_fleet(seller.root, tmp_path / "trial")
            ran = run_faulted(root, words, kind, at, seller.env)
            if "change of owner" in records(root):
                assert file.is_file(), (kind, at)
            if ran.code == 0:
                assert records(root) == wanted, (kind, at)
            again = types(seller, root, *words)
            assert again.returncode == 0, (kind, at, again.stderr)
            assert records(root) == wanted, (kind, at)
            opened = types(seller, root, "receive", str(file), "--json")
            assert opened.returncode == 0, (kind, at, opened.stderr)
            shutil.rmtree(root)


def test_a_receive_cut_short(seller: Workplace, tmp_path: Path) -> None:
    """Typed again it is complete, with every record once, and nothing else of the fleet moved."""
    file = tmp_path / "heron.tailsheaf"
    giver = copy_fleet(seller.root, tmp_path / "giver")
    assert types(seller, giver, "handover", "heron", str(file)).returncode == 0
    buyer = tmp_path / "buyer"
    assert types(seller, tmp_path, "init", str(buyer)).returncode == 0
    assert types(seller, buyer, "aircraft", "swift", "--add").returncode == 0
    words = ("receive", str(file), "--take")
    clean = copy_fleet(buyer, tmp_path / "clean")
    ops = len(run_faulted(clean, words, COUNT, 0, seller.env).ops)
    wanted = records(clean)
    for kind in TRIED:
        for at in range(ops // POINTS, ops, ops // POINTS):
            root = copy_fleet(buyer, tmp_path / "trial")
            judge(seller, root, words, (kind, at), wanted)
            shutil.rmtree(root)


def judge(
    place: Workplace,
    root: Path,
    words: tuple[str, ...],
    point: tuple[Kind, int],
    wanted: dict[str, str],
) -> None:
    """One trial."""
    ran = run_faulted(root, words, *point, place.env)
    if ran.code == 0:
        assert records(root) == wanted, point
    again = types(place, root, *words)
    assert again.returncode == 0, (point, again.stderr)
    assert records(root) == wanted, point
    checked = types(place, root, "check", "--json")
    levels = [found["level"] for found in json.loads(checked.stdout)["problems"]]
    assert "error" not in levels, point
    assert place.git("status", "--porcelain", root=root) == "", point
    assert "failed" not in place.git("fsck", "--full", "--strict", root=root), point
