"""Time a handover and its receipt against git's bare pipe: `python -m bench.handing DIR`.

DIR is an empty or missing folder for the work. All sides are run in turn, each line as a
process of its own; what is printed are medians of seconds on the clock and of the processor's
own, with those of git in it, and their ratios. The first round finds nothing kept.

Beside the pipe stand three floors, so that a ratio can be judged: what git alone takes for the
calls that a handover must make, one parse by a C library of every file of the fleet, and the
writing of as many files as are received, each as durable as a record.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from statistics import median

from bench.fleet import Wish, write_fleet
from register.git.apply import save_paths
from register.git.commit import init_repository

#: 24,000 events on four aircraft, of which one has a good 5,000 records of its own.
EVENTS, AIRCRAFT = 24_000, 4
#: So many flying days reach back eight decades; git takes no dates before 1970.
UNTIL = date(2054, 5, 16)
#: As the console script begins and ends, but with a clock of its own.
_LINE = (
    "import gc, sys; gc.set_threshold(200_000, 50, 50);"
    "from datetime import datetime; from pathlib import Path;"
    "from cli.main import run_in_process;"
    "code, out, err = run_in_process(sys.argv[2:], cwd=Path(sys.argv[1]),"
    "now=datetime.fromisoformat('2054-06-01T12:00+00:00'));"
    "gc.disable(); gc.freeze();"
    "sys.exit(err if code else 0)"
)


def type_line(fleet: Path, *words: str) -> None:
    """One line typed in a fleet on a day after its last record, in a new process."""
    command = [sys.executable, "-c", _LINE, str(fleet), *words]
    subprocess.run(command, check=True)  # noqa: S603  (our own program)


#: git with the head-room that the program gives it as well.
_ROOMY = {**os.environ, "MALLOC_TOP_PAD_": "16777216"}


def pipe(fleet: Path, aircraft: str, target: Path, env: dict[str, str] | None = None) -> None:
    """The aircraft's folder with its history, as git alone would carry it: nothing left out."""
    git = shutil.which("git") or "git"
    begin = [git, "init", "-q", "--bare", str(target)]
    out = [git, "-C", str(fleet), "fast-export", "main", "--", f":(top)aircraft/{aircraft}"]
    into = [git, "--git-dir", str(target), "fast-import", "--quiet"]
    subprocess.run(begin, check=True)  # noqa: S603  (git, in folders of our own)
    with subprocess.Popen(out, stdout=subprocess.PIPE, env=env) as source:  # noqa: S603
        subprocess.run(into, stdin=source.stdout, check=True, env=env)  # noqa: S603
    if source.returncode:
        sys.exit("git fast-export failed")


def git_alone(fleet: Path, aircraft: str, target: Path) -> None:
    """What a handover must ask of git, with nobody reading the answers.

    The history, the bytes of every record in it, a new history written, checked and read whole
    for the search, and one file of it.
    """
    log = ("log", "--all", "--raw", "-z", "--no-renames", "--no-abbrev", "--root", "--format=")
    said = _git("-C", str(fleet), *log)
    ids = {piece.split(b" ")[3] for piece in said.split(b"\0") if piece.startswith(b":")}
    _git("-C", str(fleet), "cat-file", "--batch", "--buffer", fed=b"\n".join(sorted(ids)) + b"\n")
    pipe(fleet, aircraft, target, _ROOMY)
    bare = ("--git-dir", str(target))
    _git(*bare, "fsck", "--full", "--strict", "--no-progress")
    _git(*bare, "cat-file", "--batch-all-objects", "--batch", "--unordered", "--buffer")
    _git(*bare, "rev-list", "--objects", "main")
    _git(*bare, "bundle", "create", "--quiet", str(target.with_suffix(".bundle")), "main")


def _git(*args: str, fed: bytes = b"") -> bytes:
    command = [shutil.which("git") or "git", *args]
    done = subprocess.run(command, input=fed, check=True, capture_output=True, env=_ROOMY)  # noqa: S603
    return done.stdout


