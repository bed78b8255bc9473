"""Fleets begun by `init`, as an owner has them."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleets import run


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """An empty fleet with its history begun."""
    assert run("init", "mine", "--zone", "UTC", cwd=tmp_path).exit_code == 0
    return tmp_path / "mine"
