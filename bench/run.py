"""Measure the goals of speed and print one table of ratios.

    python bench/run.py --sizes 10k,20k                 the goals that bind
    python bench/run.py --sizes 1k --rounds 3           a look, in under a minute
    python bench/run.py --sizes 10k --goals 1,5         some goals only

Both sides of every ratio are timed in this one run, in turn, as whole processes, and the
ratio is the median of the ratios of the rounds. Trust the ratios, not the milliseconds. On a
machine that is not quiet, --clock processor counts what the processes used instead.
Needs PyYAML for goal 4: pip install --group bench.
"""

from __future__ import annotations

import argparse
import os
import platform
import shutil
import sys
import tempfile
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path

from bench import goals, grounds
from bench.measuring import ask, choose_clock
from bench.rows import Row, Trial

_PACKAGES = ("typer", "rich", "ruamel.yaml", "GitPython", "PyYAML")
_CPU_LIST = Path("/proc/cpuinfo")


def read_options(argv: list[str] | None) -> argparse.Namespace:
    """The command line."""
    form = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=form)
    parser.add_argument("--sizes", default="10k", help="numbers of events, as 1k,10k,20k")
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--goals", default="1,2,3,4,5,6,7,8,9,10")
    parser.add_argument("--row", type=int, help="events in a row for goal 6")
    parser.add_argument("--clock", choices=("wall", "processor"), default="wall")
    parser.add_argument("--dir", type=Path, help="keep the fleets here and use them again")
    parser.add_argument("--code", type=Path, help="measure the program in another source tree")
    return parser.parse_args(argv)


def read_size(text: str) -> int:
    """1k, 10k, 500."""
    word = text.strip().lower()
    return int(word[:-1]) * 1000 if word.endswith("k") else int(word)


def render_table(rows: list[Row]) -> str:
    """The table in Markdown."""
    lines = [
        "| goal | what | events | ours | against | other | ratio | limit | met | note |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for row in rows:
        sign = "+" if row.unit == "MiB" else ""
        limit = "-" if row.limit is None else f"{sign}{row.limit:.2f}"
        cells = (
            *(str(row.goal), row.what, row.size, f"{row.ours:.0f} {row.unit}", row.against),
            *(f"{row.other:.0f} {row.unit}", f"{row.ratio:.2f}", limit, row.met, row.note),
        )
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def describe_machine(ground: grounds.Ground, load: str) -> str:
    """What the figures were taken on."""
    model = platform.processor() or platform.machine()
    if _CPU_LIST.exists():
        found = [line for line in _CPU_LIST.read_text("utf-8").split("\n") if "model name" in line]
        model = found[0].partition(":")[2].strip() if found else model
    versions = ", ".join(f"{name} {_version(name)}" for name in _PACKAGES)
    git = ask((shutil.which("git") or "git", "version"), ground.env).strip()
    return (
        f"Machine: {os.cpu_count()} x {model}, {platform.system()} {platform.release()}, {git}, "
        f"Python {platform.python_version()}; {versions}; load {load}.\n"
    )


def _version(package: str) -> str:
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "not installed"


def say_load() -> str:
    """How busy the machine was over the last minute."""
    return f"{os.getloadavg()[0]:.1f}"


def main(argv: list[str] | None = None) -> None:
    """Make the fleets, measure, print."""
    options = read_options(argv)
    choose_clock(options.clock)
    chosen = frozenset(int(word) for word in options.goals.split(","))
    sizes = sorted(read_size(word) for word in options.sizes.split(","))
    row = options.row or (1000 if options.rounds >= 9 else 4 * options.rounds)
    with tempfile.TemporaryDirectory() as scratch:
        work = (options.dir or Path(scratch)).absolute()
        ground = grounds.make_ground(work, datetime.now(UTC).date(), options.code)
        before = say_load()
        rows = goals.measure_start(ground, options.rounds) if 7 in chosen else []
        for events in sizes:
            fleet = grounds.make_fleet(ground, events)
            trial = Trial(ground, fleet, events, options.rounds, row)
            rows.extend(goals.measure_size(trial, chosen))
        shutil.rmtree(work / "copies", ignore_errors=True)
        rows.extend(goals.growth_of(rows))
        rows.sort(key=lambda item: item.goal)
        machine = describe_machine(ground, f"{before} before, {say_load()} after")
    commits = ", ".join(f"{grounds.per_commit(events)} at {events}" for events in sizes)
    clock = "" if options.clock == "wall" else "Processor time, not wall. "
    sys.stdout.write(
        f"{machine}{clock}Medians of {options.rounds} rounds; events a commit: {commits}.\n\n"
    )
    sys.stdout.write(render_table(rows))


if __name__ == "__main__":
    main()
