"""The desk: the only place where the rooms meet. Open a fleet, answer, apply a change."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from register.ledger.ledger import Ledger
from register.records.gathering import Records, build_records
from register.storage.folder import find_fleet, read_fleet
from register.text.nodes import Mapping
from register.text.parsing import parse_text
from register.trouble import Exit, Problem, RegisterError

if TYPE_CHECKING:
    from register.entry.clerk import Clerk, Plan


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
    sources = {file.path: file.data for file in files}
    records = build_fleet_records(sources, gathered)
    records.unread.extend(problem.place.file for problem in problems if problem.level == "error")
    return Fleet(root, records, tuple(gathered), sources)


def build_fleet_records(sources: dict[str, bytes], gathered: list[Problem]) -> Records:
    """Parse and build every source; problems are added to `gathered`."""
    nodes: list[tuple[str, Mapping | None]] = []
    for path, data in sources.items():
        parsed = parse_text(path, data)
        gathered.extend(parsed.problems)
        nodes.append((path, parsed.node))
    records = build_records(nodes)
    gathered.extend(records.problems)
    return records


def make_clerk(fleet: Fleet, now: datetime, chance: random.Random, by: str | None = None) -> Clerk:
    """A clerk for one writing command, or the refusal to write this fleet."""
    from register.entry.clerk import Clerk
    from register.storage.journal import machine_id

    machine = machine_id(fleet.root) or "m-none"
    clerk = Clerk(fleet.ledger, fleet.sources, now, machine, chance, by or _first_person(fleet))
    clerk.check_writable()
    return clerk


def _first_person(fleet: Fleet) -> str | None:
    return next(iter(fleet.records.people), None)


@dataclass(frozen=True)
class Outcome:
    """A plan that was carried out, and the fleet as it is afterwards."""

    fleet: Fleet
    note: str | None
    adopted: tuple[str, ...]


def apply_plan(fleet: Fleet, plan: Plan) -> Outcome:
    """Write and commit a plan, then read only what it changed."""
    from register.git.apply import apply_changes

    applied = apply_changes(fleet.root, plan.changes, plan.message)
    sources = {**fleet.sources, **{change.path: change.after for change in plan.changes}}
    gathered: list[Problem] = []
    records = build_fleet_records(sources, gathered)
    return Outcome(
        Fleet(fleet.root, records, tuple(gathered), sources), applied.note, applied.adopted
    )


@dataclass(frozen=True)
class Founding:
    """What a new fleet is to be; an option not given is None."""

    name: str | None = None
    zone: str | None = None
    season_start: str | None = None
    example: bool = False
    usual_zone: str | None = None


def found_fleet(root: Path, wish: Founding, chance: random.Random) -> Fleet:
    """Make a folder, its repository and its first records; nothing before all is checked."""
    from register.entry import fleets
    from register.git.apply import apply_changes
    from register.git.commit import check_identity
    from register.git.repository import init_repository
    from register.git.wrapper import require_git
    from register.storage.founding import check_ground, find_local_zone, make_ground
    from register.storage.journal import write_machine_id

    zone = (
        fleets.check_zone(wish.zone)
        if wish.zone
        else fleets.choose_zone(wish.usual_zone, find_local_zone())
    )
    season = fleets.check_season_start(wish.season_start or "03-01")
    name = fleets.check_fleet_name(wish.name or root.name or "fleet")
    check_ground(root)
    require_git()
    owner, _ = check_identity(root)
    if wish.example:
        from register.example import build_example

        commits = fleets.plan_example(build_example())
    else:
        commits = (("Begin the fleet", fleets.plan_fleet(name, zone, season, owner)),)
    make_ground(root)
    init_repository(root)
    write_machine_id(root, fleets.make_machine_id(chance))
    for message, changes in commits:
        apply_changes(root, changes, message)
    return read_records(root)
