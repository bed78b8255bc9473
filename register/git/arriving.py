"""What came from another machine, before the fleet takes it in: is it this fleet's, is it sound.

A commit that passes is kept under `refs/tailsheaf/heard/…` until it is part of the branch. One
that does not is no trouble for what came by other ways.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from register.git.heads import read_tree
from register.git.repository import read_own_marker
from register.git.wrapper import run_git
from register.trouble import Exit, RegisterError

#: Commits that were heard and are not in the branch yet.
HEARD = "refs/tailsheaf/heard"


def read_mark(root: Path, commit: str) -> str:
    """The mark that all machines of a fleet share: the beginning of its first commit's id.

    First parents are followed: histories that were received with an aircraft begin elsewhere.
    Empty where there is no such commit.
    """
    command = ["rev-list", "--first-parent", "--max-parents=0", commit]
    first = sorted(run_git(root, command, check=False).decode("ascii", "replace").split())
    return f"fleet-{first[0][:12]}" if first else ""


def accept(root: Path, commit: str, mark: str, name: str) -> None:
    """Keep a commit that arrived by the carrier or machine `name`, to be taken in.

    `mark` is the fleet's own; empty where there is no fleet here yet. Raises RegisterError,
    REFUSED: `other-fleet`, or `history-odd` where its files are not such as a fleet has.
    """
    if mark and read_mark(root, commit) != mark:
        raise RegisterError(
            "it holds the history of another fleet; nothing of it was taken in",
            mend="tailsheaf sync --list   shows the carriers; take the wrong one off",
            exit_code=Exit.REFUSED,
            code="other-fleet",
        )
    read_tree(root, commit)
    run_git(root, ["update-ref", f"{HEARD}/{name}-{commit[:12]}", commit])


def list_heard(root: Path) -> tuple[str, ...]:
    """The commits that were heard and are kept, sorted."""
    said = run_git(root, ["for-each-ref", "--format=%(objectname)", f"{HEARD}/"])
    return tuple(sorted(set(said.decode("ascii", "replace").split())))


def forget_heard(root: Path, commits: Collection[str]) -> None:
    """Drop the names of commits that are in the branch now."""
    listed = run_git(root, ["for-each-ref", "--format=%(refname) %(objectname)", f"{HEARD}/"])
    lines = [
        b"delete %s %s\n" % tuple(line.split(b" "))
        for line in listed.splitlines()
        if line.split(b" ")[1].decode("ascii") in commits
    ]
    if lines:
        run_git(root, ["update-ref", "--stdin"], stdin=b"".join(lines))


def read_past(root: Path) -> frozenset[str]:
    """Every commit that the branch or what was heard has: the first 12 letters of each id."""
    branch = read_own_marker(root).branch
    # A pattern, because a branch named outright must exist, and a joining fleet has none yet.
    own = f"--glob=refs/heads/{branch[:-1]}[{branch[-1]}]"
    said = run_git(root, ["rev-list", own, f"--glob={HEARD}/*"], check=False)
    return frozenset(line[:12] for line in said.decode("ascii", "replace").split())
