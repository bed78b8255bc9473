"""Make a benchmark fleet: `python -m bench.fleet DIR --events 10000`.

The same numbers and seed give the same bytes. Every event is a commit of its own unless
--per-commit says otherwise, as if it had been typed one by one.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from random import Random

from bench.diary import MACHINE, Entry, build_entries
from bench.standing import build_crafts, build_standing
from register.git.repository import init_repository
from register.git.wrapper import run_git
from register.storage.journal import write_machine_id

UNTIL = date(2026, 5, 16)
SEED = 20_260_516
#: events up to -> aircraft, as in the goals.
AIRCRAFT = {1_000: 20, 10_000: 40, 20_000: 60, 50_000: 100, 200_000: 200}
#: A history of eighty thousand objects is made once; how small it is packed does not matter.
_QUICK = {
    "GIT_CONFIG_COUNT": "1",
    "GIT_CONFIG_KEY_0": "core.compression",
    "GIT_CONFIG_VALUE_0": "1",
}
_OWNER = b"Bench Owner <bench@example.invalid>"


@dataclass(frozen=True, slots=True)
class Wish:
    """What fleet is wanted."""

    events: int
    aircraft: int
    seed: int = SEED
    until: date = UNTIL
    per_commit: int = 1


@dataclass(frozen=True, slots=True)
class Sheaf:
    """A whole fleet in memory: the standing files, and the events as they were typed."""

    standing: dict[str, bytes]
    entries: tuple[Entry, ...]


def choose_aircraft(events: int) -> int:
    """How many aircraft a fleet of so many events has, if nothing else was said."""
    return next((count for most, count in AIRCRAFT.items() if events <= most), 200)


def build_sheaf(wish: Wish) -> Sheaf:
    """Every file of the fleet. Pure: the same wish gives the same bytes."""
    chance = Random(wish.seed)  # noqa: S311  (repeatable on purpose)
    crafts = build_crafts(wish.aircraft, chance)
    entries = build_entries(crafts, wish.events, wish.until, chance)
    begins = entries[0].typed.date().isoformat()
    return Sheaf(build_standing(crafts, begins, chance), entries)


def write_fleet(root: Path, wish: Wish) -> Sheaf:
    """Write the fleet and its history into a new folder, its repository made ours."""
    sheaf = build_sheaf(wish)
    root.mkdir(parents=True)
    init_repository(root)
    write_machine_id(root, MACHINE)
    _write_files(root, sheaf)
    stream = b"".join(_build_stream(sheaf, wish.per_commit))
    words = ["fast-import", "--quiet", "--done", "--date-format=raw", "--depth=5"]
    run_git(root, words, stdin=stream, env_extra=_QUICK)
    # A file as young as the index would be read again by every git status.
    time.sleep(1.1)
    run_git(root, ["read-tree", "HEAD"])
    run_git(root, ["update-index", "-q", "--refresh"])
    for _ in range(2):
        # The first one fills the cache of folders without anything new, the second settles it.
        run_git(root, ["status", "--porcelain"], env_extra={"GIT_OPTIONAL_LOCKS": "1"})
    return sheaf


def _write_files(root: Path, sheaf: Sheaf) -> None:
    made: set[str] = set()
    files = [*sheaf.standing.items(), *((entry.path, entry.data) for entry in sheaf.entries)]
    for path, data in files:
        folder = path.rpartition("/")[0]
        if folder not in made:
            (root / folder).mkdir(parents=True, exist_ok=True)
            made.add(folder)
        (root / path).write_bytes(data)


def _build_stream(sheaf: Sheaf, per_commit: int) -> Iterator[bytes]:
    first = sheaf.entries[0].typed
    yield _commit(first, "Begin the fleet", list(sheaf.standing.items()))
    for start in range(0, len(sheaf.entries), per_commit):
        batch = sheaf.entries[start : start + per_commit]
        message = batch[0].message if len(batch) == 1 else f"Record {len(batch)} events"
        yield _commit(batch[-1].typed, message, [(entry.path, entry.data) for entry in batch])
    yield b"done\n"


def _commit(when: datetime, message: str, files: list[tuple[str, bytes]]) -> bytes:
    stamp = f"{when.timestamp():.0f} {when:%z}".encode()
    text = message.encode()
    parts = [
        b"commit refs/heads/main",
        b"committer " + _OWNER + b" " + stamp,
        b"data %d\n%s" % (len(text), text),
    ]
    for path, data in files:
        parts.append(b"M 100644 inline " + path.encode())
        parts.append(b"data %d\n%s" % (len(data), data))
    return b"\n".join(parts) + b"\n"


def main(argv: list[str] | None = None) -> None:
    """Make one fleet, and say what it holds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--events", type=int, default=10_000)
    parser.add_argument("--aircraft", type=int)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--until", type=date.fromisoformat, default=UNTIL)
    parser.add_argument("--per-commit", type=int, default=1)
    chosen = parser.parse_args(argv)
    aircraft = chosen.aircraft or choose_aircraft(chosen.events)
    wish = Wish(chosen.events, aircraft, chosen.seed, chosen.until, chosen.per_commit)
    begun = time.perf_counter()
    sheaf = write_fleet(chosen.folder.absolute(), wish)
    sys.stdout.write(
        f"{len(sheaf.entries)} events and {len(sheaf.standing)} standing files of "
        f"{wish.aircraft} aircraft, {sheaf.entries[0].typed:%Y-%m-%d} to "
        f"{sheaf.entries[-1].typed:%Y-%m-%d}, {wish.per_commit} event(s) a commit, "
        f"in {time.perf_counter() - begun:.1f} s\n"
    )


if __name__ == "__main__":
    main()