def parse_alone(fleet: Path) -> None:
    """Every file of the fleet read and parsed once, in C."""
    yardstick = Path(__file__).parent / "yardsticks/yaml_load.py"
    command = [sys.executable, str(yardstick), str(fleet)]
    subprocess.run(command, check=True, capture_output=True)  # noqa: S603


def write_alone(fleet: Path, aircraft: str, target: Path) -> None:
    """As many files as are received, each flushed to the disk, and each folder once."""
    source = fleet / "aircraft" / aircraft
    for folder, _, names in os.walk(source):
        there = target / Path(folder).relative_to(source)
        there.mkdir(parents=True)
        for name in names:
            with (there / name).open("wb") as file:
                file.write((Path(folder) / name).read_bytes())
                file.flush()
                os.fsync(file.fileno())
        held = os.open(there, os.O_RDONLY)
        os.fsync(held)
        os.close(held)


def make_buyer(folder: Path) -> Path:
    """An empty fleet of somebody else's."""
    folder.mkdir()
    (folder / "fleet.yaml").write_text('schema: 1\nname: "x"\nhome_zone: UTC\n', "utf-8")
    init_repository(folder)
    save_paths(folder, ["fleet.yaml"], "Begin")
    return folder


def timed(work: Callable[[], None]) -> tuple[float, float]:
    """How long it took, in seconds: on the clock, and of the processor."""
    begun, worked = time.perf_counter(), _worked()
    work()
    return time.perf_counter() - begun, _worked() - worked


def _worked() -> float:
    used = [resource.getrusage(who) for who in (resource.RUSAGE_CHILDREN, resource.RUSAGE_SELF)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def measure(folder: Path, rounds: int) -> dict[str, list[tuple[float, float]]]:
    """Every step in turn, so many rounds."""
    fleet = folder / "fleet"
    if not fleet.exists():
        write_fleet(fleet, Wish(EVENTS, AIRCRAFT, until=UNTIL))
    aircraft = sorted(path.name for path in (fleet / "aircraft").iterdir())[0]
    took: dict[str, list[tuple[float, float]]] = {}
    for _ in range(rounds):
        turn = folder / f"turn-{time.time_ns()}"
        turn.mkdir()
        buyer, file = make_buyer(turn / "buyer"), str(turn / "file")
        for name, work in (
            ("pipe", lambda: pipe(fleet, aircraft, turn / "bare.git")),  # noqa: B023
            ("git alone", lambda: git_alone(fleet, aircraft, turn / "alone.git")),  # noqa: B023
            ("one parse in C", lambda: parse_alone(fleet)),
            ("files written alone", lambda: write_alone(fleet, aircraft, turn / "files")),  # noqa: B023
            ("handover", lambda: type_line(fleet, "handover", aircraft, file, "--copy")),  # noqa: B023
            ("receive, shown", lambda: type_line(buyer, "receive", file)),  # noqa: B023
            ("receive, taken in", lambda: type_line(buyer, "receive", file, "--take")),  # noqa: B023
            ("receive, again", lambda: type_line(buyer, "receive", file, "--take")),  # noqa: B023
        ):
            took.setdefault(name, []).append(timed(work))
    return took


def main(argv: list[str] | None = None) -> None:
    """Measure, and print one line a step."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--rounds", type=int, default=3)
    chosen = parser.parse_args(argv)
    chosen.folder.mkdir(parents=True, exist_ok=True)
    before = os.getloadavg()[0]
    took = measure(chosen.folder.absolute(), chosen.rounds)
    bare = [median(column) for column in zip(*took["pipe"], strict=True)]
    for name, rounds in took.items():
        clock, own = (median(column) for column in zip(*rounds, strict=True))
        told = f"{clock:.2f} s, {clock / bare[0]:.1f} x the pipe"
        sys.stdout.write(f"{name}: {told}; {own:.2f} s of processor, {own / bare[1]:.1f} x\n")
    sys.stdout.write(f"load {before:.1f} before, {os.getloadavg()[0]:.1f} after\n")


if __name__ == "__main__":
    main()
