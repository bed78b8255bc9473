"""Several machines with one fleet, and the three carriers between them, as bad as they can be.

A bare repository that can be out of reach; a folder that a service carries, file by file, late,
half, twice and in any order; a stick that one machine sees at a time.
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import subprocess
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from fleets import NOW
from register.desk import apply_plan, make_clerk, read_records, save_edits
from register.entry.clerk import Stamp
from register.entry.flights import FlightWords, plan_fly
from register.entry.snags import SnagWords, plan_snag
from register.joining import join_fleet
from register.settling_clashes import settle_clash
from register.syncing import Synced, add_carrier, sync_fleet
from register.trouble import RegisterError

CARRIERS = ("club", "folder", "stick")


@dataclass
class Machine:
    """One machine: its copy of the fleet, its view of the carriers, its clock."""

    root: Path
    chance: random.Random
    clock: datetime
    known: list[str] = field(default_factory=list)

    def dated(self) -> None:
        """Time goes on; git takes this machine's clock for its own."""
        self.clock += timedelta(minutes=self.chance.randint(1, 90))
        stamp = self.clock.isoformat(timespec="seconds")
        os.environ["GIT_AUTHOR_DATE"] = os.environ["GIT_COMMITTER_DATE"] = stamp

    def fly(self, aircraft: str, minutes: int) -> str:
        """Log a flight; the id acknowledged back."""
        self.dated()
        fleet = read_records(self.root)
        clerk = make_clerk(fleet, self.clock, self.chance)
        plan = plan_fly(clerk, aircraft, FlightWords(1, str(minutes)), Stamp())
        apply_plan(fleet, plan)
        return plan.written[0].id

    def snag(self, aircraft: str, words: str) -> str:
        """Note a snag; the id acknowledged back."""
        self.dated()
        fleet = read_records(self.root)
        clerk = make_clerk(fleet, self.clock, self.chance)
        plan = plan_snag(clerk, aircraft, SnagWords(tuple(words.split())), Stamp())
        apply_plan(fleet, plan)
        return plan.written[0].id

    def edit(self, path: str, data: bytes | None) -> None:
        """Write or remove a file by hand, and save it."""
        self.dated()
        if data is None:
            (self.root / path).unlink()
        else:
            (self.root / path).parent.mkdir(parents=True, exist_ok=True)
            (self.root / path).write_bytes(data)
        save_edits(read_records(self.root), (path,))

    def settle(self, choice: str | None = None) -> None:
        """Answer every open clash, with the value that stands if no other choice is said."""
        while True:
            fleet = read_records(self.root)
            found = [c for c in fleet.records.clashes.values() if c.settled is None]
            if not found:
                return
            self.dated()
            clerk = make_clerk(fleet, self.clock, self.chance)
            apply_plan(
                fleet, settle_clash(self.root, clerk, found[0].id, choice or str(found[0].stands))
            )

    def settle_any(self) -> None:
        """Answer one open clash in any way there is; nothing where the answer does not fit."""
        fleet = read_records(self.root)
        found = [c for c in fleet.records.clashes.values() if c.settled is None]
        if not found:
            return
        self.dated()
        clash = self.chance.choice(sorted(found, key=lambda one: one.id))
        choice = self.chance.choice(("1", "2", "a third"))
        clerk = make_clerk(fleet, self.clock, self.chance)
        with contextlib.suppress(RegisterError):
            apply_plan(fleet, settle_clash(self.root, clerk, clash.id, choice))

    def sync(self, *names: str) -> Synced:
        """Exchange by these carriers, or all."""
        self.dated()
        return sync_fleet(self.root, names, self.clock)

    def git(self, *args: str) -> str:
        """Run git as the owner would."""
        command = ["git", "-c", "core.pager=cat", *args]
        done = subprocess.run(command, cwd=self.root, capture_output=True, text=True, check=False)
        return f"{done.stdout}{done.stderr}" if done.returncode else done.stdout

    @property
    def tip(self) -> str:
        """The newest commit."""
        return self.git("rev-parse", "main").strip()


@dataclass
class Workshop:
    """All machines and carriers of one run."""

    folder: Path
    chance: random.Random
    machines: list[Machine] = field(default_factory=list)
    holder: int | None = None

    def box(self, number: int, name: str) -> Path:
        """Where a machine sees the synced folder or the stick."""
        return self.folder / f"{name}-{number}"

    def begin(self, template: Path, count: int) -> None:
        """The first machine has the fleet; the others join by the repository."""
        bare = self.folder / "club.git"
        git = ["git", "init", "-q", "--bare", "-b", "main", str(bare)]
        subprocess.run(git, check=True, capture_output=True)
        (self.folder / "stick").mkdir()
        for number in range(count):
            self.box(number, "folder").mkdir()
            root = self.folder / f"fleet-{number}"
            chance = random.Random(self.chance.random())
            # Clocks go years wrong, and some go back.
            wrong = timedelta(days=self.chance.choice((0, 0, 0, 700, -730)))
            machine = Machine(root, chance, NOW + wrong)
            machine.dated()
            if number == 0:
                shutil.copytree(template, root)
                add_carrier(root, "club", str(bare), self.folder, chance)
                machine.sync("club")
            else:
                join_fleet(root, str(bare), self.folder, machine.clock, chance)
            self.hold(number)
            for name in ("folder", "stick"):
                add_carrier(root, name, str(self.box(number, name)), self.folder, chance)
            self.machines.append(machine)

    def hold(self, number: int) -> None:
        """Put the stick into a machine."""
        was = self.folder / "stick" if self.holder is None else self.box(self.holder, "stick")
        if self.holder != number:
            was.rename(self.box(number, "stick"))
        self.holder = number

    def carry(self, *, wholly: bool = False) -> None:
        """The service brings files from folder to folder: some, in any order, some only half."""
        files = [
            (path, source, target)
            for source in range(len(self.machines))
            for target in range(len(self.machines))
            if source != target
            for path in self.box(source, "folder").rglob("*")
            if path.is_file() and not path.name.startswith(".")
        ]
        self.chance.shuffle(files)
        for path, source, target in files:
            copy = self.box(target, "folder") / path.relative_to(self.box(source, "folder"))
            data = path.read_bytes()
            if copy.exists() and len(copy.read_bytes()) >= len(data):
                continue
            if not wholly and self.chance.random() < 0.35:
                continue
            copy.parent.mkdir(parents=True, exist_ok=True)
            if not wholly and self.chance.random() < 0.25:
                data = data[: self.chance.randrange(len(data))]
            copy.write_bytes(data)
            if self.chance.random() < 0.1:
                twin = f"{copy.stem} (1){copy.suffix}"
                (copy.parent / twin).write_bytes(data)

    def reachable(self, number: int) -> list[str]:
        """The carriers that a machine can use at this moment."""
        names = [name for name in ("club", "folder") if self.chance.random() < 0.6]
        return [*names, "stick"] if self.holder == number else names
