"""The program's own folder inside git's: `.git/tailsheaf`.

It holds the marker, the lock, the journal, the machine's name and what was
rescued. Nothing in it is ever committed or carried to another machine.
"""

from __future__ import annotations

import contextlib
import os
import secrets
from pathlib import Path

from register.storage.disk import (
    NotPlainFileError,
    disk_error,
    flush_folder,
    kind_of,
    read_plain_file,
    write_temporary,
)
from register.storage.names import is_temporary
from register.trouble import Exit, RegisterError

GIT_FOLDER = ".git"
KEEPING = f"{GIT_FOLDER}/tailsheaf"
_LARGEST = 16 * 1024 * 1024
# git's own locks that a killed git child of ours can leave behind.
_GIT_LOCKS = ("index.lock", "HEAD.lock", "packed-refs.lock")
# Seconds. A write is over within this time or was given up.
_WRITE_LASTS = 60.0


def has_own_git(root: Path) -> bool:
    """Whether git's folder lies directly in `root` and is a whole one.

    A `.git` that is a file or link, or that borrows from another repository
    (a linked work tree), is not the fleet's own.
    """
    folder = root / GIT_FOLDER
    try:
        return (
            kind_of(folder) == "folder"
            and kind_of(folder / "HEAD") == "file"
            and kind_of(folder / "commondir") == "absent"
        )
    except OSError:
        return False


def has_git_folder(root: Path) -> bool:
    """Whether git's folder lies directly in `root` and borrows from no other.

    Unlike has_own_git this holds where HEAD is missing: it is the fleet's, and damaged.
    """
    folder = root / GIT_FOLDER
    try:
        return kind_of(folder) == "folder" and kind_of(folder / "commondir") == "absent"
    except OSError:
        return False


def read_git_file(root: Path, name: str) -> bytes | None:
    """Return a file of git's folder, such as `HEAD`, or None where there is none."""
    return _read(root / GIT_FOLDER / name, f"read {GIT_FOLDER}/{name}")


def write_git_file(root: Path, name: str, data: bytes) -> None:
    """Write a file of git's folder, whole and flushed."""
    folder = root / GIT_FOLDER
    try:
        write_temporary(folder, data).replace(folder / name)
        flush_folder(folder)
    except OSError as error:
        raise disk_error(error, f"write {GIT_FOLDER}/{name}") from error


def read_kept(root: Path, name: str) -> bytes | None:
    """Return one of the program's own files, or None where there is none."""
    return _read(root / KEEPING / name, f"read {KEEPING}/{name}")


def write_kept(root: Path, name: str, data: bytes) -> None:
    """Write one of the program's own files, whole and flushed."""
    *folders, last = name.split("/")
    folder = make_keeping_folder(root, *folders)
    try:
        write_temporary(folder, data).replace(folder / last)
        flush_folder(folder)
    except OSError as error:
        raise disk_error(error, f"write {KEEPING}/{name}") from error


def remove_kept(root: Path, name: str) -> None:
    """Remove one of the program's own files; one that is gone is no trouble."""
    path = root / KEEPING / name
    try:
        path.unlink()
        flush_folder(path.parent)
    except FileNotFoundError:
        return
    except OSError as error:
        raise disk_error(error, f"remove {KEEPING}/{name}") from error


def list_kept(root: Path, folder: str) -> tuple[str, ...]:
    """Return the names in one of the program's own folders, sorted."""
    try:
        return tuple(sorted(os.listdir(root / KEEPING / folder)))
    except (FileNotFoundError, NotADirectoryError):
        return ()
    except OSError as error:
        raise disk_error(error, f"list {KEEPING}/{folder}") from error


def list_times(root: Path, folder: str) -> list[float]:
    """Return when each file of one of the program's own folders last changed."""
    times = (changed_at(root / KEEPING / folder / name) for name in list_kept(root, folder))
    return [when for when in times if when is not None]


def make_keeping_folder(root: Path, *parts: str) -> Path:
    """Make and return `.git/tailsheaf/<parts>`. Never goes through a link."""
    folder = root / GIT_FOLDER
    try:
        for part in ("tailsheaf", *parts):
            parent, folder = folder, folder / part
            if kind_of(folder) == "absent":
                with contextlib.suppress(FileExistsError):
                    folder.mkdir()
                flush_folder(parent)
            if kind_of(folder) != "folder":
                raise RegisterError(
                    f"{folder.relative_to(root).as_posix()} is not a real folder",
                    mend="move it elsewhere, then repeat the line",
                    exit_code=Exit.REFUSED,
                    code="path-not-ours",
                )
    except OSError as error:
        raise disk_error(error, f"make the folder {KEEPING}") from error
    return folder


def move_to_rescue(root: Path, path: str) -> str | None:
    """Move a left-over file to `.git/tailsheaf/rescue`, return its name there.

    Nothing is deleted and nothing in the rescue folder overwritten. None where
    the file is gone.
    """
    folder = make_keeping_folder(root, "rescue")
    name = f"{secrets.token_hex(4)}-{path.rpartition('/')[2]}"
    try:
        (root / path).replace(folder / name)
        flush_folder(folder)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise disk_error(error, f"move {path} to {KEEPING}/rescue") from error
    return name


def rescue_temporaries(root: Path) -> None:
    """Move aside the temporary files a dead writer left in the program's own folder.

    The fleet's lock must be held: a living writer's are here too.
    """
    for folder in ("", "pending"):
        for name in list_kept(root, folder):
            if is_temporary(name):
                move_to_rescue(root, "/".join(part for part in (KEEPING, folder, name) if part))


def find_left_locks(root: Path, branch: str, entry: str) -> tuple[str, ...]:
    """Return git's locks that the writer of journal file `entry` left behind.

    git cannot say who holds a lock. One that appeared within a minute of a
    journal entry whose writer is dead is taken to be that writer's; any other
    is somebody else's and stays.
    """
    began = changed_at(root / KEEPING / entry)
    names = (f"{GIT_FOLDER}/{name}" for name in (*_GIT_LOCKS, f"refs/heads/{branch}.lock"))
    return tuple(name for name in names if is_left_since(root / name, began))


def is_left_since(lock: Path, began: float | None) -> bool:
    """Whether a lock is there that appeared within a minute of a time, where one is given."""
    when = None if began is None else changed_at(lock)
    return when is not None and began is not None and 0.0 <= when - began <= _WRITE_LASTS


def noted_at(root: Path, entry: str) -> float | None:
    """When a file of the program's own was last written, by the disk's clock; None without it."""
    return changed_at(root / KEEPING / entry)


def take_lock_away(lock: Path) -> None:
    """Remove a lock of git's, by this program left, from a folder beside the fleet.

    Where the disk refuses it stays, and is found again.
    """
    with contextlib.suppress(OSError):
        lock.unlink()


def stamp_of(program: str) -> str:
    """Return words that change when the program's file does."""
    try:
        status = Path(program).stat()
    except OSError as error:
        raise disk_error(error, f"look at {program}") from error
    return f"{program} {status.st_size} {status.st_mtime_ns}"


def changed_at(path: Path) -> float | None:
    try:
        return os.lstat(path).st_mtime
    except OSError:
        return None


def _read(path: Path, doing: str) -> bytes | None:
    try:
        return read_plain_file(path, _LARGEST)
    except (FileNotFoundError, NotADirectoryError, NotPlainFileError):
        return None
    except OSError as error:
        raise disk_error(error, doing) from error
