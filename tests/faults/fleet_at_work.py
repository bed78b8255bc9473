"""A small fleet with the owner's own work lying about in it, and the lines typed in it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from faults.library import COUNT, SCRIPT, Kind, run_faulted

GITCONFIG = "[user]\n\tname = Test Owner\n\temail = owner@example.invalid\n"
PROGRAMME = """\
title: "Short programme"
tasks:
  - id: "oil"
    title: "Oil the gear"
    on: "aircraft"
    every:
      - {counter: "flights", amount: 10}
    basis: {kind: "owner"}
"""
HAND_EDITED = "kits/small-jet.yaml"
NEXT = ("snag", "heron", "seen", "next")
"""What the owner types after whatever happened."""

WAITING = ("snag", "heron", "seen", "before")
"""What an earlier, interrupted line had put on the disk only."""


def surroundings(home: Path) -> dict[str, str]:
    """Return an environment in which nothing of the machine's own settings is left."""
    home.mkdir(parents=True, exist_ok=True)
    (home / "gitconfig").write_text(GITCONFIG, "utf-8")
    return {
        "PATH": f"{SCRIPT.parent}{os.pathsep}{os.environ.get('PATH', os.defpath)}",
        "HOME": str(home),
        "GIT_CONFIG_GLOBAL": str(home / "gitconfig"),
        "GIT_CONFIG_NOSYSTEM": "1",
        "LANG": "C.UTF-8",
        "TZ": "UTC",
        "COLUMNS": "200",
        "TERM": "dumb",
        "NO_COLOR": "1",
        "PYTHONDONTWRITEBYTECODE": "1",
    }


@dataclass(frozen=True, slots=True)
class Line:
    """A command line under test: its words, and the kinds of record it writes."""

    name: str
    words: tuple[str, ...]
    writes: tuple[str, ...] = ()
    saves: tuple[str, ...] = ()


@dataclass(slots=True)
class Workplace:
    """The prepared fleet, never written to again: every run works on a copy."""

    root: Path
    env: Mapping[str, str]
    lines: dict[str, Line] = field(default_factory=dict)

    def types(self, *words: str, root: Path | None = None) -> str:
        """Type a line that must succeed; its output back."""
        where = root or self.root
        done = subprocess.run(
            [str(SCRIPT), *words], cwd=where, env=dict(self.env), capture_output=True, text=True
        )
        assert done.returncode == 0, (words, done.stdout, done.stderr)
        return done.stdout

    def writes(self, *words: str) -> str:
        """Type a line and get the id of the record it wrote."""
        return str(json.loads(self.types(*words, "--json"))["written"][0]["id"])

    def git(self, *args: str, root: Path | None = None) -> str:
        """Run git as the owner would; where it fails, that stands in front of what it said."""
        done = subprocess.run(
            ["git", *args],
            cwd=root or self.root,
            env=dict(self.env),
            capture_output=True,
            text=True,
        )
        failed = f"git {args[0]} failed: " if done.returncode else ""
        return failed + done.stdout + done.stderr


def copy_fleet(root: Path, to: Path) -> Path:
    """Copy a fleet with its times, so that git's index stays cheap to compare."""
    shutil.copytree(root, to, symlinks=True)
    return to


def prepare(folder: Path) -> Workplace:
    """Make the fleet with `init` and the everyday commands, then leave work lying in it."""
    root = folder / "fleet"
    place = Workplace(root, surroundings(folder / "home"))
    root.mkdir(parents=True)
    place.types("init", str(root), "--zone", "UTC", root=folder)
    (root / "programmes").mkdir()
    (root / "programmes/short.yaml").write_text(PROGRAMME, "utf-8")
    place.types("save")
    kit = ("--position", "engine=turbine", "--position", "aileron=servo")
    place.types("kit", "small-jet", "--add", *kit)
    place.types(
        "aircraft", "heron", "--add", "--kit", "small-jet", "--programme", "short",
        "--stage", "in-service",
    )  # fmt: skip
    for part in ("sv-1", "sv-2"):
        place.types("parts", part, "--add", "--kind", "servo")
    place.types("install", "sv-1", "heron", "aileron")
    flown = place.writes("fly", "heron", "2", "--minutes", "14")
    snag = place.writes("snag", "heron", "hinge", "has", "play")
    _leave_work(place)
    sheet = folder / "sheet.pdf"
    sheet.write_bytes(b"%PDF-1.7 " + bytes(range(256)) * 40)
    for line in (
        Line("fly", ("fly", "heron", "3", "--minutes", "24"), ("flights",)),
        Line("snag", ("snag", "heron", "chip", "on", "nose"), ("snag",)),
        Line("fix", ("fix", snag, "new", "hinge"), ("fix",)),
        Line("done", ("done", "oil", "heron"), ("task-done",)),
        Line("swap", ("swap", "sv-1", "sv-2"), ("install", "remove")),
        Line("attach", ("attach", "heron", str(sheet)), ("note",)),
        Line("amend", ("amend", flown, "minutes=21"), ("amendment",)),
        Line("save", ("save", HAND_EDITED), saves=(HAND_EDITED,)),
    ):
        place.lines[line.name] = line
    return place


def _leave_work(place: Workplace) -> None:
    """One staged and one unstaged change, a hand-edited record, and a file git ignores yet."""
    root = place.root
    for name in ("staged.txt", "unstaged.txt"):
        (root / name).write_text("first\n", "utf-8")
        place.git("add", name)
    place.git("commit", "-q", "-m", "Own notes")
    (root / "staged.txt").write_text("first\nstaged\n", "utf-8")
    place.git("add", "staged.txt")
    (root / "unstaged.txt").write_text("first\nnot staged\n", "utf-8")
    kit = root / HAND_EDITED
    kit.write_bytes(kit.read_bytes() + b"# wing tube is tight\n")
    (root / "unknown.txt").write_text("git was never told\n", "utf-8")


def make_interrupted(place: Workplace, folder: Path, name: str) -> Workplace:
    """The same fleet after a line that came to the disk a day ago and not into history."""
    root = copy_fleet(place.root, folder / "interrupted")
    clean = copy_fleet(place.root, folder / "clean")
    ops = run_faulted(clean, WAITING, COUNT, 0, place.env).ops
    shutil.rmtree(clean)
    # The second half of the calls belongs to git; a kill at its first leaves the file alone.
    run_faulted(root, WAITING, Kind("kill before", 1), ops.index("l") + 4, place.env)
    pending = list((root / ".git/tailsheaf/pending").glob("*.json"))
    assert len(pending) == 1, pending
    for path in (*pending, root / ".git/tailsheaf/lock"):
        old = path.stat().st_mtime - 86400
        os.utime(path, (old, old))
    fly = place.lines["fly"]
    return Workplace(root, place.env, {name: Line(name, fly.words, fly.writes)})
