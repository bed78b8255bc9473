"""The fleets that are measured, their copies, and the commands run on them."""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from bench.measuring import YARDSTICKS, Step, ask, time_once

#: What the program keeps in .git/tailsheaf that is not a cache; all else is thrown away.
NOT_A_CACHE = frozenset(("fleet", "machine", "good-git", "lock", "pending", "rescue"))
#: Letters in the name of a file that keeps a whole answer.
ANSWER_NAME = 40
#: Events to a commit in the big fleets, so that they are made in minutes.
PER_COMMIT = {50_000: 10, 200_000: 50}
#: Seconds after which a file's stamp is old enough for any cache to believe it.
SETTLED = 2.3
_GITCONFIG = "[user]\n\tname = Bench Owner\n\temail = bench@example.invalid\n"


@dataclass(frozen=True, slots=True)
class Ground:
    """Where everything of one run lies, and what every process gets as its environment."""

    work: Path
    today: date
    env: Mapping[str, str]

    @property
    def drawn(self) -> dict[str, str]:
        """The environment in which answers are drawn as for a terminal."""
        return {**self.env, "TAILSHEAF_TERMINAL": "1", "TERM": "xterm-256color"}


def make_ground(work: Path, today: date, code: Path | None) -> Ground:
    """An empty home with one git identity; `code` is another tree to take the program from."""
    home = work / "home"
    home.mkdir(parents=True, exist_ok=True)
    (home / "gitconfig").write_text(_GITCONFIG, "utf-8")
    env = {
        "PATH": os.environ.get("PATH", os.defpath),
        "HOME": str(home),
        "GIT_CONFIG_GLOBAL": str(home / "gitconfig"),
        "GIT_CONFIG_NOSYSTEM": "1",
        "LANG": "C.UTF-8",
        "COLUMNS": "100",
        "LINES": "40",
    }
    if code is not None:
        env["PYTHONPATH"] = str(code)
    return Ground(work, today, env)


def make_fleet(ground: Ground, events: int) -> Path:
    """The untouched fleet of a size; one that is there from an earlier run serves again."""
    fleet = ground.work / f"fleet-{events}-{ground.today.isoformat()}"
    if not fleet.exists():
        # In a process of its own: a big parent would show in every child's peak memory.
        fresh = fleet.with_suffix(".fresh")
        shutil.rmtree(fresh, ignore_errors=True)
        more = ("--per-commit", str(per_commit(events)), "--until", ground.today.isoformat())
        argv = (sys.executable, "-m", "bench.fleet", str(fresh), "--events", str(events), *more)
        root = str(Path(__file__).parents[1])
        tell(ask(argv, {**ground.env, "PYTHONPATH": root}).strip())
        fresh.rename(fleet)
    return fleet


def per_commit(events: int) -> int:
    """How many events one commit of the history holds."""
    return next((n for least, n in sorted(PER_COMMIT.items(), reverse=True) if events >= least), 1)


def copy_fleet(ground: Ground, fleet: Path, name: str) -> Path:
    """A copy to work on, its git index told of the copy's own stamps."""
    copy = ground.work / "copies" / f"{fleet.name}-{name}"
    shutil.rmtree(copy, ignore_errors=True)
    copy.parent.mkdir(exist_ok=True)
    shutil.copytree(fleet, copy, symlinks=True)
    time.sleep(1.1)
    for words in (("update-index", "-q", "--refresh"), ("status", "--porcelain")):
        ask(git(copy, *words), ground.env)
    return copy


def git(fleet: Path, *words: str) -> tuple[str, ...]:
    """A git command in a fleet."""
    return (shutil.which("git") or "git", "-C", str(fleet), *words)


def make_empty_fleet(ground: Ground) -> Path:
    """A fleet as `init` makes it."""
    fleet = ground.work / "empty"
    if not fleet.exists():
        ask((program(), "init", str(fleet), "--name", "Empty", "--zone", "CET"), ground.env)
    return fleet


def program() -> str:
    """The console script beside this Python."""
    return str(Path(sys.executable).parent / "tailsheaf")


def tailsheaf(ground: Ground, fleet: Path, *words: str, drawn: bool = True) -> Step:
    """One command on a fleet."""
    env = ground.drawn if drawn else ground.env
    return Step((program(), "--fleet", str(fleet), *words), env)


def typer_app(ground: Ground) -> Step:
    """Y."""
    return Step((sys.executable, str(YARDSTICKS / "typer_app.py"), "due"), ground.env)


def bare_python(ground: Ground) -> Step:
    """The interpreter of the same environment, doing nothing."""
    return Step((sys.executable, "-c", "pass"), ground.env)


def yaml_load(ground: Ground, fleet: Path) -> Step:
    """C."""
    return Step((sys.executable, str(YARDSTICKS / "yaml_load.py"), str(fleet)), ground.env)


def own_load(ground: Ground, fleet: Path) -> Step:
    """The load of our own, without a command round it."""
    root = ground.env.get("PYTHONPATH", str(Path(__file__).parents[1]))
    argv = (sys.executable, str(YARDSTICKS / "load.py"), str(fleet))
    return Step(argv, {**ground.env, "PYTHONPATH": root})


def forget(fleet: Path) -> None:
    """Throw away whatever the program keeps only to be quick."""
    for entry in (fleet / ".git" / "tailsheaf").iterdir():
        if entry.name not in NOT_A_CACHE:
            shutil.rmtree(entry) if entry.is_dir() else entry.unlink()


def warm_up(*steps: Step) -> None:
    """Run each once, untimed, after the files' stamps have grown old."""
    time.sleep(SETTLED)
    for step in steps:
        time_once(step.argv, step.env)


def list_aircraft(fleet: Path) -> list[str]:
    """The aircraft of a fleet, by name."""
    return sorted(path.name for path in (fleet / "aircraft").iterdir())


def list_flights(fleet: Path) -> list[Path]:
    """Every flights record whose minutes are one number, in path order."""
    return sorted(
        path
        for path in (fleet / "aircraft").glob("*/events/*/*/*-flights-*.yaml")
        if "\nminutes: " in path.read_text("utf-8")
    )


def tell(text: str) -> None:
    """A word on what is going on, beside the table."""
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()
