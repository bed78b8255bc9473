"""Find a fleet and read every record file in it.

No link is followed, no pipe waited on, and nothing that could be a record is
left out without a problem that names it.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Mapping
from pathlib import Path

from register.storage import names
from register.storage.answers import SHEAVES
from register.storage.disk import (
    NotPlainFileError,
    disk_error,
    kind_of,
    read_plain_file,
)
from register.storage.gathered import (
    Found,
    SourceFile,
    Stamp,
    report_copy,
    report_kind,
    report_misnamed,
    report_not_loaded,
    report_odd,
)
from register.trouble import Place, Problem

FLEET_FILE = "fleet.yaml"
TOP_FILES = (FLEET_FILE, "private.yaml", "stock.yaml")
RECORD_FOLDERS = ("aircraft", "clashes", "kits", "papers", "parts", "programmes")
ATTACHMENTS = "attachments"
LARGEST_RECORD = 256 * 1024
"""Bytes. A record is a page of text; what is larger was not written as one."""


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
    found = Found(known or {})
    _read_rest(root, found)
    for folder in found.sheaves:
        _read_folder(root, folder, found)
    return found.sorted()


def read_rest(
    root: Path, known: Mapping[str, SourceFile]
) -> tuple[tuple[SourceFile, ...], tuple[Problem, ...], tuple[str, ...]]:
    """Read what lies outside the sheaves, as read_fleet does; also which sheaves there are.

    A sheaf is the folder of one aircraft or part.
    """
    found = Found(known)
    _read_rest(root, found)
    return *found.sorted(), tuple(sorted(found.sheaves))


def read_sheaf(
    root: Path, folder: str, known: Mapping[str, SourceFile]
) -> tuple[tuple[SourceFile, ...], tuple[Problem, ...]]:
    """Read the record files of one aircraft or part, as read_fleet does."""
    found = Found(known)
    _read_folder(root, folder, found)
    return found.sorted()


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


def list_attachments(root: Path, folder: str) -> tuple[str, ...]:
    """Paths of the files kept beside the records of one aircraft or part, sorted.

    What a file-sync service or this program leaves while it writes is not among them.
    """
    inner = f"{folder}/{names.ATTACHMENTS}"
    if _crosses_link(root, f"{inner}/"):
        return ()
    try:
        found = sorted(os.listdir(root / inner))
    except OSError:
        return ()
    paths = [f"{inner}/{name}" for name in found if not name.startswith(".")]
    return tuple(path for path in paths if kind_of(root / path) == "file")


def _crosses_link(root: Path, path: str) -> bool:
    """Whether a folder on the way to `path` is not a real folder of the fleet."""
    folder = root
    for part in path.split("/")[:-1]:
        folder = folder / part
        if kind_of(folder) not in ("folder", "absent"):
            return True
    return False


def _read_top(root: Path, found: Found) -> None:
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
                report_misnamed(name, found)
        elif entry.is_file(follow_symlinks=False) and not name.startswith("."):
            sort = names.sort_name(name, entries)
            if sort == "copy":
                report_copy(name, found, entries)
            elif sort != "nothing":
                report_not_loaded(name, found)


def _read_rest(root: Path, found: Found) -> None:
    _read_top(root, found)
    for folder in RECORD_FOLDERS:
        _read_below(root, folder, found)


def _read_below(root: Path, top: str, found: Found) -> None:
    kind = kind_of(root / top)
    if kind == "absent":
        return
    if kind != "folder":
        report_kind(top, "a link" if kind == "link" else "not a folder", found)
        return
    _read_folder(root, top, found)


def _read_folder(root: Path, top: str, found: Found) -> None:
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
                    (found.sheaves if folder in SHEAVES else waiting).append(path)
            else:
                _take_file(entry, path, entries, found)


def _may_enter(path: str, name: str, siblings: Collection[str], found: Found) -> bool:
    """Judge a folder by its name."""
    if name == ATTACHMENTS:
        return False
    if name.lower().endswith((".yaml", ".yml")):
        report_kind(path, "a folder", found)
        return False
    if names.is_marked_copy(name):
        report_copy(path, found, siblings)
        return False
    if name.startswith("."):
        report_not_loaded(path, found)
        return False
    if not names.is_plain(name):
        report_odd(path, found)
    return True


def _take_file(
    entry: os.DirEntry[str],
    path: str,
    siblings: dict[str, os.DirEntry[str]],
    found: Found,
) -> None:
    """Read what is a record, report what could be taken for one."""
    name = entry.name
    if names.is_plain_record(name) and len(path) <= names.LONGEST_PATH:
        _read_entry(entry, path, found)
        return
    sort = names.sort_name(name, siblings)
    if sort == "record":
        report_odd(path, found)
        _read_entry(entry, path, found)
    elif sort == "copy":
        report_copy(path, found, siblings)
    elif sort == "not-loaded":
        report_not_loaded(path, found)
    elif entry.is_symlink():
        # It may stand for a whole aircraft's folder.
        report_kind(path, "a link", found)


def _read_entry(entry: os.DirEntry[str], path: str, found: Found) -> None:
    if entry.is_symlink():
        report_kind(path, "a link", found)
        return
    if not entry.is_file(follow_symlinks=False):
        is_folder = entry.is_dir(follow_symlinks=False)
        report_kind(path, "a folder" if is_folder else "a pipe or device", found)
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
        report_kind(path, "a link, pipe or device", found)
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


def _check_clashes(folder: str, entries: dict[str, os.DirEntry[str]], found: Found) -> None:
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
