"""A fresh repository that is filled from nothing: what it holds is only what it was given.

Nothing is cloned and nothing filtered, so no old object, log or pack of the fleet's own
history can come along.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from register.git.commit import quote_path
from register.git.heads import read_tip
from register.git.wrapper import build_environment, git_failed, run_git, start_git
from register.storage import keeping
from register.storage.founding import make_ground

_START = b"\x1e"
#: For a repository that is thrown away again: nothing in it has to outlive a power cut, and what
#: comes into it is one pack.
PASSING = (
    "-c", "core.fsync=none", "-c", "fastimport.unpackLimit=1", "-c", "fetch.unpackLimit=1",
)  # fmt: skip
#: The date of a commit whose own cannot be told.
NO_DATE = b"0 +0000"
_DATE = re.compile(rb"\d{1,11} [+-]\d{4}")
#: Authors that the program itself is.
OWN_AUTHORS = ("tailsheaf", "sync@", "p-owner")
_SAME_PARENT = "refs/heads/main"


class PastCommit(Struct, frozen=True):
    """One commit of the fleet: author's date as git writes it, and path -> blob id or None.

    `people` are the names and addresses of who wrote it and who put it into history.
    """

    id: str
    date: bytes
    changes: tuple[tuple[str, str | None], ...]
    parents: tuple[str, ...] = ()
    people: tuple[str, ...] = ()


class NewCommit(Struct, frozen=True):
    """One commit to be made: who, when, words, and path -> bytes or None."""

    author: str
    date: bytes
    words: str
    files: tuple[tuple[str, bytes | None], ...]


_LOG = (
    "log",
    "--reverse",
    "--topo-order",
    "--format=%x1e%H %ad%x1f%P%x1f%an%x1f%ae%x1f%cn%x1f%ce",
    "--date=raw",
    "--raw",
    "-z",
    "--no-renames",
    "--no-abbrev",
    "--no-ext-diff",
    "--root",
)


#: Follow first parents: histories that were received begin elsewhere and bear other names.
_ONE_LINE = ("--first-parent", "--diff-merges=first-parent")


def list_all_past(root: Path) -> tuple[PastCommit, ...]:
    """Every commit that anything in the repository leads to, stashes and old branches too."""
    said = run_git(root, [*_LOG, "--diff-merges=separate", "--all", "--"])
    return _parse(said)


def list_past_of(folder: Path) -> tuple[PastCommit, ...]:
    """The same of main in a bare repository of its own."""
    said = _git(folder, [*_LOG, *_ONE_LINE, _SAME_PARENT, "--"])
    return _parse(said)


def list_past(root: Path, branch: str, known: Sequence[PastCommit]) -> tuple[PastCommit, ...]:
    """The commits of a branch in one line, oldest first; a merge as what it brought.

    `known` is all of the past: where the branch never merged, the line is in it already.
    """
    found = _pick_line(known, read_tip(root, f"refs/heads/{branch}"))
    if found is not None:
        return found
    said = run_git(root, [*_LOG, *_ONE_LINE, f"refs/heads/{branch}", "--"])
    return _parse(said)


def _pick_line(known: Sequence[PastCommit], tip: str | None) -> tuple[PastCommit, ...] | None:
    """The line that ends in a commit; None where it holds a merge or is not whole."""
    by_id = {commit.id: commit for commit in known}
    line: list[PastCommit] = []
    waiting = [] if tip is None else [tip]
    while waiting:
        commit = by_id.get(waiting.pop())
        if commit is None or len(commit.parents) > 1:
            return None
        line.append(commit)
        waiting.extend(commit.parents)
    return tuple(reversed(line)) or None


def find_people(past: Iterable[PastCommit]) -> tuple[str, ...]:
    """Names and addresses of all who wrote into a history."""
    words = {word.strip() for commit in past for word in commit.people}
    return tuple(sorted(word for word in words if word and not word.startswith(OWN_AUTHORS)))


def find_first(root: Path, branch: str, past: Iterable[PastCommit]) -> str:
    """The id of the branch's first commit: known to every machine of a fleet, and never sent.

    `past` is all of the past.
    """
    by_id = {commit.id: commit for commit in past}
    first, found = "", read_tip(root, f"refs/heads/{branch}")
    while found is not None and found in by_id:
        first, found = found, next(iter(by_id[found].parents), None)
    return first


def _parse(said: bytes) -> tuple[PastCommit, ...]:
    """What `_LOG` prints, read in its order: a path may hold any sign, the separator too."""
    heads: list[tuple[str, bytes, tuple[str, ...], tuple[str, ...]]] = []
    files: list[list[tuple[str, str | None]]] = []
    pieces = iter(said.split(b"\0"))
    for piece in pieces:
        head = piece.lstrip(b"\n")
        if head.startswith(_START):
            told, parents, *people = head[1:].strip(b"\n").split(b"\x1f")
            id_, _, date = told.partition(b" ")
            above = tuple(parents.decode("ascii").split())
            who = tuple(word.decode("utf-8", "replace") for word in people)
            heads.append((id_.decode("ascii"), _usable(date), above, who))
            files.append([])
        elif head.startswith(b":"):
            path = next(pieces, b"").decode("utf-8", "surrogateescape")
            new = head.split(b" ")[3].decode("ascii")
            files[-1].append((path, None if not new.strip("0") else new))
    return tuple(
        PastCommit(id_, date, tuple(some), above, people)
        for (id_, date, above, people), some in zip(heads, files, strict=True)
    )


def _usable(date: bytes) -> bytes:
    """A date that git takes again: before 1970, or of a damaged line, it prints and takes none."""
    return date if _DATE.fullmatch(date) else NO_DATE


def make_repository(folder: Path) -> None:
    """An empty bare repository. Raises RegisterError where git or the disk refuse."""
    make_ground(folder)
    _git(folder, ["init", "--quiet", "--bare", "--template=", "--initial-branch=main"])


def fill_repository(folder: Path, commits: Iterable[NewCommit]) -> str:
    """Make the commits one after another on main; the id of the last one."""
    parts: list[bytes] = []
    for number, commit in enumerate(commits, 1):
        who = f"{commit.author} <{commit.author}@tailsheaf.invalid>".encode()
        words = commit.words.encode("utf-8", "replace") + b"\n"
        parts.extend(
            (
                b"commit " + _SAME_PARENT.encode(),
                b"mark :%d" % number,
                b"author %s %s" % (who, commit.date),
                b"committer %s %s" % (who, commit.date),
                b"data %d\n%s" % (len(words), words),
            )
        )
        if number > 1:
            parts.append(b"from :%d" % (number - 1))
        for path, data in sorted(commit.files):
            if data is None:
                parts.append(b"D " + quote_path(path))
            else:
                parts.append(b"M 100644 inline " + quote_path(path))
                parts.append(b"data %d\n%s" % (len(data), data))
        parts.append(b"")
    parts.extend((b"done", b""))
    _git(folder, ["fast-import", "--quiet", "--done", "--date-format=raw"], b"\n".join(parts))
    return _git(folder, ["rev-parse", _SAME_PARENT]).strip().decode("ascii")


def check_repository(folder: Path) -> None:
    """git's own full check. Raises RegisterError where anything is wrong."""
    _git(folder, ["fsck", "--full", "--strict", "--no-progress"])


