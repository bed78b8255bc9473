"""A worklist aims at flying: what only a spell on the shelf asks for is no step of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from commands.bench_fleet import FILES, make_bench_fleet

from fleets import run, run_json

ASKED = ("worklist", "swift", "--until", "2026-07-16", "--on", "2026-07-13")
TASKS = """
          - id: "covers-on"
            title: "Covers on"
            group: "storage"
            start: {when: "layup", days: 30}
          - id: "inhibit"
            title: "Engine inhibited"
            group: "storage"
            start: {when: "layup", days: 30}
          - id: "linkages-free"
            title: "Linkages free after the shelf"
            group: "storage"
            start: {when: "gap", days: 30}
            grounds: true
          - id: "shelf-lock"
            title: "Lock that grounds"
            start: {when: "layup", days: 30}
            grounds: true
          - id: "grease"
            title: "Grease by the month too"
            every: [{months: 1}]
            start: {when: "layup", days: 30}
"""


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    name = "programmes/club.yaml"
    aircraft = "aircraft/swift/aircraft.yaml"
    given = FILES[aircraft].replace("tasks:\n", "tasks:\n" + _GREASED, 1)
    return make_bench_fleet(tmp_path, {name: FILES[name].rstrip() + TASKS, aircraft: given})


_GREASED = '            - {task: "grease", when: "2026-04-14"}\n'


def tasks_of(data: Any) -> set[str]:
    works = [step["work"] for step in data["steps"] if step["work"]]
    return {work["id"] for work in works if work["kind"] == "task"}


def test_only_what_flying_asks_for_is_a_step(fleet: Path) -> None:
    data = run_json(*ASKED, fleet=fleet)
    tasks = tasks_of(data)
    # What grounds, or is past an interval, is asked for whatever else opens it.
    assert {"linkages-free", "shelf-lock", "grease"} <= tasks
    assert tasks.isdisjoint({"covers-on", "inhibit"})
    assert [row["task"] for row in data["only_on_the_shelf"]] == ["covers-on", "inhibit"]
    assert {row["id"] for row in data["place_not_stated"]}.isdisjoint({"covers-on", "inhibit"})


@pytest.mark.parametrize("every", [[], ["--all"]])
def test_they_are_named_in_one_line(fleet: Path, every: list[str]) -> None:
    out = run(*ASKED, *every, fleet=fleet).out
    lines = [line for line in out.splitlines() if "Covers on" in line]
    assert [line.strip() for line in lines] == [
        "only if it stays on the shelf: Covers on; Engine inhibited"
    ]


def test_the_page_has_the_same_line(fleet: Path) -> None:
    run(*ASKED, "--page", str(fleet / "swift.html"), fleet=fleet)
    page = (fleet / "swift.html").read_text()
    assert "only if it stays on the shelf: Covers on; Engine inhibited" in page


def test_a_packless_list_says_nothing_of_the_shelf(tmp_path: Path) -> None:
    fleet = make_bench_fleet(tmp_path)
    assert "shelf:" not in run(*ASKED, fleet=fleet).out
    assert run_json(*ASKED, fleet=fleet)["only_on_the_shelf"] == []
