"""A folder of one's own for a while, inside git's, removed at the end whatever happens."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

from register.storage import keeping
from register.storage.lock import take_hold

#: Seconds after which a folder that is still there was left behind, where the system cannot tell.
LEFT_AFTER = 3600
_TRIES = 5


@contextlib.contextmanager
def scratch_folder(root: Path, what: str) -> Iterator[Path]:
    """A new, empty folder that nobody else uses; nothing in it is ever carried or committed.

    It is held while it is used, so that the next one knows those whose user died.
    """
    folder, handle = _make_held(root, what)
    try:
        _clear_left(folder)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        if handle is not None:
            os.close(handle)


def _make_held(root: Path, what: str) -> tuple[Path, int | None]:
    """Between making it and holding it, another process may take it for one left behind."""
    for _ in range(_TRIES):
        folder = keeping.make_keeping_folder(root, what, secrets.token_hex(6))
        with contextlib.suppress(FileNotFoundError, BlockingIOError):
            handle = take_hold(folder)
            if folder.exists():
                return folder, handle
            if handle is not None:
                os.close(handle)
    return keeping.make_keeping_folder(root, what, secrets.token_hex(6)), None


def _clear_left(folder: Path) -> None:
    """Remove the folders that dead runs left; that of a living one is held."""
    with contextlib.suppress(OSError):
        now = folder.stat().st_mtime
        for other in folder.parent.iterdir():
            if other == folder:
                continue
            with contextlib.suppress(OSError):
                handle = take_hold(other)
                if handle is not None or now - other.stat().st_mtime > LEFT_AFTER:
                    shutil.rmtree(other, ignore_errors=True)
                if handle is not None:
                    os.close(handle)


def find_own_locks(root: Path) -> tuple[str, ...]:
    """Locks that git left on refs of this program's own, which nothing else ever writes.

    To be asked while the fleet is locked: then whoever made them is dead.
    """
    own = root / ".git" / "refs" / "tailsheaf"
    return tuple(sorted(path.relative_to(root).as_posix() for path in own.rglob("*.lock")))


def write_scratch(folder: Path, name: str, data: bytes) -> Path:
    """A file in such a folder."""
    path = folder / name
    path.write_bytes(data)
    return path
