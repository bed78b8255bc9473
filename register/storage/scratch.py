"""A folder of one's own for a while, inside git's, removed at the end whatever happens."""

from __future__ import annotations

import contextlib
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

from register.storage import keeping

#: Seconds after which a folder that is still there was left behind.
LEFT_AFTER = 3600


@contextlib.contextmanager
def scratch_folder(root: Path, what: str) -> Iterator[Path]:
    """A new, empty folder that nobody else uses; nothing in it is ever carried or committed."""
    folder = keeping.make_keeping_folder(root, what, secrets.token_hex(6))
    _clear_old(folder)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _clear_old(folder: Path) -> None:
    """Remove what an earlier run was cut short over; a younger one may still be at work."""
    with contextlib.suppress(OSError):
        now = folder.stat().st_mtime
        for other in folder.parent.iterdir():
            if other != folder and now - other.stat().st_mtime > LEFT_AFTER:
                shutil.rmtree(other, ignore_errors=True)


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
