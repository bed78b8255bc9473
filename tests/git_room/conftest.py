"""Real repositories, and the user's own git beside the program's."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from register.git.apply import apply_changes
from register.git.commit import init_repository
from register.storage.writing import FileChange

Git = Callable[..., str]
HERON = "aircraft/heron/aircraft.yaml"


@pytest.fixture
def git() -> Git:
    """Run git as the owner would: `git(folder, "status")`, its output back."""

    def run(folder: Path, *args: str, check: bool = True) -> str:
        done = subprocess.run(
            ["git", *args], cwd=folder, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0 or not check, done.stderr
        return done.stdout

    return run


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """A fleet of this program with one commit of two files."""
    root = tmp_path / "fleet"
    root.mkdir()
    init_repository(root)
    apply_changes(
        root,
        [FileChange("fleet.yaml", None, b"schema: 1\n"), FileChange(HERON, None, b"id: heron\n")],
        "Begin the fleet",
    )
    return root
