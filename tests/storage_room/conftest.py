"""A folder of somebody whom file permissions really stop."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

NOBODY = 65534


@pytest.fixture
def unprivileged() -> Iterator[Path]:
    """An own folder, while the test is run by a user whom permissions bind."""
    folder = Path(tempfile.mkdtemp())
    administrator = os.geteuid() == 0
    if administrator:
        os.chown(folder, NOBODY, NOBODY)
        os.seteuid(NOBODY)
    try:
        yield folder
    finally:
        if administrator:
            os.seteuid(0)
        for path in folder.rglob("*"):
            if path.is_dir() and not path.is_symlink():
                path.chmod(0o700)
        folder.chmod(0o700)
        shutil.rmtree(folder)
