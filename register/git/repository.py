"""Make a fleet's repository, mark one as ours, and say where HEAD stands."""

from __future__ import annotations

import json
from pathlib import Path

from register.git.wrapper import (
    MARKER,
    Marker,
    build_environment,
    git_failed,
    is_branch,
    is_ours,
    read_damaged_marker,
    read_marker,
    require_git,
    run_git,
    start_git,
)
from register.storage import keeping
from register.storage.folder import find_above
from register.trouble import Exit, RegisterError

_ON_BRANCH = b"ref: refs/heads/"
# Added to the repository's own configuration, so that it also holds when the
# owner runs git: bytes stay as written, commits are flushed, git status skips
# folders in which nothing changed, and nothing is pruned soon. One event is
# about seven loose objects.
SETTINGS = b"""\
[core]
\tautocrlf = false
\tsafecrlf = false
\tquotePath = false
\tfsync = all
\tuntrackedCache = true
[gc]
\tauto = 4000
\tpruneExpire = 3.months.ago
\treflogExpire = never
\treflogExpireUnreachable = 1.year.ago
[fetch]
\tfsckObjects = true
"""
STANDARD_CONFIG = b"[core]\n\trepositoryformatversion = 0\n\tbare = false\n" + SETTINGS
"""The whole configuration of a repository of this program, where it was lost."""


def check_place(root: Path) -> bool:
    """Whether the fleet has a history of its own; False where it has none at all.

    Raises RegisterError: REFUSED inside somebody else's work tree or where the
    repository is not adopted, CANNOT_RUN where it is this program's and damaged.
    """
    if is_ours(root):
        return True
    above = find_above(root, keeping.GIT_FOLDER)
    if above is None:
        return False
    if read_damaged_marker(root) is not None:
        raise RegisterError(
            "git's folder is damaged (its HEAD is gone); nothing was written",
            mend="tailsheaf doctor",
            exit_code=Exit.CANNOT_RUN,
            code="git-damaged",
        )
    if above == root.absolute() and keeping.has_git_folder(root):
        raise RegisterError(
            "this fleet's git repository is not known to this program; nothing was written",
            mend="tailsheaf adopt",
            exit_code=Exit.REFUSED,
            code="not-adopted",
        )
    raise RegisterError(
        f"this fleet lies inside another git work tree ({above}); nothing was written",
        mend="work on a copy of its own, for example: tailsheaf init --example DIR",
        exit_code=Exit.REFUSED,
        code="inside-other-repository",
    )


def init_repository(root: Path, branch: str = "main") -> None:
    """Make a git repository in the existing folder `root` and mark it as ours.

    Nothing is committed and no file outside `.git` is touched. Raises
    RegisterError: REFUSED inside another work tree or where `.git` exists,
    CANNOT_RUN where git is missing, too old or fails.
    """
    if not is_branch(branch):
        raise RegisterError(
            f"{branch!r} cannot be a branch here",
            mend="use letters, digits, '-', '.' and '/'",
            exit_code=Exit.USAGE,
            code="name-bad",
        )
    require_git()
    _refuse_inside_other(root)
    env = build_environment(None)
    del env["GIT_DIR"]
    options = ("--quiet", "--template=", f"--initial-branch={branch}")
    made = start_git(["init", *options, "--", str(root.absolute())], env)
    if made.returncode != 0:
        raise git_failed("init", made.stderr)
    config = keeping.read_git_file(root, "config") or b""
    keeping.write_git_file(root, "config", config + SETTINGS)
    _write_marker(root, branch)


def refuse_no_repository(root: Path) -> RegisterError:
    """Return the error where `root` has no git folder of its own to adopt."""
    if keeping.has_git_folder(root):
        return RegisterError(
            "git's folder in this fleet has no HEAD and cannot be adopted",
            mend='echo "ref: refs/heads/main" > .git/HEAD   then: tailsheaf adopt',
            exit_code=Exit.REFUSED,
            code="not-a-repository",
        )
    return RegisterError(
        "there is no git folder directly in this fleet to adopt",
        mend="clone the fleet into a folder of its own, then: tailsheaf adopt",
        exit_code=Exit.REFUSED,
        code="not-a-repository",
    )


def adopt_marker(root: Path) -> None:
    """Mark the existing repository of `root` as ours, on the branch HEAD is on.

    Raises RegisterError (REFUSED) where `.git` is not a folder of its own or
    HEAD is on no branch.
    """
    if not keeping.has_own_git(root):
        raise refuse_no_repository(root)
    require_git()
    branch = _branch_in_head_file(root)
    if branch is None or not is_branch(branch):
        raise RegisterError(
            "HEAD is on no branch the records could be committed to",
            mend="git switch main",
            exit_code=Exit.REFUSED,
            code="no-branch",
        )
    _write_marker(root, branch)


def read_own_marker(root: Path) -> Marker:
    """Return the marker. Raises RegisterError (REFUSED) where there is none."""
    marker = read_marker(root)
    if marker is None:
        raise RegisterError(
            "this folder is not a repository of this program; git was not run in it",
            mend="tailsheaf adopt",
            exit_code=Exit.REFUSED,
            code="not-adopted",
        )
    return marker


def read_head_branch(root: Path) -> str | None:
    """Return the branch HEAD is on, or None where it is on none (detached)."""
    branch = _branch_in_head_file(root)
    if branch != ".invalid":
        return branch
    # Repositories that keep refs in tables leave only a placeholder in the file.
    said = run_git(root, ["symbolic-ref", "--quiet", "HEAD"], check=False).strip()
    found = said.removeprefix(b"refs/heads/")
    return found.decode("utf-8", "replace") if found and found != said else None


def check_branch(root: Path) -> None:
    """Refuse where the register's branch was renamed or removed.

    A branch without a commit yet counts as there while HEAD is on it.
    """
    branch = read_own_marker(root).branch
    if read_head_branch(root) == branch:
        return
    ref = f"refs/heads/{branch}"
    if not run_git(root, ["for-each-ref", "--format=%(refname)", ref]).strip():
        raise RegisterError(
            f"the register's branch {branch} does not exist any more",
            mend="switch to the branch the records are on, then: tailsheaf adopt",
            exit_code=Exit.REFUSED,
            code="branch-missing",
        )


def _branch_in_head_file(root: Path) -> str | None:
    data = keeping.read_git_file(root, "HEAD") or b""
    if not data.startswith(_ON_BRANCH):
        return None
    return data.removeprefix(_ON_BRANCH).strip().decode("utf-8", "replace")


def _write_marker(root: Path, branch: str) -> None:
    body = json.dumps({"format": 1, "branch": branch}, ensure_ascii=True)
    keeping.write_kept(root, MARKER, body.encode("ascii") + b"\n")


def _refuse_inside_other(root: Path) -> None:
    above = find_above(root, keeping.GIT_FOLDER)
    if above is None:
        return
    if above == root.absolute():
        raise RegisterError(
            "this folder already is a git repository",
            mend="tailsheaf adopt",
            exit_code=Exit.REFUSED,
            code="already-a-repository",
        )
    raise RegisterError(
        f"this folder lies inside another git repository ({above})",
        mend="make the fleet outside it, for example: tailsheaf init ~/fleet",
        exit_code=Exit.REFUSED,
        code="inside-other-repository",
    )
