"""No plain screen of any command's example is wider than the terminal.

Let alone what cannot be broken: one long word, a command to copy, and the lines of `check`,
which editors read as they are.
"""

from __future__ import annotations

import importlib
import re
import shlex
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cli.commands.table import COMMANDS
from cli.render.layout import width_of
from fleets import run

WIDTH = 80
THEN = datetime(2026, 5, 10, 18, 0, tzinfo=UTC)


def example_of(module: str) -> list[str]:
    """The lines of a command's example, as typed after the program's name."""
    text = importlib.import_module(f"cli.commands.{module}").EXAMPLE
    return re.findall(r"tailsheaf (.+?)(?= +\(|\)|;|$)", text)


LINES = [(item.name, line) for item in COMMANDS for line in example_of(item.module)]


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    fleet = tmp_path_factory.mktemp("width") / "demo"
    assert run("init", fleet, "--example", now=THEN).exit_code == 0
    return fleet


def find_wide(text: str) -> list[str]:
    """Lines wider than the terminal that could have been broken."""
    found = []
    for line in text.splitlines():
        words = re.sub(r"^(mend|tailsheaf): ", "", line.strip())
        if width_of(line) > WIDTH and " " in words and not words.startswith("tailsheaf "):
            found.append(line)
    return found


def test_what_is_wide_is_found() -> None:
    wide = "x " * 41
    assert find_wide(f"short\n{wide}\n") == [wide]
    assert find_wide("  tailsheaf cure " + wide) == []
    assert find_wide("  mend: tailsheaf cure " + wide) == []
    assert find_wide("a/" * 50) == []


@pytest.mark.parametrize(("command", "line"), LINES)
def test_every_example_fits(
    command: str, line: str, example: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleet = tmp_path / "demo"
    shutil.copytree(example, fleet)
    monkeypatch.setenv("COLUMNS", str(WIDTH))
    where = tmp_path if command == "init" else fleet
    result = run(*shlex.split(line), "--plain", cwd=where, now=THEN, input="")
    assert result.exit_code < 5, result
    shown = "" if command == "check" else result.out
    assert find_wide(shown + result.err) == []
