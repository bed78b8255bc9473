"""What a look at the fleet's folder has gathered: files as read, and what was odd about them."""

from __future__ import annotations

import time
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from register.storage import names
from register.storage.answers import RACY_NS
from register.trouble import Level, Place, Problem


class Stamp(NamedTuple):
    """Size, times of change in nanoseconds, and number of a file."""

    size: int
    changed: int
    noted: int
    inode: int

    def is_settled(self, taken: int) -> bool:
        """Whether a later change would show: the stamp was old enough when taken."""
        return max(self.changed, self.noted) + RACY_NS < taken


NO_STAMP = Stamp(-1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A record file as read: fleet-relative path with `/`, and its bytes.

    `stamp` is what the system said of the file before it was read at `taken`
    (nanoseconds): a file read before is not read again while its stamp is the same.
    """

    path: str
    data: bytes
    stamp: Stamp = field(default=NO_STAMP, compare=False)
    taken: int = field(default=0, compare=False)


@dataclass(slots=True)
class Found:
    """What a walk has gathered so far; `known` are files read before, by path."""

    known: Mapping[str, SourceFile] = field(default_factory=dict)
    taken: int = field(default_factory=time.time_ns)
    files: list[SourceFile] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    sheaves: list[str] = field(default_factory=list)

    def add(self, path: str, code: str, says: str, mend: str, level: Level) -> None:
        self.problems.append(Problem(Place(path), code, says, mend, level))

    def add_unread(self, path: str, says: str, mend: str) -> None:
        self.add(path, "file-not-read", says, mend, "error")

    def sorted(self) -> tuple[tuple[SourceFile, ...], tuple[Problem, ...]]:
        """The files in path order, the problems by place."""
        self.files.sort(key=lambda file: file.path)
        self.problems.sort(key=lambda problem: problem.order)
        return tuple(self.files), tuple(self.problems)


def report_kind(path: str, what: str, found: Found) -> None:
    found.add_unread(
        path,
        f"this is {what}, not a plain file of the fleet, and was not read",
        "put the record itself here as a plain file, or move this elsewhere",
    )


def report_odd(path: str, found: Found) -> None:
    if len(path) > names.LONGEST_PATH:
        says = f"the path is longer than {names.LONGEST_PATH} characters"
    else:
        says = "the name is one that not every system can hold"
    found.add(
        path,
        "name-odd",
        f"{says}; it was read all the same",
        "rename it: lower-case letters a-z, digits, '-' and '.', not a device name",
        "warning",
    )


def report_misnamed(name: str, found: Found) -> None:
    found.add(
        name,
        "not-loaded",
        "the name differs from the fixed one and was not loaded",
        f"rename it to {names.fold_name(name)}",
        "warning",
    )


def report_copy(path: str, found: Found, siblings: Collection[str]) -> None:
    name = path.rpartition("/")[2]
    original = names.original_of(name)
    if original != name and original not in siblings:
        # Then it may hold the only text of that record, and answers are without it.
        found.add(
            path,
            "conflict-copy",
            "this looks like a second version left by a sync service; it was not loaded, and "
            "the file it was made from is not there",
            f"if it is the record, rename it to {original}, else move it out of the fleet",
            "error",
        )
        return
    found.add(
        path,
        "conflict-copy",
        "this looks like a second version left by a sync service or editor; not loaded",
        "compare it with the file it was copied from, keep what is right there, "
        "then move this one out of the fleet",
        "warning",
    )


def report_not_loaded(path: str, found: Found) -> None:
    if path.lower().endswith(".yml"):
        mend = f"if it is a record, rename it to {path[:-4]}.yaml"
    else:
        mend = "if it is a record, give it a plain name ending in .yaml and its folder"
    found.add(path, "not-loaded", "this was not loaded as a record", mend, "warning")
