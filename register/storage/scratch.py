"""A folder of one's own for a while, inside git's, removed at the end whatever happens."""

from __future__ import annotations

import contextlib
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

from register.storage import keeping


@contextlib.contextmanager
def scratch_folder(root: Path, what: str) -> Iterator[Path]:
    """A new, empty folder that nobody else uses; nothing in it is ever carried or committed."""
    folder = keeping.make_keeping_folder(root, what, secrets.token_hex(6))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def write_scratch(folder: Path, name: str, data: bytes) -> Path:
    """A file in such a folder."""
    path = folder / name
    path.write_bytes(data)
    return path
