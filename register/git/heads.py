"""Commits of several machines: which are already part of another, and their common past."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from register.git.wrapper import build_environment, git_failed, run_git, start_git
from register.storage.names import fold_name
from register.storage.writing import check_path
from register.trouble import Exit, RegisterError

_ID = re.compile(rb"[0-9a-f]{40}(?:[0-9a-f]{24})?")
PLAIN_MODE = b"100644"
PROGRAM_MODE = b"100755"
#: The most that one history of a fleet may hold in files at one time.
MOST_FILES = 500_000


def read_tip(root: Path, ref: str) -> str | None:
    """The commit that a ref names, or None where there is no such ref."""
    said = run_git(root, ["rev-parse", "--verify", "--quiet", f"{ref}^{{commit}}"], check=False)
    found = said.strip()
    return found.decode("ascii") if _ID.fullmatch(found) else None


def is_ancestor(root: Path, older: str, newer: str) -> bool:
    """Whether `older` is `newer` or part of its past."""
    env = build_environment(root)
    result = start_git(["merge-base", "--is-ancestor", older, newer], env)
    if result.returncode in (0, 1):
        return result.returncode == 0
    raise git_failed("merge-base", result.stderr)


def find_newest(root: Path, commits: Iterable[str]) -> tuple[str, ...]:
    """The commits that are in the past of no other, sorted by id."""
    listed = sorted(set(commits))
    if len(listed) < 2:
        return tuple(listed)
    said = run_git(root, ["merge-base", "--independent", *listed])
    return tuple(sorted(said.decode("ascii").split()))


def find_bases(root: Path, one: str, two: str) -> tuple[str, ...]:
    """The newest commits that both have in their past, sorted by id; none if they share nothing."""
    said = run_git(root, ["merge-base", "--all", one, two], check=False)
    return tuple(sorted(said.decode("ascii").split()))


def read_tree(root: Path, commit: str) -> dict[str, str]:
    """Path and blob id of every file of a commit.

    Raises RegisterError (REFUSED `history-odd`) where it holds what no fleet holds: links,
    other repositories, paths that lead out or that two systems could take for one.
    """
    said = run_git(root, ["ls-tree", "-r", "-z", "--full-tree", commit])
    tree: dict[str, str] = {}
    folded: dict[str, str] = {}
    for line in said.split(b"\0")[:-1]:
        head, _, raw = line.partition(b"\t")
        mode, _, id_ = head.split(b" ")
        path = raw.decode("utf-8", "surrogateescape")
        if mode not in (PLAIN_MODE, PROGRAM_MODE):
            raise _odd(commit, path, "it is a link or another repository")
        try:
            check_path(path)
        except RegisterError as error:
            raise _odd(commit, path, error.says) from error
        twin = folded.setdefault(fold_name(path), path)
        if twin != path:
            raise _odd(commit, path, f"some systems cannot tell it from {twin!a}")
        tree[path] = id_.decode("ascii")
        if len(tree) > MOST_FILES:
            raise _odd(commit, path, f"there are more than {MOST_FILES} files")
    return tree


def _odd(commit: str, path: str, why: str) -> RegisterError:
    return RegisterError(
        f"commit {commit[:12]} holds {path!a}, which is not taken in: {why}; nothing was changed",
        mend="mend it on the machine it comes from, save it there, then sync again",
        exit_code=Exit.REFUSED,
        code="history-odd",
    )


def read_blobs(root: Path, ids: Iterable[str]) -> dict[str, bytes]:
    """The bytes of blobs, in one run of git."""
    wanted = list(dict.fromkeys(ids))
    if not wanted:
        return {}
    said = run_git(
        root, ["cat-file", "--batch"], stdin=b"".join(id_.encode() + b"\n" for id_ in wanted)
    )
    found: dict[str, bytes] = {}
    at = 0
    for id_ in wanted:
        end = said.index(b"\n", at)
        head = said[at:end].split(b" ")
        if len(head) != 3 or head[1] != b"blob":
            raise git_failed("cat-file", said[at:end])
        size = int(head[2])
        found[id_] = said[end + 1 : end + 1 + size]
        at = end + 1 + size + 1
    return found


def read_date(root: Path, commit: str) -> bytes:
    """Seconds and offset of a commit's committer, as git writes them."""
    said = run_git(root, ["cat-file", "commit", commit])
    for line in said.split(b"\n"):
        if line.startswith(b"committer "):
            return b" ".join(line.rsplit(b" ", 2)[1:])
        if not line:
            break
    raise git_failed("cat-file", said[:200])
