"""Look through git's folder file by file, and set damage aside without deleting any.

Nothing here runs git, follows a link or waits on a pipe. What is set aside
keeps its place below `.git/tailsheaf/rescue/<time>/`.
"""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from register.storage import names
from register.storage.disk import (
    NotPlainFileError,
    disk_error,
    flush_folder,
    kind_of,
    read_plain_file,
    write_new_file,
    write_temporary,
)
from register.storage.keeping import GIT_FOLDER, KEEPING, make_keeping_folder
from register.storage.scratch import passing_folder, scratch_folder

RESCUE = "rescue"
_MENDING = "mending"
_LARGEST = 256 * 1024 * 1024
# The owner's other work trees and submodules are repositories of their own.
_NOT_OURS = ("tailsheaf", "worktrees", "modules", "lfs")


class GitFile(Struct, frozen=True):
    """A file below `.git`: fleet-relative path, kind, size in bytes, time of last change."""

    path: str
    kind: str
    size: int
    changed: float


def list_git_files(root: Path) -> tuple[GitFile, ...]:
    """Return every file below `.git`, sorted, without this program's own folder.

    Links are listed and not followed; a folder that cannot be listed is left out.
    """
    found: list[GitFile] = []
    waiting = [GIT_FOLDER]
    while waiting:
        folder = waiting.pop()
        for entry in _entries(root / folder):
            path = f"{folder}/{entry.name}"
            if entry.is_dir(follow_symlinks=False):
                if folder != GIT_FOLDER or entry.name not in _NOT_OURS:
                    waiting.append(path)
                continue
            with contextlib.suppress(OSError):
                status = entry.stat(follow_symlinks=False)
                kind = "file" if stat.S_ISREG(status.st_mode) else "other"
                kind = "link" if entry.is_symlink() else kind
                found.append(GitFile(path, kind, status.st_size, status.st_mtime))
    return tuple(sorted(found, key=lambda file: file.path))


def list_work_files(root: Path) -> tuple[str, ...]:
    """Return every plain file of the fleet outside `.git`, sorted, following no link."""
    found: list[str] = []
    waiting = [""]
    while waiting:
        folder = waiting.pop()
        for entry in _entries(root / folder):
            path = f"{folder}/{entry.name}" if folder else entry.name
            if entry.is_dir(follow_symlinks=False):
                if entry.name.casefold() != GIT_FOLDER:
                    waiting.append(path)
            elif entry.is_file(follow_symlinks=False):
                found.append(path)
    return tuple(sorted(found))


def list_left_temporaries(root: Path) -> tuple[str, ...]:
    """Return this program's temporary files, in the fleet, below `.git` and in its own folder.

    While the fleet's lock is held, each of them is a dead writer's.
    """
    there = (*list_work_files(root), *(file.path for file in list_git_files(root)))
    found = [path for path in there if names.is_temporary(path.rpartition("/")[2])]
    for folder in (KEEPING, f"{KEEPING}/pending"):
        found.extend(
            f"{folder}/{entry.name}"
            for entry in _entries(root / folder)
            if names.is_temporary(entry.name)
        )
    return tuple(sorted(found))


def read_any(root: Path, path: str) -> bytes | None:
    """Return a plain file's bytes, or None where it is not there, not plain or not readable."""
    try:
        return read_plain_file(root / path, _LARGEST)
    except (OSError, NotPlainFileError):
        return None


def changed_at(root: Path, path: str) -> float:
    """When a file was last changed, by the clock of whoever did; 0 where that cannot be told."""
    try:
        return os.lstat(root / path).st_mtime
    except OSError:
        return 0.0


def choose_rescue(root: Path, stamp: str) -> str:
    """Return a name below the rescue folder that is not taken, beginning with `stamp`."""
    base = root / KEEPING / RESCUE
    name, number = stamp, 1
    while kind_of(base / name) != "absent":
        number += 1
        name = f"{stamp}-{number}"
    return name


def set_aside(root: Path, path: str, rescue: str) -> str | None:
    """Move a file to the rescue folder `rescue`; return where it is now.

    None where it is gone. Raises RegisterError where the system refuses.
    """
    target = _place(root, path, rescue)
    try:
        (root / path).rename(target)
        flush_folder(target.parent)
        flush_folder((root / path).parent)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise disk_error(error, f"move {path} to {KEEPING}/{RESCUE}") from error
    return target.relative_to(root).as_posix()


def keep_copy(root: Path, path: str, rescue: str) -> str | None:
    """Copy a plain file to the rescue folder; None where there is nothing to copy."""
    data = read_any(root, path)
    if data is None:
        return None
    target = _place(root, path, rescue)
    try:
        write_new_file(target, data)
        flush_folder(target.parent)
    except OSError as error:
        raise disk_error(error, f"copy {path} to {KEEPING}/{RESCUE}") from error
    return target.relative_to(root).as_posix()


