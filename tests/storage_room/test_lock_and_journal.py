"""One writer at a time; what it was about to write is known after its death."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from register.storage import journal, keeping
from register.storage.lock import OUTSIDE_LOCK, fleet_lock
from register.trouble import Exit, RegisterError

ROOT = Path(__file__).parents[2]
HOLD = """
import sys, time
from pathlib import Path
from register.storage.lock import fleet_lock
with fleet_lock(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def make_git_folder(root: Path) -> Path:
    """As much of a repository as this room looks at."""
    (root / ".git").mkdir(parents=True)
    (root / ".git/HEAD").write_text("ref: refs/heads/main\n", "utf-8")
    return root


def hold_lock(root: Path) -> subprocess.Popen[str]:
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(root)], stdout=subprocess.PIPE, text=True, cwd=ROOT
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    return holder


def stop(holder: subprocess.Popen[str]) -> None:
    holder.kill()
    holder.communicate()


def test_a_second_writer_waits_and_is_told_who_holds(tmp_path: Path) -> None:
    make_git_folder(tmp_path)
    holder = hold_lock(tmp_path)
    try:
        with (
            pytest.raises(RegisterError) as refused,
            fleet_lock(tmp_path, wait_seconds=0.2),
        ):
            raise AssertionError("two writers at once")
    finally:
        stop(holder)
    assert (refused.value.exit_code, refused.value.code) == (Exit.REFUSED, "busy")
    assert f"process {holder.pid} on" in refused.value.says


def test_the_lock_goes_with_its_holder(tmp_path: Path) -> None:
    make_git_folder(tmp_path)
    holder = hold_lock(tmp_path)
    os.kill(holder.pid, signal.SIGKILL)
    holder.communicate()
    with fleet_lock(tmp_path, wait_seconds=0.2):
        text = (tmp_path / ".git/tailsheaf/lock").read_text("utf-8")
        assert text.startswith(f"process {os.getpid()} on ")


def test_a_waiting_writer_comes_next(tmp_path: Path) -> None:
    make_git_folder(tmp_path)
    with fleet_lock(tmp_path):
        waiting = subprocess.Popen(
            [sys.executable, "-c", HOLD, str(tmp_path)],
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        time.sleep(0.3)
    assert waiting.stdout is not None
    assert waiting.stdout.readline() == "held\n"
    stop(waiting)


def test_without_git_the_lock_lies_in_the_fleet(tmp_path: Path) -> None:
    with fleet_lock(tmp_path):
        assert (tmp_path / OUTSIDE_LOCK).is_file()
    assert list(tmp_path.iterdir()) == [tmp_path / OUTSIDE_LOCK]


def test_the_lock_is_released_after_an_error(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="broken"), fleet_lock(tmp_path):
        raise ValueError("broken")
    with fleet_lock(tmp_path, wait_seconds=0):
        pass


def test_a_lock_that_cannot_be_made_is_said(unprivileged: Path) -> None:
    unprivileged.chmod(0o555)
    with pytest.raises(RegisterError, match="permission is missing"), fleet_lock(unprivileged):
        raise AssertionError("written without a lock")


def test_a_linked_lock_is_not_opened(tmp_path: Path) -> None:
    make_git_folder(tmp_path)
    (tmp_path / "precious").write_text("keep", "utf-8")
    (tmp_path / ".git/tailsheaf").mkdir()
    (tmp_path / ".git/tailsheaf/lock").symlink_to(tmp_path / "precious")
    with pytest.raises(RegisterError), fleet_lock(tmp_path):
        raise AssertionError("went through the link")
    assert (tmp_path / "precious").read_text("utf-8") == "keep"


def test_an_entry_is_read_back_until_it_is_closed(tmp_path: Path) -> None:
    make_git_folder(tmp_path)
    assert journal.read_entries(tmp_path) == ()
    files = {"kits/wäder.yaml": journal.hash_bytes(b"a"), "fleet.yaml": journal.hash_bytes(b"b")}
    id = journal.open_entry(tmp_path, files, "Fly heron x 3\n\nbody")
    (entry,) = journal.read_entries(tmp_path)
    assert entry == journal.Entry(id, tuple(files.items()), "Fly heron x 3\n\nbody")
    journal.close_entry(tmp_path, id)
    journal.close_entry(tmp_path, id)
    assert journal.read_entries(tmp_path) == ()


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b"\xff", b'{"format": 2, "files": {}, "message": ""}', b"[" * 9999]
)
def test_a_broken_entry_is_kept_aside(tmp_path: Path, data: bytes) -> None:
    make_git_folder(tmp_path)
    keeping.write_kept(tmp_path, "pending/0123.json", data)
    assert journal.read_entries(tmp_path) == ()
    (name,) = keeping.list_kept(tmp_path, "rescue")
    assert keeping.read_kept(tmp_path, f"rescue/{name}") == data


def test_a_machine_keeps_its_name(tmp_path: Path) -> None:
    make_git_folder(tmp_path)
    assert journal.machine_id(tmp_path) is None
    journal.write_machine_id(tmp_path, "k7q3x9mw2a")
    assert journal.machine_id(tmp_path) == "k7q3x9mw2a"


def test_without_git_a_machine_has_no_name(tmp_path: Path) -> None:
    journal.write_machine_id(tmp_path, "k7q3x9mw2a")
    assert journal.machine_id(tmp_path) is None
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["", "A", "a b", "a\n", "-a", "a" * 33, "../a"])
def test_a_bad_machine_name_is_neither_written_nor_read(tmp_path: Path, name: str) -> None:
    make_git_folder(tmp_path)
    with pytest.raises(RegisterError):
        journal.write_machine_id(tmp_path, name)
    keeping.write_kept(tmp_path, "machine", f"{name}!".encode())
    assert journal.machine_id(tmp_path) is None


def test_the_programs_own_folder_is_not_reached_by_a_link(tmp_path: Path) -> None:
    make_git_folder(tmp_path / "fleet")
    (tmp_path / "outside").mkdir()
    (tmp_path / "fleet/.git/tailsheaf").symlink_to(tmp_path / "outside")
    with pytest.raises(RegisterError):
        keeping.write_kept(tmp_path / "fleet", "machine", b"a")
    assert list((tmp_path / "outside").iterdir()) == []


def test_what_is_rescued_is_never_lost(tmp_path: Path) -> None:
    make_git_folder(tmp_path)
    for text in ("one", "two"):
        (tmp_path / "left.tmp").write_text(text, "utf-8")
        assert keeping.move_to_rescue(tmp_path, "left.tmp") is not None
    assert keeping.move_to_rescue(tmp_path, "left.tmp") is None
    rescued = {
        keeping.read_kept(tmp_path, f"rescue/{name}")
        for name in keeping.list_kept(tmp_path, "rescue")
    }
    assert rescued == {b"one", b"two"}


def test_only_a_whole_git_folder_is_the_fleets_own(tmp_path: Path) -> None:
    own = make_git_folder(tmp_path / "own")
    assert keeping.has_own_git(own)
    (own / ".git/commondir").write_text("../../other/.git\n", "utf-8")
    assert not keeping.has_own_git(own)
    linked = tmp_path / "linked"
    linked.mkdir()
    (linked / ".git").symlink_to(make_git_folder(tmp_path / "else") / ".git")
    assert not keeping.has_own_git(linked)
    pointing = tmp_path / "pointing"
    pointing.mkdir()
    (pointing / ".git").write_text("gitdir: ../else/.git\n", "utf-8")
    assert not keeping.has_own_git(pointing)
