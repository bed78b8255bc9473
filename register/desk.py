"""The desk: the only place where the rooms meet. Open a fleet, answer, apply a change."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path

from register.ledger.ledger import Ledger
from register.records.gathering import Records, build_records
from register.storage.folder import find_fleet, read_fleet
from register.text.nodes import Mapping
from register.text.parsing import parse_text
from register.trouble import Exit, Problem, RegisterError


@dataclass
class Fleet:
    """An opened fleet: its records, and the problems met while reading them."""

    root: Path
    records: Records
    problems: tuple[Problem, ...]
    sources: dict[str, bytes]

    @cached_property
    def ledger(self) -> Ledger:
        """Everything as known now."""
        return Ledger(self.records)

    def ledger_at(self, day: date) -> Ledger:
        """Facts dated up to a day, as known now."""
        return Ledger(self.records, day)

    @property
    def unread(self) -> tuple[str, ...]:
        """Files that gave no record: every answer over them is incomplete, and says so."""
        return tuple(sorted(set(self.records.unread)))


def open_fleet(start: Path) -> Fleet:
    """Find and read the fleet that a folder lies in. Bad files become problems, never hide the rest."""
    root = find_fleet(start)
    if root is None:
        raise RegisterError(
            f"there is no fleet in {start} or any folder above it",
            mend="tailsheaf init DIR   makes one; or name it:  tailsheaf --fleet DIR …",
            exit_code=Exit.CANNOT_RUN,
            code="no-fleet",
        )
    return read_records(root)


def read_records(root: Path) -> Fleet:
    """bytes → nodes → records, every problem gathered."""
    files, problems = read_fleet(root)
    gathered = list(problems)
    nodes: list[tuple[str, Mapping | None]] = []
    for file in files:
        parsed = parse_text(file.path, file.data)
        gathered.extend(parsed.problems)
        nodes.append((file.path, parsed.node))
    records = build_records(nodes)
    records.unread.extend(problem.place.file for problem in problems if problem.level == "error")
    gathered.extend(records.problems)
    return Fleet(root, records, tuple(gathered), {file.path: file.data for file in files})
