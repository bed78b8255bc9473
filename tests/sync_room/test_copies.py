"""Second versions that file-sync services leave: never counted twice, never lost."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from sync_room.laptops import LATER, begin, codes, edit, exchange, tip_of, types

from fleets import run

HERON = "aircraft/heron/aircraft.yaml"
MARKS = (
    "{stem}.sync-conflict-20260711-101112-ABCDEF7.yaml",
    "{stem} (Vera's conflicted copy 2026-07-11).yaml",
    "{stem} (conflicted copy 2026-07-11 101112).yaml",
    "{stem} (SFConflict vera).yaml",
    "{stem}.Conflict.yaml",
    "{stem}-LAPTOP7.yaml",
    "{stem} (1).yaml",
    "{stem} 2.yaml",
)


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """A laptop's fleet with one flight in it, and a mailbox."""
    one, _ = begin(tmp_path)
    types(one, "fly", "heron", "--minutes", "7")
    return one


def _event(fleet: Path) -> Path:
    return next(fleet.rglob("*-flights-*.yaml"))


def _flights(fleet: Path) -> object:
    # A copy without its original is an error: the answer is given, and the code says so.
    said = run("aircraft", "heron", "--json", cwd=fleet, now=LATER)
    assert said.exit_code in (0, 1)
    return json.loads(said.out)["counters"]["flights"]["low"]


def _rescued(fleet: Path, data: bytes) -> bool:
    folder = fleet / ".git/tailsheaf/rescue"
    return any(path.read_bytes() == data for path in folder.rglob("*") if path.is_file())


@pytest.mark.parametrize("mark", MARKS)
def test_a_copy_of_an_event_that_is_here_is_set_aside(fleet: Path, mark: str) -> None:
    event = _event(fleet)
    copy = event.with_name(mark.format(stem=event.stem))
    copy.write_bytes(event.read_bytes())
    assert "conflict-copy" in codes(fleet)
    assert _flights(fleet) == 118
    types(fleet, "sync")
    assert not copy.exists()
    assert _rescued(fleet, event.read_bytes())
    assert _flights(fleet) == 118
    assert "conflict-copy" not in codes(fleet)


@pytest.mark.parametrize("mark", MARKS[:5])
@pytest.mark.parametrize("word", ["sync", "doctor"])
def test_a_copy_of_an_event_that_is_not_here_is_adopted(fleet: Path, mark: str, word: str) -> None:
    event = _event(fleet)
    data = event.read_bytes()
    id_ = event.stem.rpartition("-")[2]
    new = event.with_name(event.name.replace(id_, "zz7h8j9k2m"))
    copy = event.with_name(mark.format(stem=new.stem))
    copy.write_bytes(data.replace(id_.encode(), b"zz7h8j9k2m"))
    assert _flights(fleet) == 118
    types(fleet, word)
    assert new.is_file()
    assert not copy.exists()
    assert _flights(fleet) == 119
    assert "not-in-history" not in codes(fleet)
    types(fleet, word)
    assert _flights(fleet) == 119


def test_a_copy_of_a_hand_made_file_is_merged_with_the_version_of_its_time(fleet: Path) -> None:
    old = (fleet / HERON).read_text()
    edit(fleet, HERON, '"Heron"', '"Heron, new wing"')
    copy = fleet / HERON.replace(".yaml", " (conflicted copy 2026-07-11).yaml")
    copy.write_text(old.replace('"grey"', '"blue"  # repainted'))
    before = (fleet / ".git/refs/heads/main").stat().st_mtime - 3600
    os.utime(copy, (before, before))
    types(fleet, "sync")
    text = (fleet / HERON).read_text()
    assert '"Heron, new wing"' in text
    assert '"blue"  # repainted' in text
    assert not copy.exists()
    assert "not-in-history" not in codes(fleet)


@pytest.mark.parametrize("name", ["fleet", "private"])
@pytest.mark.parametrize("mark", MARKS)
def test_a_copy_of_a_file_at_the_top_is_treated_as_those_below(
    fleet: Path, name: str, mark: str
) -> None:
    file = fleet / f"{name}.yaml"
    copy = fleet / mark.format(stem=name)
    copy.write_bytes(file.read_bytes())
    assert "conflict-copy" in codes(fleet)
    assert "is the same as the file" in " ".join(types(fleet, "sync").out.split())
    assert not copy.exists()
    assert _rescued(fleet, file.read_bytes())
    assert "conflict-copy" not in codes(fleet)


def test_an_edit_in_a_copy_of_a_file_at_the_top_is_merged(fleet: Path) -> None:
    copy = fleet / "private (1).yaml"
    copy.write_text((fleet / "private.yaml").read_text().replace("Vera Example", "Vera E. Example"))
    types(fleet, "sync")
    assert "Vera E. Example" in (fleet / "private.yaml").read_text()
    assert not copy.exists()


def test_an_old_version_and_a_real_difference(fleet: Path) -> None:
    old = (fleet / HERON).read_bytes()
    edit(fleet, HERON, '"grey"', '"green"')
    stale = fleet / HERON.replace(".yaml", " (1).yaml")
    stale.write_bytes(old)
    other = fleet / HERON.replace(".yaml", ".sync-conflict-20260711-101112-ABCDEF7.yaml")
    other.write_bytes(old.replace(b'"grey"', b'"red"'))
    long_ago = (fleet / ".git/refs/heads/main").stat().st_mtime - 86400
    os.utime(other, (long_ago, long_ago))
    said = run("sync", cwd=fleet, now=LATER)
    assert said.exit_code == 1
    assert "needs you" in " ".join(said.out.split())
    assert not stale.exists()
    assert other.is_file()
    assert '"green"' in (fleet / HERON).read_text()
    assert "conflict-copy" in codes(fleet)


def test_what_cannot_be_read_stays_and_is_named(fleet: Path) -> None:
    event = _event(fleet)
    copy = event.with_name(f"{event.stem} (conflicted copy).yaml")
    copy.write_bytes(b"record: [\n")
    data = json.loads(run("sync", "--json", cwd=fleet, now=LATER).out)
    assert [item["moved"] for item in data["copies"]] == [None]
    assert copy.read_bytes() == b"record: [\n"


@pytest.mark.parametrize("name", ["main.sync-conflict-20260711-101112-ABCDEF7", "main-LAPTOP7"])
def test_a_copy_of_the_branch_brings_the_other_machines_commits(tmp_path: Path, name: str) -> None:
    one, two = begin(tmp_path)
    types(two, "fly", "heron", "--minutes", "9")
    other = tip_of(two)
    for source in (two / ".git/objects").rglob("*"):
        target = one / ".git/objects" / source.relative_to(two / ".git/objects")
        if source.is_file() and not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(source.read_bytes())
    (one / ".git/refs/heads" / name).write_text(f"{other}\n")
    types(one, "sync")
    assert _flights(one) == 118
    assert not (one / ".git/refs/heads" / name).exists()
    exchange(one, two)
    assert tip_of(one) == tip_of(two)


def test_copies_of_letters_are_left_alone(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    types(one, "fly", "heron", "--minutes", "9")
    types(one, "sync")
    for path in [*(tmp_path / "box").rglob("*.bundle")]:
        twin = path.with_name(f"{path.stem} (Vera's conflicted copy 2026-07-11).bundle")
        twin.write_bytes(path.read_bytes())
    types(two, "sync")
    assert tip_of(one) == tip_of(two)
    assert len([*(tmp_path / "box").rglob("*conflicted*")]) == 2
