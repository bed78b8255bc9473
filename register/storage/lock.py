"""One writer at a time: a lock that the system releases when its holder dies."""

from __future__ import annotations

import contextlib
import errno
import os
import platform
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from register.storage.disk import disk_error
from register.storage.keeping import GIT_FOLDER, make_keeping_folder
from register.trouble import Exit, RegisterError

OUTSIDE_LOCK = ".tailsheaf-lock"
"""The lock's name where the fleet has no `.git` folder."""

_FIRST_PAUSE = 0.01
_LONGEST_PAUSE = 0.1
_CLOEXEC = getattr(os, "O_CLOEXEC", 0)
_FLAGS = (
    os.O_RDWR | os.O_CREAT | _CLOEXEC | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
)


@contextlib.contextmanager
def fleet_lock(root: Path, *, wait_seconds: float = 10.0) -> Iterator[None]:
    """Hold the fleet's lock, waiting up to `wait_seconds` for another writer.

    Raises RegisterError: REFUSED `busy` when the wait was in vain, CANNOT_RUN
    where the lock's file cannot be made.
    """
    path = _lock_path(root)
    try:
        handle = os.open(path, _FLAGS, 0o666)
    except OSError as error:
        raise disk_error(error, "lock the fleet for writing") from error
    try:
        _wait_for(handle, wait_seconds)
        try:
            _write_holder(handle)
            yield
        finally:
            _release(handle)
    finally:
        os.close(handle)


def take_hold(path: Path) -> int | None:
    """Open a file or folder and hold it as long as the handle is open, or this process lives.

    None where the system cannot say who holds what. Raises BlockingIOError where another
    process holds it, OSError where it cannot be opened.
    """
    if sys.platform == "win32":
        return None
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | _CLOEXEC)
    try:
        if _try(handle):
            return handle
    except OSError:
        os.close(handle)
        return None
    os.close(handle)
    raise BlockingIOError(errno.EWOULDBLOCK, "another process is at work there")


def _lock_path(root: Path) -> Path:
    if (root / GIT_FOLDER).is_dir() and not (root / GIT_FOLDER).is_symlink():
        return make_keeping_folder(root) / "lock"
    return root / OUTSIDE_LOCK


def _wait_for(handle: int, wait_seconds: float) -> None:
    until = time.monotonic() + wait_seconds
    pause = _FIRST_PAUSE
    while True:
        try:
            if _try(handle):
                return
        except OSError as error:
            raise disk_error(error, "lock the fleet for writing") from error
        if time.monotonic() >= until:
            raise RegisterError(
                f"another command is writing to this fleet ({_read_holder(handle)})",
                mend="wait until it has finished, then repeat the line",
                exit_code=Exit.REFUSED,
                code="busy",
            )
        time.sleep(pause)
        pause = min(pause * 2, _LONGEST_PAUSE)


def _write_holder(handle: int) -> None:
    """Leave word of who holds the lock; it is only ever read by a person."""
    text = f"process {os.getpid()} on {platform.node() or 'this machine'}\n"
    with contextlib.suppress(OSError):
        os.ftruncate(handle, 0)
        os.lseek(handle, 0, os.SEEK_SET)
        os.write(handle, text.encode("ascii", "replace"))


def _read_holder(handle: int) -> str:
    try:
        os.lseek(handle, 0, os.SEEK_SET)
        text = os.read(handle, 200).decode("ascii", "replace").strip()
    except OSError:
        text = ""
    return text if text and text.isprintable() else "its name is not known"


if sys.platform == "win32":
    import msvcrt

    # Beyond the holder's words: Windows lets nobody read a locked byte.
    _LOCKED_BYTE = 1024

    def _try(handle: int) -> bool:
        os.lseek(handle, _LOCKED_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _release(handle: int) -> None:
        os.lseek(handle, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _try(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _release(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_UN)
