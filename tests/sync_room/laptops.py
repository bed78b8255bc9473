"""Laptops with one fleet and a mailbox between them, everything typed as an owner types it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from fleets import NOW, Result, make_fleet, run, run_json
from register.git.commit import init_repository

FILES = {
    "aircraft/heron/aircraft.yaml": """
        id: "heron00001"
        title: "Heron"
        stage: "in-service"
        opening:
          as_of: "2026-07-01"
          counters:
            flights: {value: 117, known: "known"}
            minutes: {value: 900, known: "known"}
        positions:
          aileron: {kind: "servo"}
        colours:
          upper: "grey"
        """,
    "private.yaml": """
        people:
          vera: "Vera Example"
        """,
}
LATER = datetime.fromisoformat("2026-07-11T20:00:00+00:00")


def begin(folder: Path, files: Mapping[str, str] | None = None) -> tuple[Path, Path]:
    """Laptop A with a fleet, laptop B that joined it by the mailbox."""
    root = make_fleet(folder, {**FILES, **(files or {})})
    init_repository(root)
    types(root, "save")
    box = folder / "box"
    box.mkdir()
    types(root, "sync", "--add", "stick", str(box))
    types(root, "sync")
    other = folder / "other"
    types(folder, "init", str(other), "--from", str(box))
    return root, other


def types(where: Path, *words: str, code: int = 0, now: datetime = LATER) -> Result:
    """Type a line in a folder; it must end with this code."""
    result = run(*words, cwd=where, now=now)
    assert result.exit_code == code, (words, result)
    return result


def asks(where: Path, *words: str, code: int = 0) -> Any:
    """Type a question; the answer as data."""
    return run_json(*words, cwd=where, now=LATER, exit_code=code)


def edit(root: Path, path: str, old: str, new: str) -> None:
    """Edit a file by hand and save it."""
    text = (root / path).read_text("utf-8")
    assert old in text
    (root / path).write_text(text.replace(old, new), "utf-8")
    types(root, "save")


def exchange(*roots: Path) -> None:
    """Sync until everybody heard of everything."""
    for root in (*roots, *roots):
        types(root, "sync")


def tip_of(root: Path) -> str:
    """The newest commit."""
    return (root / ".git/refs/heads/main").read_text().strip()


def codes(root: Path) -> list[str]:
    """The codes of what `check` lists."""
    result = run("check", "--json", cwd=root, now=LATER)
    return [item["code"] for item in json.loads(result.out)["problems"]]


def clashes(root: Path) -> list[str]:
    """Ids of the open clashes."""
    found = []
    for path in sorted((root / "clashes").glob("*.yaml")):
        if "settled" not in path.read_text():
            found.append(path.stem)
    return found


__all__ = [
    "LATER",
    "NOW",
    "asks",
    "begin",
    "clashes",
    "codes",
    "edit",
    "exchange",
    "timedelta",
    "tip_of",
    "types",
]  # fmt: skip
