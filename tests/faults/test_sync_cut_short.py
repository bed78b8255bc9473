"""Taking in what another machine wrote, with a fault at any call: the next sync ends the same."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterable
from pathlib import Path

import pytest
from faults.fleet_at_work import Workplace, copy_fleet
from faults.library import COUNT, KINDS, Kind, run_faulted
from faults.promises import read_state, read_status

SYNC = ("sync",)
A_SEED = 20260711
EACH = 3
HERON = "aircraft/heron/aircraft.yaml"


class Meeting:
    """A fleet with its owner's work lying in it, and a box in which another machine's letter is."""

    def __init__(self, prepared: Workplace, folder: Path):
        self.place = prepared
        self.folder = folder
        self.box = folder / "box"
        self.full = folder / "full"
        self.root = copy_fleet(prepared.root, folder / "ready")
        self.box.mkdir()
        prepared.types("sync", "--add", "stick", str(self.box), root=self.root)
        prepared.types("sync", root=self.root)
        other = folder / "other"
        prepared.types("init", str(other), "--from", str(self.box), root=folder)
        prepared.types("fly", "heron", "2", "--minutes", "15", root=other)
        path = other / HERON
        path.write_bytes(path.read_bytes() + b"# seen by the other\n")
        (other / "programmes/short.yaml").unlink()
        prepared.types("save", root=other)
        prepared.types("sync", root=other)
        # Not shared by the two: a merge has to be made, and something is left to be posted.
        prepared.types("snag", "heron", "canopy", "lock", "stiff", root=self.root)
        shutil.copytree(self.box, self.full)
        self.status = read_status(prepared, copy_fleet(self.root, folder / "looked"))
        clean = self.begin("clean")
        self.ops = run_faulted(clean, SYNC, COUNT, 0, prepared.env).ops
        self.wanted = self.look(clean)

    def begin(self, name: str) -> Path:
        """A copy of the fleet, with the box as it was."""
        shutil.rmtree(self.box)
        shutil.copytree(self.full, self.box)
        return copy_fleet(self.root, self.folder / name)

    def look(self, root: Path) -> tuple[dict[str, bytes], dict[str, str]]:
        """Files and history."""
        state = read_state(self.place, root)
        assert not state.said
        return dict(state.files), dict(state.tree)

    def points(self, kind: Kind) -> list[int]:
        """Every call that the fault makes sense at."""
        return [n for n, op in enumerate(self.ops, 1) if not kind.ops or op in kind.ops]

    def try_all(self, points: Iterable[tuple[Kind, int]]) -> list[str]:
        """What broke, in words."""
        return [says for kind, at in points for says in self.try_point(kind, at)]

    def try_point(self, kind: Kind, at: int) -> list[str]:
        """One fault; then the same line again, with no other step before it."""
        root = self.begin("trial")
        broken: list[str] = []
        ran = run_faulted(root, SYNC, kind, at, self.place.env)
        if "Traceback" in ran.err or ran.code not in (0, 1, 3, 4, *range(-64, 0)):
            broken.append(f"ended with {ran.code}: {ran.err}")
        if "taken in: " in ran.out and self.look(root) != self.wanted:
            broken.append("it said taken in and it is not")
        again = run_faulted(root, SYNC, COUNT, 0, self.place.env)
        if again.code != 0:
            broken.append(f"the next sync fails: {again.code} {again.out}{again.err}")
        elif self.look(root) != self.wanted:
            files, tree = self.look(root)
            odd = {p for p in {*files, *self.wanted[0]} if files.get(p) != self.wanted[0].get(p)}
            gone = {p for p in {*tree, *self.wanted[1]} if tree.get(p) != self.wanted[1].get(p)}
            broken.append(f"it ended otherwise: {sorted(odd)}, {sorted(gone)}")
        if read_status(self.place, root) != self.status:
            broken.append(f"git status says {read_status(self.place, root)}")
        checks = ("--full", "--strict", "--no-dangling", "--no-progress")
        if fsck := self.place.git("fsck", *checks, root=root):
            broken.append(f"fsck: {fsck}")
        left = [p for p in (root / ".git").rglob("*.lock") if "rescue" not in p.parts]
        if left or [*(root / ".git/tailsheaf/pending").iterdir()]:
            broken.append(f"left lying: {left}")
        shutil.rmtree(root)
        return [f"{kind.name} at {at}: {says}" for says in broken]


@pytest.fixture(scope="module")
def meeting(prepared: Workplace, fault_folder: Path) -> Meeting:
    """Prepared once."""
    folder = fault_folder / "meeting"
    folder.mkdir()
    return Meeting(prepared, folder)


def test_a_sync_cut_short_at_a_sample_of_calls(meeting: Meeting) -> None:
    chance = random.Random(A_SEED)
    kinds = [kind for kind in KINDS if kind.name in ("kill before", "power cut", "ENOSPC once")]
    points = [(kind, at) for kind in kinds for at in chance.sample(meeting.points(kind), EACH)]
    assert meeting.try_all(points) == []


@pytest.mark.heavy
def test_a_sync_cut_short_at_every_call(meeting: Meeting) -> None:
    assert meeting.try_all((kind, at) for kind in KINDS for at in meeting.points(kind)) == []
