"""Builders for tests: a fleet from text, a command run on it, a screen held to a file.

Import what you need: `from fleets import make_fleet, run, run_json`.
"""

from __future__ import annotations

import json
import tempfile
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

NOW = datetime(2026, 5, 16, 9, 0, tzinfo=UTC)
"""The moment at which every test takes place unless it says otherwise: a Saturday morning."""

FLEET_YAML = """\
schema: 1
name: "Test fleet"
home_zone: UTC
"""


def make_fleet(folder: Path, files: Mapping[str, str] | None = None) -> Path:
    """Write a fleet below `folder` and give its path.

    `files` maps fleet-relative paths to text, which is dedented and loses a
    first empty line. A minimal fleet.yaml is added when none is given. The
    fleet is a plain folder: tests that need git make it a repository.
    """
    fleet = folder / "fleet"
    for name, text in {"fleet.yaml": FLEET_YAML, **(files or {})}.items():
        path = fleet / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(textwrap.dedent(text).removeprefix("\n").encode())
    return fleet


def read_files(fleet: Path) -> dict[str, bytes]:
    """Every file of a fleet but those of git, by fleet-relative path."""
    return {
        path.relative_to(fleet).as_posix(): path.read_bytes()
        for path in sorted(fleet.rglob("*"))
        if path.is_file() and ".git" not in path.relative_to(fleet).parts
    }


@dataclass(frozen=True, slots=True)
class Result:
    """What a command line answered."""

    exit_code: int
    out: str
    err: str

    @property
    def said(self) -> str:
        """Its output on one line: what was folded at the edge of the screen stands together."""
        return " ".join(self.out.split())

    @property
    def refused(self) -> str:
        """Its errors on one line."""
        return " ".join(self.err.split())


def run(
    *args: str | Path,
    fleet: Path | None = None,
    cwd: Path | None = None,
    now: datetime | None = None,
    input: str | None = None,
) -> Result:
    """Run the command line in this process, as typed in the folder `fleet` (or `cwd`).

    Without either it runs in an empty folder that is gone afterwards.
    """
    from cli.main import run_in_process

    argv = [str(arg) for arg in args]
    with tempfile.TemporaryDirectory() as empty:
        where = cwd or fleet or Path(empty)
        return Result(*run_in_process(argv, now=now or NOW, cwd=where, stdin=input))


def run_json(
    *args: str | Path,
    fleet: Path | None = None,
    cwd: Path | None = None,
    now: datetime | None = None,
    input: str | None = None,
    exit_code: int = 0,
) -> Any:
    """What the command line answers with `--json`, parsed; its exit code must be `exit_code`."""
    result = run(*args, "--json", fleet=fleet, cwd=cwd, now=now, input=input)
    assert result.exit_code == exit_code, result
    return json.loads(result.out)


@dataclass(frozen=True, slots=True)
class Golden:
    """Accepted screens, one text file each. With `accept` the present text is written down."""

    folder: Path
    accept: bool = False

    def __call__(self, name: str, text: str) -> None:
        """Hold `text` to the accepted file `name`.txt."""
        path = self.folder / f"{name}.txt"
        if self.accept:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode())
        assert path.is_file(), f"{path.name} was never accepted: pytest --accept"
        assert text == path.read_bytes().decode()
