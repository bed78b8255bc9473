"""A folder of one's own for a while, inside git's, removed at the end whatever happens."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path

from register.storage import keeping
from register.storage.disk import disk_error
from register.storage.lock import take_hold

#: Seconds after which a folder that is still there was left behind, where the system cannot tell.
LEFT_AFTER = 3600
_TRIES = 5


def scratch_folder(root: Path, what: str) -> AbstractContextManager[Path]:
    """A new, empty folder that nobody else uses; nothing in it is ever carried or committed."""
    return _held_folder(
        lambda: keeping.make_keeping_folder(root, what, secrets.token_hex(6)),
        lambda made: made.parent.iterdir(),
    )


def passing_folder(what: str) -> AbstractContextManager[Path]:
    """The same in the system's place for such: where the fleet's own is not to be touched."""
    import tempfile

    return _held_folder(
        lambda: Path(tempfile.mkdtemp(prefix=f"tailsheaf-{what}-")),
        lambda made: made.parent.glob(f"tailsheaf-{what}-*"),
    )


@contextlib.contextmanager
def _held_folder(
    make: Callable[[], Path], list_others: Callable[[Path], Iterable[Path]]
) -> Iterator[Path]:
    """It is held while it is used, so that the next one knows those whose user died."""
    folder, handle = _make_held(make)
    try:
        with contextlib.suppress(OSError):
            _clear_left(folder, list_others(folder))
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        if handle is not None:
            os.close(handle)


def _make_held(make: Callable[[], Path]) -> tuple[Path, int | None]:
    """Between making it and holding it, another process may take it for one left behind."""
    try:
        for _ in range(_TRIES):
            folder = make()
            with contextlib.suppress(FileNotFoundError, BlockingIOError):
                handle = take_hold(folder)
                if folder.exists():
                    return folder, handle
                if handle is not None:
                    os.close(handle)
        return make(), None
    except OSError as error:
        raise disk_error(error, "make a folder to work in") from error


def _clear_left(folder: Path, others: Iterable[Path]) -> None:
    """Remove the folders that dead runs left; that of a living one is held."""
    now = folder.stat().st_mtime
    for other in others:
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
    """A file in such a folder. Raises RegisterError (CANNOT_RUN) where the disk refuses."""
    path = folder / name
    try:
        path.write_bytes(data)
    except OSError as error:
        raise disk_error(error, f"write {name} into git's folder") from error
    return path
