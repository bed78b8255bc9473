"""Rows 30 to 32: damage met by ordinary commands, hard surroundings, and an owner at work.

Not run here: a full disk and errors of the disk (they are in the fault tests), FAT and exFAT,
network drives, a case-folding disk, another owner's folder on Windows.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from event_fleet import make_event_fleet

from fleets import read_files, run, run_json

PROGRAM = (sys.executable, "-c", "from cli.main import run; run()")
ROOT = Path(__file__).parents[2]
FLY = ("fly", "heron", "1", "--minutes", "7")


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def git(fleet: Path, *args: str, check: bool = True) -> str:
    done = subprocess.run(["git", *args], cwd=fleet, capture_output=True, text=True, check=check)
    return done.stdout


def start(
    fleet: Path, *args: str, mortal: bool = False, **changes: str | None
) -> subprocess.CompletedProcess[str]:
    """The program as a process of its own; a change to None takes a variable away.

    `mortal`: without the administrator's right to write and read anything.
    """
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    for name, value in changes.items():
        env.pop(name, None)
        if value is not None:
            env[name] = value
    done = subprocess.run(
        [*PROGRAM, "--fleet", str(fleet), *args],
        env=env,
        capture_output=True,
        text=True,
        check=False,
        cwd="/",
        preexec_fn=drop_rights if mortal else None,
    )
    assert "Traceback" not in done.stderr
    assert done.returncode != 70, done.stderr
    return done


def drop_rights() -> None:
    """Take CAP_DAC_OVERRIDE and CAP_DAC_READ_SEARCH from what this process starts."""
    if os.geteuid() == 0:
        for right in (1, 2):
            assert ctypes.CDLL(None).prctl(24, right, 0, 0, 0) == 0


# -- row 30: what an ordinary command says to damage ------------------------------------------


def head_gone(git_folder: Path) -> None:
    (git_folder / "HEAD").unlink()


def ref_empty(git_folder: Path) -> None:
    (git_folder / "refs/heads/main").write_bytes(b"")


def index_empty(git_folder: Path) -> None:
    (git_folder / "index").write_bytes(b"")


def packed_bad(git_folder: Path) -> None:
    (git_folder / "packed-refs").write_bytes(b"not a line\n")


def lock_stale(git_folder: Path) -> None:
    for name in ("index.lock", "HEAD.lock", "refs/heads/main.lock"):
        (git_folder / name).touch()
        os.utime(git_folder / name, (1, 1))


@pytest.mark.parametrize("damage", [head_gone, ref_empty, index_empty, packed_bad, lock_stale])
def test_reading_goes_on_and_writing_says_so_until_the_doctor_came(
    fleet: Path, damage: Callable[[Path], None]
) -> None:
    damage(fleet / ".git")
    assert run("due", fleet=fleet).exit_code == 0
    assert run("check", fleet=fleet).exit_code == 0
    flown = run(*FLY, fleet=fleet)
    assert flown.exit_code in (0, 3, 4), flown
    if flown.exit_code:
        assert "mend:" in flown.err
        assert "recorded" not in flown.out
    assert run("doctor", fleet=fleet).exit_code == 0
    assert run(*FLY, fleet=fleet).exit_code == 0
    assert run("save", fleet=fleet).exit_code == 0
    assert git(fleet, "status", "--porcelain") == ""
    assert git(fleet, "fsck", "--full", "--strict", "--no-dangling") == ""


def test_a_fleet_without_head_is_sent_to_the_doctor(fleet: Path) -> None:
    head_gone(fleet / ".git")
    error = run_json(*FLY, fleet=fleet, exit_code=3)["error"]
    assert (error["code"], error["mend"]) == ("git-damaged", "tailsheaf doctor")


# -- row 31: hard surroundings ---------------------------------------------------------------


def test_without_a_home_and_with_an_odd_locale_it_works(fleet: Path) -> None:
    identity = {
        "GIT_AUTHOR_NAME": "Jo", "GIT_AUTHOR_EMAIL": "jo@example.invalid",
        "GIT_COMMITTER_NAME": "Jo", "GIT_COMMITTER_EMAIL": "jo@example.invalid",
    }  # fmt: skip
    for changes in (
        {"HOME": None, "GIT_CONFIG_GLOBAL": None, **identity},
        {"LC_ALL": "xx_YY.ISO-8859-99", "LANG": "C", "PYTHONUTF8": "0"},
        {"TZ": "Nowhere/Never"},
        {"TZ": ":/etc/passwd"},
        {"COLUMNS": "0"},
        {"TERM": None},
    ):
        done = start(fleet, "snag", "heron", "Kratzer, Höhenruder", **changes)
        assert done.returncode == 0, (changes, done.stderr)
    for kind in ("due", "check", "doctor"):
        assert start(fleet, kind, LC_ALL="C", PYTHONIOENCODING="ascii").returncode == 0


def test_without_an_identity_the_two_lines_are_given(fleet: Path) -> None:
    before = read_files(fleet)
    done = start(fleet, *FLY, GIT_CONFIG_GLOBAL="/dev/null")
    assert done.returncode == 3
    assert "git config --global user.name" in done.stderr
    assert read_files(fleet) == before
    # The doctor needs none unless a write waits.
    assert start(fleet, "doctor", GIT_CONFIG_GLOBAL="/dev/null").returncode == 0


@pytest.mark.parametrize("version", [None, "git version 2.30.2"])
def test_without_git_or_with_an_old_one_reading_works(
    fleet: Path, tmp_path: Path, version: str | None
) -> None:
    programs = tmp_path / "programs"
    programs.mkdir()
    if version:
        (programs / "git").write_text(f"#!/bin/sh\necho {version}\n", "utf-8")
        (programs / "git").chmod(0o755)
    before = read_files(fleet)
    assert start(fleet, "due", PATH=str(programs)).returncode == 0
    for line in (FLY, ("doctor",), ("save",)):
        done = start(fleet, *line, PATH=str(programs))
        assert done.returncode == 3, (line, done)
        assert "2.38" in done.stderr
    assert read_files(fleet) == before


def test_from_a_folder_that_is_gone_it_says_so_or_works(fleet: Path, tmp_path: Path) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    script = f'cd "{gone}" && rmdir "{gone}" && exec "$0" "$@"'
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    for line in (("due",), FLY, ("doctor", "--look")):
        done = subprocess.run(
            ["sh", "-c", script, *PROGRAM, "--fleet", str(fleet), *line],
            env=env, capture_output=True, text=True, check=False,
        )  # fmt: skip
        gone.mkdir()
        assert "Traceback" not in done.stderr
        assert done.returncode in (0, 3), done


def test_a_folder_that_may_not_be_written_is_still_read(fleet: Path) -> None:
    before = read_files(fleet)
    paths = [fleet, *fleet.rglob("*")]
    for path in paths:
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        assert start(fleet, "due", mortal=True).returncode == 0
        assert start(fleet, "check", mortal=True).returncode == 0
        assert start(fleet, "doctor", "--look", mortal=True).returncode == 0
        for line in (FLY, ("doctor",)):
            done = start(fleet, *line, mortal=True)
            assert done.returncode == 3, done
            assert "permission" in done.stderr
    finally:
        for path in paths:
            path.chmod(0o755 if path.is_dir() else 0o644)
    assert read_files(fleet) == before


@pytest.mark.parametrize("path", ["parts/sv-31/part.yaml", "parts/sv-31"])
def test_what_may_not_be_read_is_named_and_hides_nothing_else(fleet: Path, path: str) -> None:
    (fleet / path).chmod(0)
    try:
        done = start(fleet, "check", mortal=True)
        due = start(fleet, "due", "heron", mortal=True)
    finally:
        (fleet / path).chmod(0o755)
    assert done.returncode == 1
    assert "[file-not-read]" in done.stdout
    assert path in done.stdout
    assert due.returncode == 1


# -- row 32: an owner at work ----------------------------------------------------------------


def at_merge(fleet: Path) -> None:
    git(fleet, "switch", "-q", "-c", "trial")
    (fleet / "notes.txt").write_bytes(b"one\n")
    git(fleet, "add", "."), git(fleet, "commit", "-q", "-m", "one")
    git(fleet, "switch", "-q", "main")
    (fleet / "notes.txt").write_bytes(b"other\n")
    git(fleet, "add", "."), git(fleet, "commit", "-q", "-m", "other")
    git(fleet, "merge", "-q", "trial", check=False)


def at_rebase(fleet: Path) -> None:
    at_merge(fleet)
    git(fleet, "merge", "--abort")
    git(fleet, "rebase", "main", "trial", check=False)


def at_detached(fleet: Path) -> None:
    git(fleet, "switch", "-q", "--detach")


def at_other_branch(fleet: Path) -> None:
    git(fleet, "switch", "-q", "-c", "trial")


def at_staged(fleet: Path) -> None:
    (fleet / "notes.txt").write_bytes(b"staged\n")
    git(fleet, "add", "notes.txt")
    (fleet / "notes.txt").write_bytes(b"and gone on\n")


def at_worktree(fleet: Path) -> None:
    git(fleet, "worktree", "add", "-q", str(fleet.parent / "second"), "-b", "second")


def at_settings(fleet: Path) -> None:
    for name, value in (
        ("core.autocrlf", "true"), ("commit.gpgsign", "true"), ("core.editor", "false"),
        ("core.hooksPath", "/nonexistent"), ("user.signingkey", "x"), ("core.eol", "crlf"),
    ):  # fmt: skip
        git(fleet, "config", name, value)


STATES = (
    at_merge, at_rebase, at_detached, at_other_branch, at_staged, at_worktree, at_settings,
)  # fmt: skip


def state_of(fleet: Path) -> tuple[str, ...]:
    """What is the owner's own: HEAD, the index's entries but for records, unfinished work."""
    staged = "".join(
        line for line in git(fleet, "ls-files", "-s").splitlines(True) if "aircraft/" not in line
    )
    unfinished = [
        name for name in ("MERGE_HEAD", "rebase-merge", "REBASE_HEAD")
        if (fleet / ".git" / name).exists()
    ]  # fmt: skip
    on = git(fleet, "symbolic-ref", "HEAD", check=False) or git(fleet, "rev-parse", "HEAD")
    config = (fleet / ".git/config").read_text("utf-8")
    return (on, staged, *unfinished, config)


@pytest.mark.parametrize("state", STATES, ids=lambda state: state.__name__)
def test_an_owner_at_work_keeps_the_work(fleet: Path, state: Callable[[Path], None]) -> None:
    state(fleet)
    before, files = state_of(fleet), read_files(fleet)
    flown = run(*FLY, fleet=fleet)
    assert flown.exit_code == 0, flown
    assert run("doctor", fleet=fleet).exit_code == 0
    assert state_of(fleet) == before
    after = read_files(fleet)
    assert {path: after[path] for path in files} == files
    (new,) = set(after) - set(files)
    assert git(fleet, "show", f"main:{new}").encode() == after[new]


def test_a_linked_work_tree_is_refused_with_the_way_out(fleet: Path) -> None:
    at_worktree(fleet)
    second = fleet.parent / "second"
    assert run("due", fleet=second).exit_code == 0
    for line in (FLY, ("doctor",), ("adopt", "--yes")):
        refused = run(*line, fleet=second)
        assert refused.exit_code == 4, (line, refused)
        assert "mend:" in refused.err


def test_a_shallow_clone_is_adopted_and_written(fleet: Path, tmp_path: Path) -> None:
    run(*FLY, fleet=fleet)
    git(tmp_path, "clone", "-q", "--depth=1", f"file://{fleet}", "shallow")
    shallow = tmp_path / "shallow"
    assert run("adopt", "--yes", fleet=shallow).exit_code == 0
    assert run(*FLY, fleet=shallow).exit_code == 0
    assert run("doctor", fleet=shallow).exit_code == 0
    assert git(shallow, "rev-list", "--count", "HEAD") == "2\n"


def test_a_bare_copy_is_no_fleet(fleet: Path, tmp_path: Path) -> None:
    git(tmp_path, "clone", "-q", "--bare", str(fleet), "bare")
    for line in (("due",), ("doctor",), ("adopt", "--yes")):
        assert run(*line, cwd=tmp_path / "bare").exit_code == 3, line


def test_a_copied_folder_goes_on_by_itself(fleet: Path, tmp_path: Path) -> None:
    shutil.copytree(fleet, tmp_path / "copied")
    assert run(*FLY, fleet=tmp_path / "copied").exit_code == 0
    assert git(fleet, "rev-list", "--count", "main") == "1\n"
