"""sync, handover, receive and doctor, with every call failing: typed again, they end the same."""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest
from faults.library import COUNT, KINDS, run_faulted
from faults.many import Point, Trials, points_of
from faults.test_every_point import tell
from faults.worlds import FLEET, Crossing, World, copy_world

A_SEED = 20260711
#: A run over all of them can be thinned: FAULT_EVERY=3 tries every third call of each kind of
#: fault, beginning elsewhere for each kind, so that together they come by every call.
EVERY = "FAULT_EVERY"
#: And kept to scenes by name, with commas between: FAULT_SCENES="sync,sync repository".
SCENES = "FAULT_SCENES"
LETTERS = {
    "sync": "dlorsuw",
    "sync repository": "dlorsuw",
    "handover": "dlorsuw",
    "handover signed": "dlorsuw",
    "receive": "dlorsuw",
    "receive signed": "dlorsuw",
    "receive update": "dlorsuw",
    "doctor": "dorsuw",
    "doctor torn": "dorsuw",
}


def every_point(crossings: dict[str, Crossing], every: int) -> list[Point]:
    """Every point of all scenes, or one of so many."""
    return [
        point
        for scene in crossings.values()
        for number, kind in enumerate(KINDS)
        for point in points_of(scene, kind)
        if (point.at + number) % every == 0
    ]


def test_the_calls_of_each_crossing_are_counted(crossings: dict[str, Crossing]) -> None:
    """Those of git and those beside the fleet as well."""
    counted = {name: scene.count_calls() for name, scene in crossings.items()}
    assert counted.keys() == LETTERS.keys()
    assert {name: set(letters) - set(counted[name]) for name, letters in LETTERS.items()} == {
        name: set() for name in LETTERS
    }
    assert min(len(ops) for ops in counted.values()) > 60


def test_a_sample_of_crossings_breaks_no_promise(
    crossings: dict[str, Crossing], trials: Trials
) -> None:
    """One call of each kind of fault in each scene."""
    chance = random.Random(A_SEED)
    sample = [
        chance.choice(points_of(scene, kind)) for scene in crossings.values() for kind in KINDS
    ]
    assert len(sample) == len(LETTERS) * len(KINDS)
    assert trials.run(sample).all_broken == []


def test_a_broken_promise_of_a_crossing_is_seen(
    crossings: dict[str, Crossing], tmp_path: Path
) -> None:
    """Whatever is spoilt after a run in which nothing went wrong is told."""
    scene = crossings["handover"]
    world = copy_world(scene.world, tmp_path / "world")
    ran = run_faulted(world.folder, scene.words, COUNT, 0, world.surroundings, FLEET)
    assert scene.judge(world, ran, 0) == []
    spoil(world)
    said = "\n".join(scene.judge(world, ran, 0))
    for says in (
        "the file is there and not whole",
        "it said done and it is not: unstaged.txt",
        "it said recorded and it is not",
        "left beside the file: ['out/half']",
        "fleet/.git/tailsheaf/mail/outgoing.bundle",
        "fleet/.git/refs/heads/main.lock",
        "more in git's folder: ['.git/ODD']",
    ):
        assert says in said


def spoil(world: World) -> None:
    """Break several promises by hand."""
    root = world.folder / FLEET
    file = world.folder / "out/heron.tailsheaf"
    file.write_bytes(file.read_bytes()[:-40])
    (world.folder / "out/half").write_bytes(b"")
    (root / "unstaged.txt").write_text("lost\n", "utf-8")
    (change,) = root.glob("aircraft/heron/events/**/*-change-of-owner-*.yaml")
    change.write_bytes(change.read_bytes() + b"\n")
    (root / ".git/tailsheaf/mail").mkdir()
    (root / ".git/tailsheaf/mail/outgoing.bundle").write_bytes(b"half")
    (root / ".git/refs/heads/main.lock").touch()
    (root / ".git/ODD").touch()


@pytest.mark.heavy
def test_no_point_of_a_crossing_breaks_a_promise(
    crossings: dict[str, Crossing], trials: Trials, request: pytest.FixtureRequest
) -> None:
    names = os.environ.get(SCENES, ",".join(crossings)).split(",")
    chosen = {name: crossings[name] for name in names}
    points = every_point(chosen, int(os.environ.get(EVERY, "1")))
    # In any order, so that a table written on the way tells of all of them.
    random.Random(A_SEED).shuffle(points)
    told = os.environ.get("FAULT_TABLE")
    table = trials.run(points, Path(told) if told else None)
    tell(request, table)
    assert table.all_broken == []
