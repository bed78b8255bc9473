"""The whole write: nothing said that is not so, nothing lost at any interruption."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from register.git.apply import NO_HISTORY, Applied, apply_changes, find_work_tree, save_paths
from register.git.commit import commit_paths, paths_not_in_history
from register.storage import journal, keeping
from register.storage.writing import FileChange, write_changes
from register.trouble import Exit, RegisterError

Git = Callable[..., str]
ROOT = Path(__file__).parents[2]
HERON = "aircraft/heron/aircraft.yaml"
EVENT = "aircraft/heron/events/2026/05/2026-05-16-flights-a7k2qdm3xw.yaml"
NEXT = "aircraft/heron/events/2026/05/2026-05-17-flights-b7k2qdm3xw.yaml"
FLY = FileChange(EVENT, None, b"record: flights\n")
FLY_NEXT = FileChange(NEXT, None, b"record: flights\n")


def refuse(root: Path, *changes: FileChange) -> RegisterError:
    with pytest.raises(RegisterError) as refused:
        apply_changes(root, changes, "Fly heron")
    return refused.value


def begin(root: Path, change: FileChange, message: str) -> str:
    """What a command does before it writes its file."""
    hashes = {change.path: journal.hash_bytes(change.after)}
    return journal.open_entry(root, hashes, message)


def check_whole(root: Path, git: Git) -> None:
    """Nothing is broken, staged, left over or outside history."""
    assert git(root, "fsck", "--full", "--strict", "--no-dangling") == ""
    assert git(root, "status", "--porcelain") == ""
    assert paths_not_in_history(root) == ()
    assert journal.read_entries(root) == ()
    left = [
        *root.rglob(".tailsheaf-*"),
        *root.rglob("fast_import_crash*"),
        *(root / ".git").rglob("*.lock"),
    ]
    assert [path for path in left if path.parent.name != "rescue"] == []


def test_a_write_is_on_disk_and_in_history(fleet: Path, git: Git) -> None:
    done = apply_changes(fleet, [FLY, FileChange(HERON, b"id: heron\n", b"id: h2\n")], "Fly heron")
    assert done == Applied(git(fleet, "rev-parse", "main").strip(), (), None)
    assert git(fleet, "show", "--format=%s", "--name-only", "main").split("\n\n") == [
        "Fly heron",
        f"{HERON}\n{EVENT}\n",
    ]
    assert (fleet / EVENT).read_bytes() == FLY.after
    check_whole(fleet, git)


def test_a_refused_write_leaves_no_trace(fleet: Path, git: Git) -> None:
    tip = git(fleet, "rev-parse", "main")
    assert refuse(fleet, FLY, FileChange(HERON, b"other", b"x")).code == "changed-meanwhile"
    assert refuse(fleet, FileChange("../out.yaml", None, b"x")).exit_code is Exit.USAGE
    assert git(fleet, "rev-parse", "main") == tip
    assert not (fleet / EVENT).exists()
    check_whole(fleet, git)


def test_hand_edits_taken_along_are_said(fleet: Path) -> None:
    (fleet / HERON).write_bytes(b"id: heron\ntitle: by hand\n")
    change = FileChange(HERON, b"id: heron\ntitle: by hand\n", b"id: heron\ntitle: both\n")
    assert apply_changes(fleet, [change], "Rename").note == (
        f"also in this commit: your own edits to {HERON}"
    )


def test_save_commits_hand_edits_and_removals(fleet: Path, git: Git) -> None:
    (fleet / HERON).write_bytes(b"id: heron\ntitle: by hand\n")
    (fleet / "fleet.yaml").unlink()
    done = save_paths(fleet, paths_not_in_history(fleet), "Save by hand")
    assert done.commit == git(fleet, "rev-parse", "main").strip()
    assert git(fleet, "ls-tree", "-r", "--name-only", "main") == f"{HERON}\n"
    check_whole(fleet, git)
    assert save_paths(fleet, [HERON], "Again") == Applied(None, (), None)


def test_without_git_the_file_is_saved_and_that_is_said(tmp_path: Path) -> None:
    assert apply_changes(tmp_path, [FLY], "Fly") == Applied(None, (), NO_HISTORY)
    assert (tmp_path / EVENT).read_bytes() == FLY.after
    assert refuse(tmp_path, FLY).code == "changed-meanwhile"
    assert save_paths(tmp_path, [EVENT], "Save").note == NO_HISTORY


def test_in_somebody_elses_repository_nothing_is_written(tmp_path: Path, git: Git) -> None:
    git(tmp_path, "init", "-q")
    below = tmp_path / "example-fleet"
    below.mkdir()
    assert find_work_tree(below) == tmp_path
    error = refuse(below, FLY)
    assert (error.exit_code, error.code) == (Exit.REFUSED, "inside-other-repository")
    assert "tailsheaf init --example DIR" in error.mend
    error = refuse(tmp_path, FLY)
    assert (error.exit_code, error.code) == (Exit.REFUSED, "not-adopted")
    assert error.mend == "tailsheaf adopt"
    assert list(below.iterdir()) == []
    assert not (tmp_path / ".git/tailsheaf").exists()


def test_a_linked_work_tree_is_not_ours(fleet: Path, tmp_path: Path, git: Git) -> None:
    git(fleet, "worktree", "add", "-q", "--detach", str(tmp_path / "second"))
    assert refuse(tmp_path / "second", FLY).code == "inside-other-repository"


def test_identity_is_asked_before_anything_is_written(
    fleet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "none"))
    assert refuse(fleet, FLY).code == "no-identity"
    assert not (fleet / EVENT).exists()
    assert journal.read_entries(fleet) == ()


def test_a_missing_branch_is_asked_about_before_anything_is_written(fleet: Path, git: Git) -> None:
    git(fleet, "branch", "-m", "main", "trunk")
    assert refuse(fleet, FLY).code == "branch-missing"
    assert not (fleet / EVENT).exists()


def test_on_a_detached_head_the_note_says_where_it_went(fleet: Path, git: Git) -> None:
    git(fleet, "switch", "-q", "--detach")
    note = apply_changes(fleet, [FLY], "Fly").note
    assert note is not None
    assert note.startswith("committed to branch main")
    assert git(fleet, "show", f"main:{EVENT}") == "record: flights\n"


def test_a_failed_commit_says_so_and_the_next_command_finishes(fleet: Path, git: Git) -> None:
    lock = fleet / ".git/refs/heads/main.lock"
    lock.touch()
    os.utime(lock, (1, 1))  # older than the write: somebody else's
    error = refuse(fleet, FLY)
    assert (error.exit_code, error.code) == (Exit.CANNOT_RUN, "saved-not-in-history")
    assert error.says.startswith("saved on disk, not yet in history; the next command finishes it")
    assert (fleet / EVENT).read_bytes() == FLY.after
    assert refuse(fleet, FLY_NEXT).code == "git-failed"
    assert not (fleet / NEXT).exists()
    assert lock.exists()
    lock.unlink()
    done = apply_changes(fleet, [FLY_NEXT], "Fly next")
    assert done.adopted == (EVENT,)
    assert git(fleet, "log", "--format=%s") == "Fly next\nFly heron\nBegin the fleet\n"
    check_whole(fleet, git)


def test_an_index_held_by_another_program_is_told_later(fleet: Path, git: Git) -> None:
    lock = fleet / ".git/index.lock"
    lock.touch()
    os.utime(lock, (1, 1))
    done = apply_changes(fleet, [FLY], "Fly heron")
    assert done.commit == git(fleet, "rev-parse", "main").strip()
    assert done.note is not None
    assert ".git/index.lock" in done.note
    assert git(fleet, "diff", "--cached", "--name-status") == f"D\t{EVENT}\n"
    lock.unlink()
    done = apply_changes(fleet, [], "")
    assert done == Applied(None, (), None)
    check_whole(fleet, git)


def test_killed_before_the_file_was_written(fleet: Path, git: Git) -> None:
    begin(fleet, FLY, "Fly heron")
    (fleet / EVENT).parent.mkdir(parents=True)
    left = (fleet / EVENT).with_name(".tailsheaf-0123456789abcdef.tmp")
    left.write_bytes(b"record: fli")
    assert apply_changes(fleet, [FLY_NEXT], "Fly next").adopted == ()
    assert not (fleet / EVENT).exists()
    (rescued,) = keeping.list_kept(fleet, "rescue")
    assert keeping.read_kept(fleet, f"rescue/{rescued}") == b"record: fli"
    check_whole(fleet, git)


def test_killed_after_the_file_was_written(fleet: Path, git: Git) -> None:
    begin(fleet, FLY, "Fly heron")
    write_changes(fleet, [FLY])
    done = apply_changes(fleet, [FLY_NEXT], "Fly next")
    assert done.adopted == (EVENT,)
    assert git(fleet, "log", "--format=%s") == "Fly next\nFly heron\nBegin the fleet\n"
    check_whole(fleet, git)


def test_killed_between_branch_and_index(fleet: Path, git: Git) -> None:
    index = (fleet / ".git/index").read_bytes()
    begin(fleet, FLY, "Fly heron")
    write_changes(fleet, [FLY])
    commit_paths(fleet, [EVENT], "Fly heron")
    (fleet / ".git/index").write_bytes(index)
    (fleet / ".git/index.lock").touch()
    assert "D " in git(fleet, "status", "--porcelain")
    done = apply_changes(fleet, [FLY_NEXT], "Fly next")
    assert done.adopted == ()
    assert git(fleet, "log", "--format=%s") == "Fly next\nFly heron\nBegin the fleet\n"
    check_whole(fleet, git)


def test_a_lock_left_by_the_dead_writers_git_is_moved_aside(fleet: Path, git: Git) -> None:
    begin(fleet, FLY, "Fly heron")
    write_changes(fleet, [FLY])
    (fleet / ".git/refs/heads/main.lock").touch()
    assert apply_changes(fleet, [], "").adopted == (EVENT,)
    assert len(keeping.list_kept(fleet, "rescue")) == 1
    check_whole(fleet, git)


def test_only_what_the_journal_names_is_adopted(fleet: Path, git: Git) -> None:
    begin(fleet, FLY, "Fly heron")
    write_changes(fleet, [FLY])
    (fleet / EVENT).write_bytes(b"record: flights\ncount: by hand\n")
    (fleet / "kits").mkdir()
    (fleet / "kits/new.yaml").write_bytes(b"by hand\n")
    assert apply_changes(fleet, [FLY_NEXT], "Fly next").adopted == ()
    assert paths_not_in_history(fleet) == (EVENT, "kits/new.yaml")
    assert git(fleet, "log", "--format=%s") == "Fly next\nBegin the fleet\n"
    assert journal.read_entries(fleet) == ()


def test_a_journal_that_points_outside_is_put_aside(fleet: Path, tmp_path: Path, git: Git) -> None:
    (tmp_path / "secret").write_bytes(b"secret")
    journal.open_entry(fleet, {"../secret": journal.hash_bytes(b"secret")}, "Steal")
    assert apply_changes(fleet, [FLY], "Fly heron").adopted == ()
    assert git(fleet, "log", "--format=%s") == "Fly heron\nBegin the fleet\n"
    check_whole(fleet, git)


LEAN = """
import sys
from pathlib import Path
from register.git.apply import apply_changes
from register.storage.writing import FileChange
ran = []
sys.addaudithook(lambda event, args: ran.append(args[1]) if event == "subprocess.Popen" else None)
apply_changes(Path(sys.argv[1]), [FileChange("kits/a.yaml", None, b"id: a\\n")], "Add")
assert len(ran) <= 4, ran
assert "git" not in sys.modules
"""


def test_a_write_runs_git_four_times_and_loads_no_library(fleet: Path) -> None:
    subprocess.run([sys.executable, "-c", LEAN, str(fleet)], cwd=ROOT, check=True)


def copy_fleet(fleet: Path, to: Path) -> Path:
    shutil.copytree(fleet, to)
    return to


def run_killed(root: Path, step: int) -> bool:
    """Apply in a child that kills itself before its `step`-th change; False: it came through."""
    child = os.fork()
    if child == 0:
        left = step

        def count(event: str, args: tuple[object, ...]) -> None:
            nonlocal left
            changing = ("os.mkdir", "os.rename", "os.link", "os.remove", "subprocess.Popen")
            opened = event == "open" and isinstance(args[2], int) and bool(args[2] & os.O_CREAT)
            if opened or event in changing:
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(count)
        try:
            apply_changes(root, [FLY, FileChange(HERON, b"id: heron\n", b"id: h2\n")], "Fly heron")
        finally:
            os._exit(0)
    _, status = os.waitpid(child, 0)
    return os.WIFSIGNALED(status)


def test_a_kill_before_any_step_loses_and_doubles_nothing(
    fleet: Path, tmp_path: Path, git: Git
) -> None:
    step = 0
    outcomes = set()
    killed = True
    while killed:
        step += 1
        root = copy_fleet(fleet, tmp_path / f"copy-{step}")
        killed = run_killed(root, step)
        apply_changes(root, [FLY_NEXT], "Fly next")
        there = (root / EVENT).exists(), (root / HERON).read_bytes() == b"id: h2\n"
        outcomes.add(there)
        assert not there[0] or (root / EVENT).read_bytes() == FLY.after
        assert (root / HERON).read_bytes() in (b"id: heron\n", b"id: h2\n")
        subjects = git(root, "log", "--format=%s").splitlines()
        wanted = ["Fly heron"] if any(there) else []
        assert subjects == ["Fly next", *wanted, "Begin the fleet"], step
        check_whole(root, git)
    assert step > 12
    assert outcomes >= {(False, False), (True, True)}


WRITER = """
import sys
from pathlib import Path
from register.git.apply import apply_changes
from register.storage.writing import FileChange
root, who = Path(sys.argv[1]), sys.argv[2]
for n in range(4):
    path = f"aircraft/heron/events/2026/05/{who}-{n}.yaml"
    apply_changes(root, [FileChange(path, None, f"n: {n}\\n".encode())], f"{who} {n}")
