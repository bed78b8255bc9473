"""What was kept before a change and what is computed after it: the answer is that of now."""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest
from kept.scattered import Diary, draw_files
from kept.test_circles import answers

from register.desk import answer_due, read_records
from register.git.repository import init_repository
from register.records.kept import name_of
from register.storage.answers import RACY_NS


def write(fleet: Path, path: str, data: bytes) -> None:
    """One file and the folders on the way."""
    target = fleet / path
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_bytes(data)


def change_somehow(fleet: Path, chance: random.Random, diary: Diary) -> None:
    """A new record, or something done to one by hand or by another program."""
    events = sorted(fleet.glob("*/*/events/**/*.yaml"))
    target = chance.choice(events)
    kind = chance.choice(("new", "new", "change", "remove", "break", "move", "standing", "folder"))
    if kind == "new":
        write(fleet, *diary.event())
    elif kind == "change":
        target.write_bytes(target.read_bytes().replace(b"count: 1", b"count: 3") + b'note: "x"\n')
    elif kind == "remove":
        target.unlink()
    elif kind == "break":
        target.write_bytes(target.read_bytes()[:40])
    elif kind == "move":
        home = chance.choice(sorted(path.parent for path in fleet.glob("*/*/*.yaml")))
        write(fleet, f"{home.relative_to(fleet)}/events/{target.name}", target.read_bytes())
        target.unlink()
    elif kind == "standing":
        part = chance.choice(sorted(fleet.glob("parts/*/part.yaml")))
        part.write_bytes(part.read_bytes() + b'condition: "quarantined"\n')
    else:
        write(fleet, f"parts/new-{chance.randrange(9)}/part.yaml", b'kind: "servo"\n')


@pytest.mark.parametrize("seed", range(5))
def test_kept_before_any_change(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    fleet, key = tmp_path / "fleet", str(tmp_path / "key")
    for path, data in draw_files(chance, 40).items():
        write(fleet, path, data)
    init_repository(fleet)
    diary = Diary(chance, 0.05)
    answers(read_records(fleet, key), 6)
    for step in range(4):
        for _ in range(chance.randint(0, 3)):
            change_somehow(fleet, chance, diary)
        if step % 2:
            # From here on the stamps are believed, and most sheaves are not looked into.
            time.sleep(RACY_NS / 1e9 + 0.1)
        without = answers(read_records(fleet), 6)
        assert answers(read_records(fleet, key), 6) == without
        assert answers(read_records(fleet, key), 6) == without


def test_a_kept_sheaf_that_is_gone_is_read_again(tmp_path: Path) -> None:
    fleet, key = tmp_path / "fleet", str(tmp_path / "key")
    for path, data in draw_files(random.Random(7), 40).items():
        write(fleet, path, data)
    init_repository(fleet)
    time.sleep(RACY_NS / 1e9 + 0.1)
    without = answers(read_records(fleet), 6)
    assert answers(read_records(fleet, key), 6) == without
    for kept in (fleet / ".git/tailsheaf/answers").iterdir():
        if kept.name != "catalogue":
            kept.unlink()
    assert answers(read_records(fleet, key), 6) == without


LISTENERS: list[set[str]] = []


def listen(event: str, arguments: tuple[object, ...]) -> None:
    """Note the kept sheaves that are opened while somebody listens."""
    if event == "open" and LISTENERS and "/answers/sheaf-" in str(arguments[0]):
        LISTENERS[-1].add(str(arguments[0]).rpartition("/")[2].lstrip(".")[:22])


sys.addaudithook(listen)


@contextmanager
def listening() -> Iterator[set[str]]:
    """The kept sheaves that are opened meanwhile, by name."""
    LISTENERS.append(set())
    try:
        yield LISTENERS[-1]
    finally:
        LISTENERS.pop()


def test_one_edit_opens_one_circle(tmp_path: Path) -> None:
    fleet, key = tmp_path / "fleet", str(tmp_path / "key")
    files = draw_files(random.Random(16), 40)
    for path, data in files.items():
        write(fleet, path, data)
    init_repository(fleet)
    time.sleep(RACY_NS / 1e9 + 0.1)
    day = date(2026, 3, 20)
    answer_due(read_records(fleet, key), day, None, every=False)
    circles = read_records(fleet, key).circles
    smallest = min((c for c in circles.all if c[0].startswith("aircraft/")), key=len)
    assert len(smallest) < len(circles.members) // 2
    home = smallest[0]
    text = 'record: "note"\nid: "n7e7e7e7e7"\nwhen: "2026-03-19"\ntext: "x"\n'
    write(fleet, f"{home}/events/2026/03/note.yaml", text.encode())
    with listening() as opened:
        answer_due(read_records(fleet, key), day, None, every=False)
    assert opened
    assert opened <= {name_of("sheaf", folder) for folder in smallest}
