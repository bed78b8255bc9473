"""Every call that changes the fleet's folder can fail, and no promise breaks."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path

import pytest
from faults import promises
from faults.conftest import AFTER_INTERRUPTED
from faults.fleet_at_work import Workplace, copy_fleet
from faults.library import COUNT, KINDS, quick_folder, run_faulted
from faults.many import Point, Scene, Table, Trials, points_of

A_SEED = 20260516
SAMPLED = ("fly", "swap")
EACH = 3
BY_SCRIPT = ("kill before", "ENOSPC once", "power cut")


def tell(request: pytest.FixtureRequest, table: Table) -> None:
    """Show the table in the run's own report."""
    reporter = request.config.pluginmanager.get_plugin("terminalreporter")
    assert reporter is not None
    for line in ("", "runs/broken promises", *table.render().splitlines()):
        reporter.write_line(line)


def all_points(scenes: dict[str, Scene], *names: str) -> list[Point]:
    """Every point of some lines, or of all."""
    return [
        point
        for name in names or scenes
        for kind in KINDS
        for point in points_of(scenes[name], kind)
    ]


def test_the_library_counts_git_as_well(places: dict[str, Workplace], tmp_path: Path) -> None:
    place = places["fly"]
    root = copy_fleet(place.root, tmp_path / "fleet")
    ran = run_faulted(root, place.lines["fly"].words, COUNT, 0, place.env)
    assert ran.code == 0, ran
    assert not ran.fired
    assert len(ran.ops) > 80
    # One link for the record, at least four for git's objects; their flushes; every kind.
    assert ran.ops.count("l") >= 5
    assert ran.ops.count("s") > 10
    assert set("owslurdt") <= set(ran.ops)


def test_a_broken_promise_is_seen(places: dict[str, Workplace]) -> None:
    place = places["fly"]
    line = place.lines["fly"]
    _, wanted = promises.run_clean(place, line)
    with tempfile.TemporaryDirectory(dir=quick_folder()) as beside:
        root = copy_fleet(place.root, Path(beside) / "fleet")
        ran = run_faulted(root, line.words, COUNT, 0, place.env)
        old = promises.read_outset(place).state
        (record,) = promises.new_records(old, promises.read_state(place, root))
        (root / record).write_bytes((root / record).read_bytes()[:40])
        (root / "unstaged.txt").write_text("lost\n", "utf-8")
        (root / ".git/refs/heads/main.lock").touch()
        said = "\n".join(promises.judge(place, line, root, ran, wanted))
    for says in ("is not whole", "said recorded and it is not", "unstaged.txt", "main.lock"):
        assert says in said
    assert "the next command fails" in said


def test_a_sample_of_points_breaks_no_promise(everyday: dict[str, Scene], trials: Trials) -> None:
    chance = random.Random(A_SEED)
    points = all_points(everyday, *SAMPLED)
    groups: dict[tuple[str, str], list[Point]] = {}
    for point in points:
        groups.setdefault((point.line, point.kind.name), []).append(point)
    sample = [point for group in groups.values() for point in chance.sample(group, EACH)]
    assert len(sample) == EACH * len(SAMPLED) * len(KINDS)
    assert trials.run(sample).all_broken == []


def test_the_console_script_breaks_no_promise(everyday: dict[str, Scene]) -> None:
    chance = random.Random(A_SEED)
    points = [point for point in all_points(everyday, *SAMPLED) if point.kind.name in BY_SCRIPT]
    unharmed = [Point(name, COUNT, 0) for name in (*SAMPLED, "save", AFTER_INTERRUPTED)]
    by_script = Trials(everyday, forks=False)
    table = by_script.run([*unharmed, *chance.sample(points, 6)])
    by_script.close()
    assert table.all_broken == []


@pytest.mark.heavy
def test_no_point_breaks_a_promise(
    everyday: dict[str, Scene], trials: Trials, request: pytest.FixtureRequest
) -> None:
    table = trials.run(all_points(everyday))
    tell(request, table)
    assert table.all_broken == []
