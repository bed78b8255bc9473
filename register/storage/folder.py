"""Find a fleet and read every record file in it.

No link is followed, no pipe waited on, and nothing that could be a record is
left out without a problem that names it.
"""

from __future__ import annotations

import os
import time
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from register.storage import names
from register.storage.answers import RACY_NS
from register.storage.disk import (
    NotPlainFileError,
    disk_error,
    kind_of,
    read_plain_file,
)
from register.trouble import Level, Place, Problem

FLEET_FILE = "fleet.yaml"
TOP_FILES = (FLEET_FILE, "private.yaml", "stock.yaml")
RECORD_FOLDERS = ("aircraft", "kits", "papers", "parts", "programmes")
ATTACHMENTS = "attachments"
LARGEST_RECORD = 256 * 1024
"""Bytes. A record is a page of text; what is larger was not written as one."""


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
class _Found:
    """What a walk has gathered so far; `known` are files read before, by path."""

    known: Mapping[str, SourceFile] = field(default_factory=dict)
    taken: int = field(default_factory=time.time_ns)
    files: list[SourceFile] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def add(self, path: str, code: str, says: str, mend: str, level: Level) -> None:
        self.problems.append(Problem(Place(path), code, says, mend, level))

    def add_unread(self, path: str, says: str, mend: str) -> None:
        self.add(path, "file-not-read", says, mend, "error")


def find_fleet(start: Path) -> Path | None:
    """Return the nearest folder, from `start` upwards, that holds a fleet.yaml.

    A fleet.yaml that is a link or a folder does not count.
    """
    here = start.absolute()
    for folder in (here, *here.parents):
        try:
            if kind_of(folder / FLEET_FILE) == "file":
                return folder
        except OSError:
            # A parent that may not be looked into cannot be the fleet.
            continue
    return None


def read_fleet(
    root: Path, known: Mapping[str, SourceFile] | None = None
) -> tuple[tuple[SourceFile, ...], tuple[Problem, ...]]:
    """Read every record file, in path order, and say what could not be read.

    A file in `known` whose stamp is the same, and was settled, is not opened again.

    Record files are fleet.yaml, private.yaml and stock.yaml at the top and all
    `.yaml` files below aircraft, kits, papers, parts and programmes, except
    below a folder named attachments. Raises RegisterError only where the
    fleet's own folder cannot be listed.
    """
    found = _Found(known or {})
    _read_top(root, found)
    for folder in RECORD_FOLDERS:
        _read_below(root, folder, found)
    found.files.sort(key=lambda file: file.path)
    found.problems.sort(key=lambda problem: problem.order)
    return tuple(found.files), tuple(found.problems)


def read_file(root: Path, path: str) -> bytes | None:
    """Return one file's bytes, or None where there is no plain file of that name.

    Raises RegisterError where the system refuses to read it.
    """
    if _crosses_link(root, path):
        return None
    try:
        return read_plain_file(root / path)
    except (FileNotFoundError, NotADirectoryError, NotPlainFileError):
        return None
    except IsADirectoryError:
        return None
    except OSError as error:
        raise disk_error(error, f"read {path}") from error


def exists(root: Path, path: str) -> bool:
    """Whether anything of that name exists, be it a link that leads nowhere."""
    try:
        return kind_of(root / path) != "absent"
    except OSError as error:
        raise disk_error(error, f"look at {path}") from error


def find_above(start: Path, name: str) -> Path | None:
    """Return the nearest folder, from `start` upwards, holding `name` of any kind."""
    here = start.absolute()
    for folder in (here, *here.parents):
        if os.path.lexists(folder / name):
            return folder
    return None


def list_temporaries(root: Path, folder: str) -> tuple[str, ...]:
    """Return the paths of this program's temporary files in one folder.

    While the fleet's lock is held, each of them is a dead writer's.
    """
    try:
        found = sorted(os.listdir(root / folder))
    except OSError:
        return ()
    prefix = f"{folder}/" if folder else ""
    return tuple(prefix + name for name in found if names.is_temporary(name))


def _crosses_link(root: Path, path: str) -> bool:
    """Whether a folder on the way to `path` is not a real folder of the fleet."""
    folder = root
    for part in path.split("/")[:-1]:
        folder = folder / part
        if kind_of(folder) not in ("folder", "absent"):
            return True
    return False


def _read_top(root: Path, found: _Found) -> None:
    try:
        with os.scandir(root) as listing:
            entries = {entry.name: entry for entry in listing}
    except OSError as error:
        raise disk_error(error, "list the fleet's folder") from error
    for name, entry in entries.items():
        if name in TOP_FILES:
            _read_entry(entry, name, found)
        elif names.fold_name(name) in (*TOP_FILES, *RECORD_FOLDERS):
            if name not in RECORD_FOLDERS:
                _report_misnamed(name, found)
        elif entry.is_file(follow_symlinks=False) and not name.startswith("."):
            sort = names.sort_name(name, entries)
            if sort == "copy":
                _report_copy(name, found, entries)
            elif sort != "nothing":
                _report_not_loaded(name, found)


