"""Write a file into a folder that is not the fleet's: wholly or not at all, leaving no halves.

A half-file is held by its writer, so that the next one, who cannot ask the fleet's journal
there, knows those whose writer died and takes them away.
"""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Iterable, Iterator
from pathlib import Path

from register.storage.disk import create_new, flush_folder
from register.storage.lock import take_hold
from register.storage.names import TEMPORARY_END, TEMPORARY_START

#: How such half-files begin. Those of a fleet are called otherwise: a journal knows them.
_START = f"{TEMPORARY_START}beside-"
_TRIES = 5


def write_beside(folder: Path, name: str, parts: Iterable[bytes]) -> None:
    """Write `parts` as the file `name` of a folder, flushed, in the place of one that is there.

    Raises OSError where the system refuses.
    """
    clear_halves(folder)
    with _held_temporary(folder) as (temporary, handle):
        for part in parts:
            rest = memoryview(part)
            while rest:
                rest = rest[os.write(handle, rest) :]
        os.fsync(handle)
        os.replace(temporary, folder / name)
    flush_folder(folder)


def clear_halves(folder: Path) -> None:
    """Take away the half-files of dead writers, as far as the system lets that be told."""
    with contextlib.suppress(OSError):
        for name in sorted(os.listdir(folder)):
            if not (name.startswith(_START) and name.endswith(TEMPORARY_END)):
                continue
            with contextlib.suppress(OSError):
                handle = take_hold(folder / name)
                if handle is not None:
                    try:
                        os.unlink(folder / name)
                    finally:
                        os.close(handle)


@contextlib.contextmanager
def _held_temporary(folder: Path) -> Iterator[tuple[Path, int]]:
    temporary, handle, hold = _make(folder)
    try:
        yield temporary, handle
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise
    finally:
        os.close(handle)
        if hold is not None:
            os.close(hold)


def _make(folder: Path) -> tuple[Path, int, int | None]:
    """Between making it and holding it, another writer may take it for a dead one's."""
    for left in reversed(range(_TRIES)):
        temporary = folder / f"{_START}{secrets.token_hex(8)}{TEMPORARY_END}"
        handle = create_new(temporary)
        hold = None
        with contextlib.suppress(OSError):
            hold = take_hold(temporary)
        if left == 0 or os.path.lexists(temporary):
            return temporary, handle, hold
        os.close(handle)
        if hold is not None:
            os.close(hold)
    raise AssertionError  # the last try returns
