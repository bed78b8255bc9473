"""Many writers at once, and a signal at any moment: what was acknowledged is there, once."""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest
from faults.fleet_at_work import NEXT, Workplace, copy_fleet
from faults.library import SCRIPT
from faults.promises import read_outset, read_problems, read_state, read_status

WRITERS = 24
EACH = 3
# What every writer process does: type its lines one after another, again where it was
# told that another writer was at work.
WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from cli.main import run_in_process
who, root = sys.argv[1], Path(sys.argv[2])
for n in range(int(sys.argv[3])):
    for _ in range(20):
        words = ["snag", "heron", f"told-{who}-{n}"]
        code, out, err = run_in_process(words, now=datetime.now(UTC), cwd=root)
        if code != 4:
            break
    if code != 0 or not out.startswith("recorded: "):
        sys.exit(f"{code}: {out}{err}")
    print(f"told-{who}-{n}", flush=True)
"""
SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGPIPE)
_TOLD = re.compile(rb"told-[a-z0-9]+-\d+")


def make_copy(prepared: Workplace, to: Path) -> Workplace:
    """A copy of the prepared fleet to write to."""
    return Workplace(copy_fleet(prepared.root, to), prepared.env, prepared.lines)


@pytest.fixture
def place(prepared: Workplace, fault_folder: Path) -> Iterator[Workplace]:
    """A copy that is gone after the test."""
    yield make_copy(prepared, fault_folder / "copy")
    shutil.rmtree(fault_folder / "copy")


def count_told(place: Workplace) -> tuple[list[str], list[str]]:
    """The marks of all records in the folder and of all in history, sorted."""
    state = read_state(place, place.root)
    assert not state.said
    in_folder, in_history = [], []
    for path, data in state.files.items():
        for mark in _TOLD.findall(data) if path.endswith(".yaml") else ():
            in_folder.append(mark.decode())
            if state.holds(path):
                in_history.append(mark.decode())
    return sorted(in_folder), sorted(in_history)


def check_quiet(prepared: Workplace, place: Workplace) -> None:
    """Type the next line; then nothing is broken, open or different for the owner."""
    place.types(*NEXT)
    outset = read_outset(prepared)
    after = read_state(place, place.root)
    assert [p for p, data in outset.state.files.items() if after.files.get(p) != data] == []
    assert read_status(place, place.root) == outset.status
    assert place.git("fsck", "--full", "--strict", "--no-dangling", "--no-progress") == ""
    assert place.git("merge-base", "--is-ancestor", outset.state.head, "HEAD") == ""
    assert read_problems(place.root) == outset.problems


class Reader(threading.Thread):
    """Reads the fleet again and again while it is written to."""

    def __init__(self, root: Path):
        super().__init__(daemon=True)
        self.root = root
        self.stops = threading.Event()
        self.reads = 0
        self.seen: set[tuple[str, ...]] = set()

    def run(self) -> None:
        """Until it is told to stop."""
        while not self.stops.is_set():
            self.seen.add(read_problems(self.root))
            self.reads += 1
            time.sleep(0.1)


def test_all_writers_at_once_come_through(prepared: Workplace, place: Workplace) -> None:
    reader = Reader(place.root)
    reader.start()
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, f"w{n}", str(place.root), str(EACH)],
            env=dict(place.env),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for n in range(WRITERS)
    ]
    ended = [writer.communicate(timeout=300) for writer in writers]
    reader.stops.set()
    reader.join(60)
    assert [writer.returncode for writer in writers] == [0] * WRITERS, ended
    told = sorted(mark for out, _ in ended for mark in out.split())
    assert len(told) == WRITERS * EACH
    in_folder, in_history = count_told(place)
    assert in_folder == told
    assert in_history == told
    assert reader.reads > 3
    assert reader.seen == {read_outset(prepared).problems}
    check_quiet(prepared, place)


@dataclass(frozen=True, slots=True)
class Stopped:
    """A line that got a signal: its mark, exit code and words."""

    mark: str
    code: int
    out: str
    err: str

    @property
    def acknowledged(self) -> bool:
        """Whether it said so."""
        return self.out.startswith("recorded: ") or "\nrecorded: " in self.out


def type_and_stop(
    place: Workplace, mark: str, sent: signal.Signals, after: float, *, group: bool
) -> Stopped:
    """Type a line and send a signal `after` seconds, to it alone or to git as well."""
    process = subprocess.Popen(
        [str(SCRIPT), "snag", "heron", mark],
        cwd=place.root,
        env=dict(place.env),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    time.sleep(after)
    try:
        if process.poll() is None:
            (os.killpg if group else os.kill)(process.pid, sent)
    except ProcessLookupError:
        pass
    out, err = process.communicate(timeout=120)
    return Stopped(mark, process.returncode, out, err)


def check_stopped(place: Workplace, one: Stopped) -> None:
    """Its words against folder and history, before any other line is typed."""
    in_folder, in_history = count_told(place)
    there = in_folder.count(one.mark), in_history.count(one.mark)
    assert there in ((0, 0), (1, 0), (1, 1)), (one, there)
    if one.acknowledged:
        assert there == (1, 1), one
    if one.code == 0:
        assert one.acknowledged, one
    if "saved on disk" in one.err:
        assert there[0] == 1, one
    if one.code in (3, 4):
        assert ("saved on disk" in one.err) == (there[0] == 1), (one, there)
    assert one.code != 70, one


def time_line(place: Workplace) -> float:
    """Seconds that a line takes which nobody stops."""
    began = time.monotonic()
    place.types("snag", "heron", "how", "long")
    return time.monotonic() - began


def stop_many(prepared: Workplace, place: Workplace, count: int, seed: int) -> None:
    """Stop `count` lines at random moments of their life, one after another."""
    chance = random.Random(seed)
    # The shortest of three: on a busy machine one alone may be long enough to miss them all.
    lasts = min(time_line(place) for _ in range(3))
    told, codes = [], set()
    for number in range(count):
        # The first third is the interpreter's start, in which nothing can be lost.
        after = lasts * chance.uniform(0.3, 1.1)
        sent = SIGNALS[number % len(SIGNALS)]
        one = type_and_stop(place, f"told-s-{number}", sent, after, group=chance.random() < 0.5)
        check_stopped(place, one)
        codes.add(one.code)
        if one.acknowledged or "saved on disk" in one.err:
            told.append(one.mark)
    assert len(codes) > 1, codes
    check_quiet(prepared, place)
    in_folder, in_history = count_told(place)
    assert in_folder == in_history
    assert len(set(in_folder)) == len(in_folder)
    assert set(told) <= set(in_folder)


def stop_in_lanes(prepared: Workplace, folder: Path, count: int, seed: int) -> None:
    """Two fleets at a time, half of the lines each."""
    lanes = [make_copy(prepared, folder / f"lane-{number}") for number in range(2)]
    with ThreadPoolExecutor(len(lanes)) as threads:
        jobs = [
            threads.submit(stop_many, prepared, lane, count // len(lanes), seed + number)
            for number, lane in enumerate(lanes)
        ]
        for job in jobs:
            job.result()
    for lane in lanes:
        shutil.rmtree(lane.root)


def test_thirty_signals_lose_and_double_nothing(prepared: Workplace, fault_folder: Path) -> None:
    stop_in_lanes(prepared, fault_folder, 30, 20260516)


@pytest.mark.heavy
def test_two_hundred_signals_lose_and_double_nothing(prepared: Workplace, place: Workplace) -> None:
    stop_many(prepared, place, 200, 20260517)


def test_a_closed_output_loses_nothing(prepared: Workplace, place: Workplace) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [str(SCRIPT), "snag", "heron", "told-c-1"],
        cwd=place.root,
        env=dict(place.env),
        stdout=writing,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    os.close(writing)
    assert done.returncode == 130, done
    assert "Traceback" not in done.stderr
    assert count_told(place) == (["told-c-1"], ["told-c-1"])
    check_quiet(prepared, place)
