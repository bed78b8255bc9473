"""A repository on a path in which git's lock stays, because somebody was cut short at sending."""

from __future__ import annotations

import os
import subprocess
import time
from pathlib import Path

import pytest
from sync_room.laptops import begin, tip_of, types

from register.git.wrapper import find_git

LOCKS = ("HEAD.lock", "packed-refs.lock", "refs/heads/main.lock")


@pytest.fixture
def laptop(tmp_path: Path) -> Path:
    """A fleet that is carried by a bare repository and has news for it."""
    root, _ = begin(tmp_path)
    base = tmp_path / "base.git"
    subprocess.run([find_git(), "init", "-q", "--bare", str(base)], check=True)
    types(root, "sync", "--remove", "stick")
    types(root, "sync", "--add", "base", str(base))
    types(root, "sync")
    types(root, "fly", "heron", "--minutes", "8")
    return root


@pytest.mark.parametrize("name", LOCKS)
def test_a_lock_that_stays_is_named_with_the_line_to_type(laptop: Path, name: str) -> None:
    """It was said that others had changed the repository five times in a row."""
    lock = laptop.parent / "base.git" / name
    lock.touch()
    said = types(laptop, "sync", code=3).err
    assert str(lock) in "".join(said.split())
    assert "it is locked by" in said
    assert "rm" in said
    assert lock.exists()
    lock.unlink()
    assert "sent what it had not" in types(laptop, "sync").out
    tip = (laptop.parent / "base.git/refs/heads/main").read_text().strip()
    assert tip == tip_of(laptop)


def test_locks_of_a_sync_that_was_killed_are_taken_away_by_the_next(laptop: Path) -> None:
    """All at once; one from before it stays, and is told of."""
    mark = laptop / ".git/tailsheaf/syncing"
    mark.touch()
    for name in LOCKS:
        (laptop.parent / "base.git" / name).touch()
    assert "sent what it had not" in types(laptop, "sync").out
    assert [name for name in LOCKS if (laptop.parent / "base.git" / name).exists()] == []
    mark.touch()
    old = laptop.parent / "base.git/HEAD.lock"
    old.touch()
    hour_ago = time.time() - 3600
    os.utime(old, (hour_ago, hour_ago))
    assert "HEAD.lock" in types(laptop, "sync", code=3).err
    assert old.exists()


def test_a_lock_that_goes_within_the_moment_is_waited_for(laptop: Path) -> None:
    lock = laptop.parent / "base.git/refs/heads/main.lock"
    lock.touch()
    with subprocess.Popen(["sh", "-c", f"sleep 0.4; rm '{lock}'"]):
        assert "sent what it had not" in types(laptop, "sync").out


def test_a_place_that_cannot_be_looked_at_is_a_carriers_trouble(laptop: Path) -> None:
    """A disk that fails, a link that leads to itself: said, and no other carrier is stopped."""
    base = laptop.parent / "base.git"
    base.rename(laptop.parent / "away")
    base.symlink_to(base)
    said = types(laptop, "sync", code=3).err
    assert "base" in said
    assert "mend:" in said
    base.unlink()
    (laptop.parent / "away").rename(base)
    assert "sent what it had not" in types(laptop, "sync").out
