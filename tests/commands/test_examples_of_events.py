"""The example that ends each help text works, as it stands, on the example fleet."""

from __future__ import annotations

import importlib
import re
import shlex
from datetime import UTC, datetime
from pathlib import Path

from fleets import run

#: The evening of the last flying day in the example.
THEN = datetime(2026, 5, 10, 18, 0, tzinfo=UTC)
# In an order in which none spoils the next.
MODULES = (
    *("fly", "charge", "engine_run", "snag", "fix", "defer", "done", "reading"),
    *("swap", "install", "condition", "incident", "layup", "amend", "withdraw", "remove", "save"),
)


def test_every_example_works(tmp_path: Path) -> None:
    fleet = tmp_path / "demo"
    assert run("init", fleet, "--example", now=THEN).exit_code == 0
    for module in MODULES:
        text = importlib.import_module(f"cli.commands.{module}").EXAMPLE
        for line in re.findall(r"tailsheaf (.+?)(?: +\(|\)|$)", text):
            result = run(*shlex.split(line), fleet=fleet, now=THEN)
            assert result.exit_code == 0, (line, result)


def test_the_help_of_every_writing_command_ends_with_its_example() -> None:
    for module in (*MODULES, "day"):
        name = module.replace("_", "-")
        result = run(name, "--help")
        assert result.exit_code == 0, result
        assert f"Example: tailsheaf {name}" in " ".join(result.out.split())