def _read_below(root: Path, top: str, found: _Found) -> None:
    kind = kind_of(root / top)
    if kind == "absent":
        return
    if kind != "folder":
        _report_kind(top, "a link" if kind == "link" else "not a folder", found)
        return
    waiting = [top]
    while waiting:
        folder = waiting.pop()
        try:
            with os.scandir(root / folder) as listing:
                entries = {entry.name: entry for entry in listing}
        except OSError as error:
            refused = disk_error(error, "list this folder")
            found.add_unread(folder, refused.says, refused.mend)
            continue
        _check_clashes(folder, entries, found)
        for entry in entries.values():
            path = f"{folder}/{entry.name}"
            if entry.is_dir(follow_symlinks=False):
                if _may_enter(path, entry.name, entries, found):
                    waiting.append(path)
            else:
                _take_file(entry, path, entries, found)


def _may_enter(path: str, name: str, siblings: Collection[str], found: _Found) -> bool:
    """Judge a folder by its name."""
    if name == ATTACHMENTS:
        return False
    if name.lower().endswith((".yaml", ".yml")):
        _report_kind(path, "a folder", found)
        return False
    if names.is_marked_copy(name):
        _report_copy(path, found, siblings)
        return False
    if name.startswith("."):
        _report_not_loaded(path, found)
        return False
    if not names.is_plain(name):
        _report_odd(path, found)
    return True


def _take_file(
    entry: os.DirEntry[str],
    path: str,
    siblings: dict[str, os.DirEntry[str]],
    found: _Found,
) -> None:
    """Read what is a record, report what could be taken for one."""
    name = entry.name
    if names.is_plain_record(name) and len(path) <= names.LONGEST_PATH:
        _read_entry(entry, path, found)
        return
    sort = names.sort_name(name, siblings)
    if sort == "record":
        _report_odd(path, found)
        _read_entry(entry, path, found)
    elif sort == "copy":
        _report_copy(path, found, siblings)
    elif sort == "not-loaded":
        _report_not_loaded(path, found)
    elif entry.is_symlink():
        # It may stand for a whole aircraft's folder.
        _report_kind(path, "a link", found)


def _read_entry(entry: os.DirEntry[str], path: str, found: _Found) -> None:
    if entry.is_symlink():
        _report_kind(path, "a link", found)
        return
    if not entry.is_file(follow_symlinks=False):
        is_folder = entry.is_dir(follow_symlinks=False)
        _report_kind(path, "a folder" if is_folder else "a pipe or device", found)
        return
    try:
        stat = entry.stat(follow_symlinks=False)
        stamp = Stamp(stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns, stat.st_ino)
        known = found.known.get(path)
        if known is not None and known.stamp == stamp and stamp.is_settled(known.taken):
            found.files.append(known)
            return
        data = read_plain_file(entry.path, LARGEST_RECORD)
    except NotPlainFileError:
        _report_kind(path, "a link, pipe or device", found)
    except OSError as error:
        refused = disk_error(error, "read this file")
        found.add_unread(path, refused.says, refused.mend)
    else:
        if data is None:
            found.add(
                path,
                "file-too-large",
                f"the file is larger than {LARGEST_RECORD // 1024} KB and was not read",
                "move what is not part of the record to an attachments folder",
                "error",
            )
        else:
            found.files.append(SourceFile(path, data, stamp, found.taken))


def _check_clashes(folder: str, entries: dict[str, os.DirEntry[str]], found: _Found) -> None:
    """Report names that are one name on a file system that folds case or accents."""
    # Names in lower-case ASCII fold to themselves: most folders stop here.
    if all(name.isascii() and name == name.lower() for name in entries):
        return
    first: dict[str, str] = {}
    for name in sorted(entries):
        other = first.setdefault(names.fold_name(name), name)
        if other != name:
            place = Place(f"{folder}/{name}")
            found.problems.append(
                Problem(
                    place,
                    "name-clash",
                    f"on some systems this is the same name as {folder}/{other}",
                    "give one of the two another name in lower-case letters",
                    related=(Place(f"{folder}/{other}"),),
                )
            )


def _report_kind(path: str, what: str, found: _Found) -> None:
    found.add_unread(
        path,
        f"this is {what}, not a plain file of the fleet, and was not read",
        "put the record itself here as a plain file, or move this elsewhere",
    )


def _report_odd(path: str, found: _Found) -> None:
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


def _report_misnamed(name: str, found: _Found) -> None:
    found.add(
        name,
        "not-loaded",
        "the name differs from the fixed one and was not loaded",
        f"rename it to {names.fold_name(name)}",
        "warning",
    )


def _report_copy(path: str, found: _Found, siblings: Collection[str]) -> None:
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


def _report_not_loaded(path: str, found: _Found) -> None:
    if path.lower().endswith(".yml"):
        mend = f"if it is a record, rename it to {path[:-4]}.yaml"
    else:
        mend = "if it is a record, give it a plain name ending in .yaml and its folder"
    found.add(path, "not-loaded", "this was not loaded as a record", mend, "warning")
