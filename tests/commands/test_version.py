"""--version answers by itself, wherever one stands."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path

from fleets import run


def test_the_version_is_told_without_a_fleet(tmp_path: Path) -> None:
    result = run("--version", fleet=tmp_path)
    assert (result.exit_code, result.err) == (0, "")
    assert result.out == f"tailsheaf {version('tailsheaf')}\n"


def test_help_names_it() -> None:
    assert "--version" in run("--help").out
