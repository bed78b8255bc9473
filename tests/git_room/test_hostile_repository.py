"""A repository whose configuration is out to run something: nothing of it runs."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from register.git.apply import apply_changes, save_paths
from register.git.commit import check_identity, commit_paths, paths_not_in_history, read_history
from register.git.wrapper import build_environment, find_git, require_git, run_git
from register.storage.writing import FileChange
from register.trouble import Exit, RegisterError

Git = Callable[..., str]
HERON = "aircraft/heron/aircraft.yaml"
HOOKS = (
    "applypatch-msg", "commit-msg", "fsmonitor-watchman", "post-checkout", "post-commit",
    "post-index-change", "post-merge", "post-rewrite", "post-update", "pre-auto-gc",
    "pre-commit", "pre-merge-commit", "pre-push", "prepare-commit-msg",
    "reference-transaction", "update",
)  # fmt: skip
CONFIG = """
[core]
\tfsmonitor = {run}
\thooksPath = {hooks}
\teditor = {run}
\tpager = {run}
\tsshCommand = {run}
\taskPass = {run}
\tworktree = {elsewhere}
\talternateRefsCommand = {run}
\tattributesFile = {attributes}
[filter "evil"]
\tclean = {run}
\tsmudge = {run}
\tprocess = {run}
\trequired = true
[diff]
\texternal = {run}
[diff "evil"]
\tcommand = {run}
\ttextconv = {run}
[merge "evil"]
\tdriver = {run}
[commit]
\tgpgSign = true
[log]
\tshowSignature = true
[gpg]
\tprogram = {run}
[alias]
\tvar = !{run}
\tcat-file = !{run}
\tfast-import = !{run}
[pager]
\tlog = {run}
\tls-tree = {run}
[credential]
\thelper = !{run}
[remote "origin"]
\turl = ext::{run}
\tpromisor = true
\tuploadpack = {run}
[protocol "ext"]
\tallow = always
[extensions]
\tpartialClone = origin
"""


@pytest.fixture
def canary(tmp_path: Path) -> Path:
    """The file that appears when anything of the configuration has run."""
    return tmp_path / "it-ran"


@pytest.fixture
def hostile(fleet: Path, tmp_path: Path, canary: Path) -> Path:
    """The fleet with every trap this test knows set in its repository."""
    run = tmp_path / "run"
    run.write_text(f"#!/bin/sh\ntouch {canary}\nexit 1\n", "utf-8")
    run.chmod(0o755)
    hooks = fleet / ".git/hooks"
    hooks.mkdir(exist_ok=True)
    for name in HOOKS:
        (hooks / name).symlink_to(run)
    (fleet / ".git/info").mkdir(exist_ok=True)
    for path in (".gitattributes", ".git/info/attributes", "../attributes"):
        (fleet / path).write_text("* filter=evil diff=evil merge=evil\n", "utf-8")
    (tmp_path / "elsewhere").mkdir()
    config = CONFIG.format(
        run=run,
        hooks=hooks,
        elsewhere=tmp_path / "elsewhere",
        attributes=tmp_path / "attributes",
    )
    with (fleet / ".git/config").open("a", encoding="utf-8") as file:
        file.write(config)
    return fleet


@pytest.mark.parametrize(
    "command",
    [("status",), ("add", "."), ("commit", "-m", "x"), ("update-ref", "refs/heads/x", "main")],
)
def test_the_traps_are_real(hostile: Path, canary: Path, git: Git, command: list[str]) -> None:
    (hostile / HERON).write_bytes(b"id: changed\n")
    git(hostile, f"--work-tree={hostile}", *command, check=False)
    assert canary.exists()


def test_nothing_runs_in_any_operation(hostile: Path, canary: Path) -> None:
    change = FileChange("kits/a.yaml", None, b"id: a\n")
    (hostile / HERON).write_bytes(b"id: by hand\n")
    assert check_identity(hostile) == ("Test Owner", "owner@example.invalid")
    assert paths_not_in_history(hostile) == (HERON,)
    assert apply_changes(hostile, [change], "Add").commit is not None
    assert save_paths(hostile, [HERON], "Save").commit is not None
    commit_paths(hostile, [".gitattributes"], "Attributes")
    assert paths_not_in_history(hostile) == ()
    assert [revision.subject for revision in read_history(hostile, HERON, 9)] == [
        "Save",
        "Begin the fleet",
    ]
    assert not canary.exists()


def test_nothing_is_fetched_for_a_missing_object(hostile: Path, canary: Path, git: Git) -> None:
    id = run_git(hostile, ["rev-parse", f"main:{HERON}"]).decode().strip()
    (hostile / ".git/objects" / id[:2] / id[2:]).unlink()
    with pytest.raises(RegisterError):
        run_git(hostile, ["cat-file", "blob", id])
    assert not canary.exists()
    git(hostile, "cat-file", "blob", id, check=False)
    assert canary.exists()


def test_the_callers_environment_does_not_redirect_git(
    fleet: Path, tmp_path: Path, git: Git, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = tmp_path / "other"
    other.mkdir()
    git(other, "init", "-q")
    (tmp_path / "run").write_text(f"#!/bin/sh\ntouch {tmp_path}/it-ran\n", "utf-8")
    (tmp_path / "run").chmod(0o755)
    for name, value in {
        "GIT_DIR": str(other / ".git"),
        "GIT_WORK_TREE": str(other),
        "GIT_INDEX_FILE": str(other / "index"),
        "GIT_OBJECT_DIRECTORY": str(other / ".git/objects"),
        "GIT_CONFIG_COUNT": "1",
        "GIT_CONFIG_KEY_0": "core.fsmonitor",
        "GIT_CONFIG_VALUE_0": str(tmp_path / "run"),
        "GIT_EXTERNAL_DIFF": str(tmp_path / "run"),
    }.items():
        monkeypatch.setenv(name, value)
    commit = apply_changes(fleet, [FileChange("kits/a.yaml", None, b"id: a\n")], "Add").commit
    (revision,) = read_history(fleet, "kits/a.yaml", 9)
    assert revision.commit == commit
    assert not (tmp_path / "it-ran").exists()
    assert not (other / "index").exists()
    monkeypatch.undo()
    assert git(other, "count-objects") == "0 objects, 0 kilobytes\n"


def test_the_environment_keeps_only_what_names_the_owner(
    fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_SSH_COMMAND", "evil")
    monkeypatch.setenv("GIT_AUTHOR_NAME", "Jo")
    env = build_environment(fleet)
    assert "GIT_SSH_COMMAND" not in env
    assert env["GIT_AUTHOR_NAME"] == "Jo"
    assert env["GIT_DIR"] == str(fleet / ".git")
    assert env["HOME"] == os.environ["HOME"]


@pytest.fixture
def programs(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Path]:
    """An empty folder that is all of PATH, with nothing remembered of other searches."""
    folder = tmp_path / "programs"
    folder.mkdir()
    find_git.cache_clear()
    monkeypatch.setenv("PATH", str(folder))
    yield folder
    find_git.cache_clear()


def add_program(folder: Path, says: str) -> None:
    (folder / "git").write_text(f"#!/bin/sh\necho '{says}'\n", "utf-8")
    (folder / "git").chmod(0o755)


def refuse_git(root: Path | None = None) -> RegisterError:
    with pytest.raises(RegisterError) as refused:
        require_git(root)
    assert refused.value.exit_code is Exit.CANNOT_RUN
    assert "2.38" in refused.value.mend
    return refused.value


def test_a_missing_git_is_said(programs: Path) -> None:
    assert list(programs.iterdir()) == []
    assert refuse_git().code == "no-git"


def test_a_git_in_the_current_folder_is_not_taken(
    programs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_program(tmp_path, "git version 2.99.0")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PATH", os.pathsep.join((".", "", str(programs))))
    assert refuse_git().code == "no-git"


@pytest.mark.parametrize("version", ["1.9.5", "2.37.9", "unknown"])
def test_an_old_git_is_said_before_anything_is_written(
    fleet: Path, programs: Path, version: str
) -> None:
    add_program(programs, f"git version {version}")
    assert refuse_git().code == "git-too-old"
    with pytest.raises(RegisterError) as refused:
        apply_changes(fleet, [FileChange("kits/a.yaml", None, b"id: a\n")], "Add")
    assert refused.value.code == "git-too-old"
    assert not (fleet / "kits").exists()


def test_a_good_git_is_asked_once(fleet: Path, programs: Path) -> None:
    add_program(programs, "git version 2.38.0")
    require_git(fleet)
    stamp = (programs / "git").stat()
    add_program(programs, "git version 2.37.0")
    os.utime(programs / "git", ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    require_git(fleet)
    os.utime(programs / "git", ns=(stamp.st_atime_ns, stamp.st_mtime_ns + 1))
    assert refuse_git(fleet).code == "git-too-old"