def read_objects(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Kind and bytes of every object there is, reachable or not."""
    said = _git(folder, ["cat-file", "--batch-all-objects", "--batch", "--unordered"])
    at = 0
    while at < len(said):
        end = said.index(b"\n", at)
        _, kind, size = said[at:end].split(b" ")
        begin = end + 1
        at = begin + int(size) + 1
        yield kind.decode("ascii"), said[begin : at - 1]


def count_reachable(folder: Path) -> int:
    """How many objects main leads to."""
    return len(_git(folder, ["rev-list", "--objects", _SAME_PARENT]).splitlines())


def bundle_repository(folder: Path, target: Path) -> None:
    """Everything of main as one plain file."""
    _git(folder, ["bundle", "create", "--quiet", str(target), _SAME_PARENT])


def _git(folder: Path, args: list[str], stdin: bytes | None = None) -> bytes:
    env = build_environment(None)
    env["GIT_DIR"] = str(folder)
    result = start_git([*PASSING, *args], env, stdin)
    if result.returncode != 0:
        raise git_failed(args[0], result.stderr)
    return result.stdout


def handing_folder(root: Path, name: str) -> Path:
    """Where a handover is put together: inside git's folder, never in the fleet's own."""
    return keeping.make_keeping_folder(root, "handing") / name
