"""Every readable commit, its parents, and which of them a lost branch was most likely at.

Pure: what git said about the objects in, candidates in order out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet

from msgspec import Struct


class Commit(Struct, frozen=True):
    """A commit: parents in order, committer's time in seconds, first line."""

    parents: tuple[str, ...]
    when: int
    subject: bytes


def parse_commits(said: bytes) -> dict[str, Commit]:
    """Read what `git cat-file --batch` prints for commits; others are passed over."""
    commits: dict[str, Commit] = {}
    at = 0
    while (end := said.find(b"\n", at)) >= 0:
        words = said[at:end].split(b" ")
        at = end + 1
        if len(words) != 3:
            continue
        size = int(words[2])
        if words[1] == b"commit":
            commits[words[0].decode("ascii")] = _parse(said[at : at + size])
        at += size + 1
    return commits


def _parse(text: bytes) -> Commit:
    head, _, message = text.partition(b"\n\n")
    parents: list[str] = []
    when = 0
    for line in head.split(b"\n"):
        if line.startswith(b"parent "):
            parents.append(line[7:].decode("ascii", "replace"))
        elif line.startswith(b"committer "):
            words = line.split(b" ")
            when = int(words[-2]) if len(words) > 2 and words[-2].lstrip(b"-").isdigit() else 0
    return Commit(tuple(parents), when, message.split(b"\n", 1)[0])


def find_ancestors(commits: Mapping[str, Commit], tips: Iterable[str]) -> set[str]:
    """Return the readable commits reachable from `tips`, themselves included."""
    seen: set[str] = set()
    waiting = [tip for tip in tips if tip in commits]
    while waiting:
        id = waiting.pop()
        if id not in seen:
            seen.add(id)
            waiting.extend(parent for parent in commits[id].parents if parent in commits)
    return seen


def count_histories(commits: Mapping[str, Commit]) -> dict[str, int]:
    """Return for each commit how many readable commits its history has, itself included."""
    sizes: dict[str, int] = {}
    for start in commits:
        waiting = [start]
        while waiting:
            id = waiting[-1]
            parents = [parent for parent in commits[id].parents if parent in commits]
            unknown = [parent for parent in parents if parent not in sizes]
            if id in sizes:
                waiting.pop()
            elif unknown:
                waiting.extend(unknown)
            elif len(parents) < 2:
                sizes[id] = 1 + (sizes[parents[0]] if parents else 0)
            else:
                # Histories of a merge's parents overlap: count the set.
                sizes[id] = len(find_ancestors(commits, [id]))
    return sizes


def find_stashes(commits: Mapping[str, Commit]) -> set[str]:
    """Return what `git stash` made: work set aside, never a state of a branch.

    Such a commit's second parent holds the index and has the first as its parent.
    """
    found: set[str] = set()
    for id, commit in commits.items():
        if len(commit.parents) < 2:
            continue
        first, second, *rest = commit.parents
        index = commits.get(second)
        if index and index.parents == (first,) and index.subject.startswith(b"index on "):
            found.update((id, second, *rest))
    return found


def rank_tips(
    commits: Mapping[str, Commit], log: Sequence[str], elsewhere: AbstractSet[str]
) -> tuple[str, ...]:
    """Return what a lost branch may have been at, the likeliest first.

    `log` are the ids its reflog tells, oldest first; `elsewhere` what is
    reachable from the owner's other branches, tags and stashes. Commits that
    contain the newest readable one of the log and that no other name holds come
    first, it included; then all that no other name holds, then all. Within each,
    the most history wins. What `git stash` made is never taken.
    """
    usable = commits.keys() - find_stashes(commits)
    sizes = count_histories(commits)
    logged = {id: number for number, id in enumerate(log) if id in usable}
    base = max(logged, key=lambda id: logged[id], default=None)
    apart = {id for id in usable if id not in elsewhere} | ({base} if base is not None else set())
    heirs = _find_heirs(commits, base) & apart if base is not None else set()

    def order(id: str) -> tuple[bool, bool, int, int, int, str]:
        commit = commits[id]
        return (
            id in heirs,
            id in apart,
            sizes[id],
            logged.get(id, -1),
            commit.when,
            id,
        )

    return tuple(sorted(usable, key=order, reverse=True))


def _find_heirs(commits: Mapping[str, Commit], base: str) -> set[str]:
    """Return `base` and the commits that have it in their history."""
    children: dict[str, list[str]] = {}
    for id, commit in commits.items():
        for parent in commit.parents:
            children.setdefault(parent, []).append(id)
    seen: set[str] = set()
    waiting = [base]
    while waiting:
        id = waiting.pop()
        if id not in seen:
            seen.add(id)
            waiting.extend(children.get(id, ()))
    return seen