def replace_git_file(root: Path, path: str, data: bytes) -> None:
    """Write a file below `.git`, whole and flushed, making the folders on the way."""
    target = root / path
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        write_temporary(target.parent, data).replace(target)
        flush_folder(target.parent)
    except OSError as error:
        raise disk_error(error, f"write {path}") from error


def make_git_folder(root: Path, path: str) -> None:
    """Make a folder below `.git` that git does not work without."""
    try:
        (root / path).mkdir(parents=True, exist_ok=True)
        flush_folder((root / path).parent)
    except OSError as error:
        raise disk_error(error, f"make the folder {path}") from error


def copy_git_folder(root: Path, rescue: str) -> tuple[str, tuple[str, ...]]:
    """Copy `.git`, but for what was rescued before, to `<rescue>/git-as-it-was`.

    Returns the copy's place and what could not be copied (an unreadable file,
    a link, a pipe). Raises RegisterError where the disk has no room.
    """
    folder = make_keeping_folder(root, RESCUE, rescue)
    target = folder / "git-as-it-was"
    left: list[str] = []
    try:
        _copy_below(root / GIT_FOLDER, target, left, GIT_FOLDER)
        # One flush for all: thousands of single ones would take minutes.
        getattr(os, "sync", lambda: None)()
    except OSError as error:
        raise disk_error(error, f"copy {GIT_FOLDER} aside") from error
    return target.relative_to(root).as_posix(), tuple(sorted(left))


def _copy_below(source: Path, target: Path, left: list[str], path: str) -> None:
    target.mkdir()
    for entry in _entries(source):
        name = f"{path}/{entry.name}"
        if name in (f"{KEEPING}/{RESCUE}", f"{KEEPING}/{_MENDING}"):
            continue
        if entry.is_dir(follow_symlinks=False):
            _copy_below(source / entry.name, target / entry.name, left, name)
            continue
        try:
            data = read_plain_file(entry.path)
        except OSError:
            data = None
        if data is None:
            left.append(name)
        else:
            (target / entry.name).write_bytes(data)


@contextlib.contextmanager
def bare_view(root: Path, hidden: frozenset[str], config: str, *, acts: bool) -> Iterator[Path]:
    """Give an empty git folder of our own that borrows the fleet's objects.

    It holds none of the fleet's configuration, refs or hooks, so git can be
    asked whatever state those are in. `hidden` are paths of objects that git is
    not to see. What git writes goes into the folder's own `objects`; it is
    removed afterwards. It lies in the program's own folder where `acts`, else in
    the system's for such, and the fleet is not touched.
    """
    with scratch_folder(root, _MENDING) if acts else passing_folder("view") as folder:
        try:
            _fill_view(root, folder, hidden, config)
        except OSError as error:
            raise disk_error(error, f"look through {GIT_FOLDER} from {folder}") from error
        yield folder


def _fill_view(root: Path, folder: Path, hidden: frozenset[str], config: str) -> None:
    for name in ("refs", "objects", "objects/info"):
        (folder / name).mkdir()
    seen = root.absolute() / GIT_FOLDER / "objects"
    if hidden:
        seen = folder / "seen"
        _link_objects(root, seen, hidden)
    (folder / "HEAD").write_bytes(b"ref: refs/heads/none\n")
    (folder / "config").write_bytes(config.encode("ascii"))
    shallow = read_any(root, f"{GIT_FOLDER}/shallow")
    if shallow is not None:
        # A clone cut short on purpose lacks nothing before its cut.
        (folder / "shallow").write_bytes(shallow)
    (folder / "objects/info/alternates").write_bytes(os.fsencode(seen) + b"\n")


def _link_objects(root: Path, target: Path, hidden: frozenset[str]) -> None:
    target.mkdir()
    folders = {path.rpartition("/")[0] for path in hidden}
    base = f"{GIT_FOLDER}/objects"
    for entry in _entries(root / base):
        path = f"{base}/{entry.name}"
        if path not in folders:
            (target / entry.name).symlink_to(root.absolute() / path)
            continue
        (target / entry.name).mkdir()
        for inner in _entries(root / path):
            if f"{path}/{inner.name}" not in hidden:
                (target / entry.name / inner.name).symlink_to(Path(inner.path).absolute())


def _place(root: Path, path: str, rescue: str) -> Path:
    """Return a free name in the rescue folder that tells where the file was."""
    inside = path.removeprefix(f"{GIT_FOLDER}/")
    *folders, last = ["git" if inside != path else "fleet", *inside.split("/")]
    folder = make_keeping_folder(root, RESCUE, rescue, *folders)
    target, number = folder / last, 1
    while kind_of(target) != "absent":
        number += 1
        target = folder / f"{last}.{number}"
    return target


def _entries(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as listing:
            return sorted(listing, key=lambda entry: entry.name)
    except OSError:
        return []
