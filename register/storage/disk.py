"""The few calls that every other module of this room builds on.

Nothing here follows a symbolic link, waits on a pipe, or returns before the
bytes it wrote are on the disk.
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
from pathlib import Path

from register.storage.names import TEMPORARY_END, TEMPORARY_START
from register.trouble import Exit, RegisterError

_BLOCK = 32 * 1024
# Absent flags are 0: on systems without them the caller's lstat decides.
_BINARY = getattr(os, "O_BINARY", 0)
_CLOEXEC = getattr(os, "O_CLOEXEC", 0)
_NOFOLLOW = getattr(os, "O_NOFOLLOW", 0)
_NONBLOCK = getattr(os, "O_NONBLOCK", 0)
_READ = os.O_RDONLY | _BINARY | _CLOEXEC | _NOFOLLOW | _NONBLOCK
_CREATE = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY | _CLOEXEC | _NOFOLLOW

_PLAIN_WORDS = {
    errno.ENOSPC: ("the disk is full", "make room on the disk, then repeat the line"),
    errno.EDQUOT: ("your disk quota is used up", "make room, then repeat the line"),
    errno.EFBIG: (
        "the file is larger than the system lets you write",
        "raise that limit or write less at once, then repeat the line",
    ),
    errno.EROFS: (
        "the disk is read-only",
        "make the disk writable or copy the fleet elsewhere, then repeat the line",
    ),
    errno.EACCES: (
        "permission is missing",
        "give yourself read and write permission there, then repeat the line",
    ),
    errno.EPERM: (
        "the system does not permit it",
        "give yourself read and write permission there, then repeat the line",
    ),
    errno.ENAMETOOLONG: ("the name is too long", "use a shorter name"),
    errno.EIO: (
        "the disk reports an error",
        "copy the fleet to another disk before going on",
    ),
}


class NotPlainFileError(OSError):
    """The name stands for a link, folder, pipe, socket or device."""


def disk_error(error: OSError, doing: str) -> RegisterError:
    """Return the error to raise when the system refuses `doing`, in plain words."""
    words, mend = _PLAIN_WORDS.get(
        error.errno or 0,
        (
            (error.strerror or "the system refuses").lower(),
            "look at the folder and the disk, then repeat the line",
        ),
    )
    return RegisterError(
        f"cannot {doing}: {words}",
        mend=mend,
        exit_code=Exit.CANNOT_RUN,
        code="disk",
    )


def read_plain_file(path: str | Path, limit: int | None = None) -> bytes | None:
    """Return the bytes of a regular file, or None where it is larger than `limit`.

    Raises NotPlainFileError for anything but a regular file (never waits on a
    pipe, never follows a link) and OSError for whatever the system says.
    """
    handle = _open_for_reading(path)
    try:
        size = _size_of_plain(handle)
        if limit is not None and size > limit:
            return None
        data = _read_all(handle, size)
    finally:
        os.close(handle)
    return None if limit is not None and len(data) > limit else data


def open_plain_file(path: str | Path, limit: int) -> int | None:
    """Open a regular file to be read piece by piece, or None where it is larger than `limit`.

    The caller closes the handle. Raises as read_plain_file does.
    """
    handle = _open_for_reading(path)
    try:
        fits = _size_of_plain(handle) <= limit
    except OSError:
        os.close(handle)
        raise
    if not fits:
        os.close(handle)
    return handle if fits else None


def read_start(handle: int, limit: int) -> bytes:
    """The first bytes of an open file."""
    os.lseek(handle, 0, os.SEEK_SET)
    return os.read(handle, limit)


def stand_at(handle: int, place: int) -> None:
    """The next reader of an open file begins there, a program given it too."""
    os.lseek(handle, place, os.SEEK_SET)


def _open_for_reading(path: str | Path) -> int:
    try:
        return os.open(path, _READ)
    except OSError as error:
        # Linux and macOS say ELOOP for a link, the BSDs EMLINK; a socket is ENXIO.
        if error.errno in (errno.ELOOP, errno.EMLINK, errno.ENXIO):
            raise NotPlainFileError(error.errno, "not a plain file") from error
        raise


def _size_of_plain(handle: int) -> int:
    status = os.fstat(handle)
    if not stat.S_ISREG(status.st_mode):
        raise NotPlainFileError(errno.EINVAL, "not a plain file")
    return status.st_size


def _read_all(handle: int, size: int) -> bytes:
    """Read to the end; a file still of the size it told takes one read."""
    first = os.read(handle, min(size + 1, _BLOCK))
    if len(first) == size or not first:
        return first
    blocks = [first]
    while block := os.read(handle, _BLOCK):
        blocks.append(block)
    return b"".join(blocks)


def write_temporary(folder: Path, data: bytes, mode: int | None = None) -> Path:
    """Write `data` to a new temporary file of `folder`, on the disk when it returns.

    `mode` sets the permission bits; without it the user's usual ones hold.
    The half-written file is removed if the system refuses.
    """
    path = folder / f"{TEMPORARY_START}{secrets.token_hex(8)}{TEMPORARY_END}"
    write_new_file(path, data)
    if mode is not None:
        # A file system without permissions is no reason to refuse a record.
        with contextlib.suppress(OSError):
            path.chmod(mode)
    return path


def write_new_file(path: Path, data: bytes) -> None:
    """Create `path` with `data` and flush it. FileExistsError where it exists."""
    handle = create_new(path)
    try:
        try:
            rest = memoryview(data)
            while rest:
                rest = rest[os.write(handle, rest) :]
            os.fsync(handle)
        finally:
            os.close(handle)
    except BaseException:
        with contextlib.suppress(OSError):
            path.unlink()
        raise


def create_new(path: Path) -> int:
    """Create a file to be written piece by piece; the caller closes the handle.

    FileExistsError where it exists.
    """
    return os.open(path, _CREATE, 0o666)


def flush_folder(folder: Path) -> None:
    """Put a folder's list of names on the disk, where the system can."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY | _CLOEXEC | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError as error:
        # Some network and FUSE file systems cannot flush a folder at all.
        if error.errno not in (errno.EINVAL, errno.ENOTSUP, errno.EBADF):
            raise
    finally:
        os.close(handle)


def kind_of(path: str | Path) -> str:
    """Return `absent`, `file`, `folder`, `link` or `other`, following nothing."""
    try:
        mode = os.lstat(path).st_mode
    except (FileNotFoundError, NotADirectoryError):
        return "absent"
    if stat.S_ISREG(mode):
        return "file"
    if stat.S_ISDIR(mode):
        return "folder"
    return "link" if stat.S_ISLNK(mode) else "other"


def resolve_path(path: str | Path) -> Path:
    """Where a path leads. A link that leads to itself stays as it is: pathlib calls it a fault."""
    return Path(os.path.realpath(path))


def is_folder(path: str | Path) -> bool:
    """Whether a folder, or a link to one, is there; what cannot be looked at is none."""
    try:
        return stat.S_ISDIR(os.stat(path).st_mode)
    except (OSError, ValueError):
        return False
