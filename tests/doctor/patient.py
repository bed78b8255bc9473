"""A fleet with an owner's own work in its repository, and what must still be there afterwards.

Import what you need: `from doctor.patient import make_patient, Patient`.
"""

from __future__ import annotations

import os
import subprocess
from dataclasses import dataclass
from pathlib import Path

from event_fleet import make_event_fleet

from fleets import read_files, run

NOTES = "notes.txt"
HERON = "aircraft/heron/aircraft.yaml"


def git(folder: Path, *args: str, check: bool = True, stdin: bytes | None = None) -> str:
    """Run git as the owner would."""
    done = subprocess.run(["git", *args], cwd=folder, capture_output=True, check=False, input=stdin)
    said = done.stdout.decode("utf-8", "replace")
    assert done.returncode == 0 or not check, done.stderr.decode("utf-8", "replace")
    return said


@dataclass(frozen=True, slots=True)
class Patient:
    """The fleet before the damage: its tip, files, and what is the owner's own."""

    fleet: Path
    tip: str
    files: dict[str, bytes]
    staged: str
    trial: str
    stash: str

    def path_of(self, name: str) -> Path:
        """The loose object behind a revision such as `main:fleet.yaml`."""
        id = git(self.fleet, "rev-parse", name).strip()
        return self.fleet / ".git/objects" / id[:2] / id[2:]

    def doctor(self, *options: str) -> str:
        """Mend, and hold that it says all is well."""
        result = run("doctor", *options, fleet=self.fleet)
        assert result.exit_code == 0, result
        assert "nothing is wrong now" in result.out, result
        return result.out

    def check_kept(self, tip: str | None = None, *, staged: bool = True) -> None:
        """Whole, nothing lost, nothing rewritten, and the next write goes through."""
        assert {path: data for path, data in read_files(self.fleet).items()} == self.files
        assert git(self.fleet, "rev-parse", "main").strip() == (tip or self.tip)
        assert git(self.fleet, "rev-parse", "trial").strip() == self.trial
        assert git(self.fleet, "rev-parse", "stash").strip() == self.stash
        assert git(self.fleet, "fsck", "--full", "--strict", "--no-dangling") == ""
        if staged:
            assert git(self.fleet, "ls-files", "--stage") == self.staged
        flown = run("fly", "heron", "1", "--minutes", "7", fleet=self.fleet)
        assert flown.exit_code == 0, flown
        assert "in history, but" not in flown.out
        assert git(self.fleet, "merge-base", "--is-ancestor", tip or self.tip, "main") == ""
        again = run("doctor", fleet=self.fleet)
        assert again.exit_code == 0, again
        assert ".git" not in again.out, again


def make_patient(folder: Path) -> Patient:
    """A fleet of several commits, another branch, a stash and something staged."""
    fleet = make_event_fleet(folder)
    for minutes in (7, 8):
        assert run("fly", "heron", "1", "--minutes", str(minutes), fleet=fleet).exit_code == 0
    git(fleet, "switch", "-q", "-c", "trial")
    (fleet / "trial.txt").write_bytes(b"an idea\n")
    git(fleet, "add", "trial.txt")
    git(fleet, "commit", "-q", "-m", "Try")
    git(fleet, "switch", "-q", "main")
    (fleet / NOTES).write_bytes(b"set aside\n")
    git(fleet, "add", NOTES)
    git(fleet, "stash", "push", "-q")
    (fleet / NOTES).write_bytes(b"staged by the owner\n")
    git(fleet, "add", NOTES)
    (fleet / NOTES).write_bytes(b"and gone on since\n")
    return Patient(
        fleet,
        git(fleet, "rev-parse", "main").strip(),
        read_files(fleet),
        git(fleet, "ls-files", "--stage"),
        git(fleet, "rev-parse", "trial").strip(),
        git(fleet, "rev-parse", "stash").strip(),
    )


def empty(path: Path) -> None:
    """What a power cut makes of a file that was not flushed."""
    path.chmod(0o644)
    path.write_bytes(b"")


def make_old(path: Path) -> None:
    """A file that nobody has written to for days."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch()
    os.utime(path, (1_700_000_000, 1_700_000_000))
