"""However history travels, all machines end on one commit, with every record there once."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults.library import quick_folder
from sync_room.machines import Machine, Workshop

from fleets import NOW, run_json
from register.desk import found_fleet, read_records, save_edits
from register.entry.founding import Founding

AIRCRAFT = """\
id: "{name}00001"
title: "{name}"  # as on the label
stage: "in-service"
# what is glued where
positions:
  engine: {{kind: "turbine", required: true}}
colours:
  upper: "grey"
  lower: "white"
"""
KIT = """\
title: "Small jet"
# drawn from the plan
notes: "first"
"""
ROUNDS = 8
SHORT, LONG = range(10), range(1000, 1300)


@pytest.fixture(scope="module")
def template() -> Iterator[Path]:
    """A fleet with two aircraft and a hand-made file, never written to again."""
    with tempfile.TemporaryDirectory(dir=quick_folder()) as made:
        root = Path(made) / "fleet"
        found_fleet(root, Founding("Two jets", "UTC", None, False, None), random.Random(1))
        for name in ("heron", "egret"):
            (root / f"aircraft/{name}").mkdir(parents=True)
            (root / f"aircraft/{name}/aircraft.yaml").write_text(AIRCRAFT.format(name=name))
        (root / "kits").mkdir(exist_ok=True)
        (root / "kits/small-jet.yaml").write_text(KIT)
        save_edits(read_records(root), ())
        yield root


def _edit_by_hand(workshop: Workshop, machine: Machine, step: int, words: list[str]) -> None:
    """One of the edits that a person makes: a value, a key, a comment, a line taken out."""
    chance = workshop.chance
    path = f"aircraft/{chance.choice(('heron', 'egret'))}/aircraft.yaml"
    data = (machine.root / path).read_bytes()
    word = f"# remark {step} of {machine.root.name}"
    sort = chance.randrange(5)
    if sort == 0:
        words.append(word)
        lines = data.splitlines(keepends=True)
        lines.insert(chance.randrange(len(lines) + 1), word.encode() + b"\n")
        data = b"".join(lines)
    elif sort == 1:
        lines = [
            f'  upper: "colour {step}"\n'.encode() if line.startswith(b"  upper:") else line
            for line in data.splitlines(keepends=True)
        ]
        data = b"".join(lines)
    elif sort == 2:
        words.append(word)
        data = (
            data.rstrip(b"\n") + f'\nextra_{step}_{machine.root.name[-1]}: "x"  {word}\n'.encode()
        )
    elif sort == 3:
        data = data.replace(
            b"positions:\n", f'positions:\n  place-{step}: {{kind: "servo"}}\n'.encode()
        )
    else:
        path = "kits/small-jet.yaml"
        there = (machine.root / path).is_file()
        machine.edit(
            path, None if there and chance.random() < 0.5 else f'notes: "{step}"\n'.encode()
        )
        return
    machine.edit(path, data)


def _add_pack(machine: Machine, packs: set[str]) -> None:
    """A pack by the name that every machine gives its packs; more to it where it is known."""
    path = "parts/pk/part.yaml"
    known = machine.root / path
    if known.is_file():
        machine.edit(path, known.read_bytes() + f"# more of {machine.root.name}\n".encode())
        return
    id_ = f"{machine.chance.choice('abkz')}{machine.chance.randrange(10**8):09d}"
    packs.add(id_)
    machine.edit(path, f'id: "{id_}"\nkind: "battery"\nuse: "assigned"\n'.encode())


def _act(workshop: Workshop, step: int, ids: list[str], words: list[str], packs: set[str]) -> None:
    chance = workshop.chance
    number = chance.randrange(len(workshop.machines))
    machine = workshop.machines[number]
    what = chance.random()
    if what < 0.25:
        ids.append(machine.fly(chance.choice(("heron", "egret")), chance.randint(4, 12)))
    elif what < 0.35:
        ids.append(machine.snag("heron", f"seen at step {step}"))
    elif what < 0.50:
        _edit_by_hand(workshop, machine, step, words)
    elif what < 0.53:
        machine.settle_any()
    elif what < 0.56:
        _add_pack(machine, packs)
    elif what < 0.70:
        workshop.hold(number)
        workshop.carry()
    elif names := workshop.reachable(number):
        machine.sync(*names)


def _finish(workshop: Workshop) -> None:
    """Everything arrives at last; real clashes are settled on one machine."""
    for number in range(ROUNDS):
        for at, machine in enumerate(workshop.machines):
            workshop.hold(at)
            workshop.carry(wholly=True)
            machine.sync()
        if len({machine.tip for machine in workshop.machines}) == 1:
            workshop.machines[number % len(workshop.machines)].settle()
            if len({machine.tip for machine in workshop.machines}) == 1:
                return
    raise AssertionError([machine.tip for machine in workshop.machines])


def converge(folder: Path, template: Path, seed: int, steps: int) -> None:
    """One run; every promise is looked at in the end."""
    chance = random.Random(seed)
    workshop = Workshop(folder, chance)
    workshop.begin(template, chance.randint(2, 5))
    ids: list[str] = []
    words: list[str] = []
    packs: set[str] = set()
    for step in range(steps):
        _act(workshop, step, ids, words, packs)
    _finish(workshop)
    first = workshop.machines[0]
    listed = first.git("ls-tree", "-r", "--name-only", "main").split()
    found = Counter(path.rpartition("-")[2].removesuffix(".yaml") for path in listed)
    assert {id_: found[id_] for id_ in ids} == dict.fromkeys(ids, 1)
    parts = read_records(first.root).records.parts
    assert sorted(file.id or "" for file in parts.values()) == sorted(packs)
    for file in read_records(first.root).records.clashes.values():
        assert file.settled is not None
    text = "".join(
        (first.root / f"aircraft/{name}/aircraft.yaml").read_text() for name in ("heron", "egret")
    )
    assert {word: text.count(word + "\n") for word in words} == dict.fromkeys(words, 1)
    answers = []
    for machine in workshop.machines:
        said = machine.git("fsck", "--full", "--strict").splitlines()
        assert [line for line in said if not line.startswith("dangling ")] == []
        assert machine.git("status", "--porcelain") == ""
        answer = run_json("due", fleet=machine.root, now=NOW)
        # Which the other machines are depends on where one asks.
        answer.pop("last_heard")
        answers.append(answer)
    assert all(answer == answers[0] for answer in answers)


def _run(template: Path, seeds: range, steps: int) -> None:
    for seed in seeds:
        folder = Path(tempfile.mkdtemp(prefix="tailsheaf-sync-", dir=quick_folder()))
        try:
            converge(folder, template, seed, steps)
        except BaseException as error:
            error.add_note(f"seed {seed}")
            raise
        finally:
            shutil.rmtree(folder)


@pytest.fixture(autouse=True)
def _dates(monkeypatch: pytest.MonkeyPatch) -> None:
    """The runs set these themselves; gone when the test ends."""
    for name in ("GIT_AUTHOR_DATE", "GIT_COMMITTER_DATE"):
        monkeypatch.setenv(name, NOW.isoformat())


def test_machines_end_on_one_commit(template: Path) -> None:
    _run(template, SHORT, 12)


@pytest.mark.heavy
@pytest.mark.parametrize("first", LONG[::50])
def test_machines_end_on_one_commit_however_often_it_is_tried(template: Path, first: int) -> None:
    _run(template, range(first, first + 50), 24)
