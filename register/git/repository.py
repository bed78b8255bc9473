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
_SETTINGS = b"""\
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
    keeping.write_git_file(root, "config", config + _SETTINGS)
    _write_marker(root, branch)


def adopt_marker(root: Path) -> None:
    """Mark the existing repository of `root` as ours, on the branch HEAD is on.

    Raises RegisterError (REFUSED) where `.git` is not a folder of its own or
    HEAD is on no branch.
    """
    if not keeping.has_own_git(root):
        raise RegisterError(
            "there is no git folder directly in this fleet to adopt",
            mend="clone the fleet into a folder of its own, then: tailsheaf adopt",
            exit_code=Exit.REFUSED,
            code="not-a-repository",
        )
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