"""


def test_writers_at_once_all_come_through(fleet: Path, git: Git) -> None:
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(fleet), who], cwd=ROOT)
        for who in "abcd"
    ]
    assert [writer.wait(60) for writer in writers] == [0, 0, 0, 0]
    subjects = git(fleet, "log", "--format=%s").splitlines()
    assert sorted(subjects[:-1]) == [f"{who} {n}" for who in "abcd" for n in range(4)]
    assert git(fleet, "rev-list", "--count", "--min-parents=2", "main") == "0\n"
    check_whole(fleet, git)


def test_the_owners_own_commits_in_between_are_kept(fleet: Path, git: Git) -> None:
    writer = subprocess.Popen([sys.executable, "-c", WRITER, str(fleet), "a"], cwd=ROOT)
    for number in range(4):
        git(fleet, "commit", "-q", "--allow-empty", "-m", f"own {number}", check=False)
    assert writer.wait(60) == 0
    subjects = git(fleet, "log", "--format=%s").splitlines()
    assert [s for s in subjects if s.startswith("a ")] == ["a 3", "a 2", "a 1", "a 0"]
    apply_changes(fleet, [], "")
    assert paths_not_in_history(fleet) == ()
    assert git(fleet, "fsck", "--full", "--strict", "--no-dangling") == ""
