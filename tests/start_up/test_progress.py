"""A bar after a second, never before, and nothing of it left behind."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

from cli.progress import WIDTH, Progress
from fleets import make_fleet
from register.desk import read_records


def ticking(step: float) -> Iterator[float]:
    """A clock that goes on by a step each time it is read."""
    now = 0.0
    while True:
        yield now
        now += step


def test_a_quick_reading_shows_nothing() -> None:
    out, clock = io.StringIO(), ticking(0.01)
    progress = Progress(out, lambda: next(clock))
    for n in range(50):
        progress.tell(n, 50)
    progress.end()
    assert out.getvalue() == ""


def test_a_long_reading_shows_how_far_and_cleans_up() -> None:
    out, clock = io.StringIO(), ticking(0.3)
    progress = Progress(out, lambda: next(clock))
    for n in range(0, 1000, 100):
        progress.tell(n, 1000)
    progress.end()
    shown = out.getvalue()
    assert "reading 900 of 1000 files" in shown
    assert "#" * (WIDTH * 9 // 10) + "." in shown
    assert shown.endswith("\r")


def test_stages_of_long_work_follow_each_other_on_one_line() -> None:
    out = io.StringIO()
    progress = Progress(out, lambda: 0.0, patience=0.0)
    progress.tell_stage("reading the history", 0, 0)
    progress.tell_stage("rewriting", 50, 100)
    progress.tell_stage("rewriting", 50, 100)
    progress.end()
    lines = out.getvalue().split("\r")[1:]
    assert [line.rstrip() for line in lines] == [
        "reading the history ...", "rewriting  " + "#" * 15 + "." * 15, "", "",
    ]  # fmt: skip
    assert {len(line) for line in lines[:3]} == {79}


def test_the_desk_tells_while_it_reads(tmp_path: Path) -> None:
    events = {
        f"aircraft/heron/events/2026/05/n{n:03d}.yaml": f'record: "note"\nid: "n{n:09d}"\n'
        'when: "2026-05-16"\naircraft: "heron"\ntext: "x"\n'
        for n in range(250)
    }
    fleet = make_fleet(tmp_path, {"aircraft/heron/aircraft.yaml": 'title: "H"\n', **events})
    told: list[tuple[int, int]] = []
    read_records(fleet, None, lambda done, of: told.append((done, of)))
    assert told == [(0, 252), (100, 252), (200, 252)]
