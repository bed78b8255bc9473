"""Figures of the starter programmes: each with its basis, none of them invented."""

from __future__ import annotations

import re

import pytest
from starters.starter_files import Task, as_list, every_starter, tasks_of

BASES = {"rule", "maker", "club", "owner", "common-practice", "unknown"}
BOUNDS = ("low", "high", "ratio_low", "ratio_high", "within")


def all_bases(task: Task) -> list[dict[str, str]]:
    return [task["basis"], *(r["basis"] for r in as_list(task.get("reading")) if "basis" in r)]


@every_starter
def test_every_figure_says_where_it_comes_from(name: str) -> None:
    for id_, task in tasks_of(name).items():
        for basis in all_bases(task):
            assert set(basis) == {"kind", "reference"}, id_
            assert basis["kind"] in BASES, id_
            assert basis["reference"].strip(), id_
        for reading in as_list(task.get("reading")):
            assert reading["name"], id_
            assert reading["unit"], id_
            assert reading["basis"]["reference"].strip(), f"{id_}: {reading['name']}"


@every_starter
def test_no_figure_stands_beside_an_unknown_basis(name: str) -> None:
    for id_, task in tasks_of(name).items():
        if task["basis"]["kind"] == "unknown":
            assert not any("amount" in side for side in task.get("every", ())), id_
        for reading in as_list(task.get("reading")):
            if reading["basis"]["kind"] == "unknown":
                assert not set(reading) & set(BOUNDS), f"{id_}: {reading['name']}"


@every_starter
def test_an_interval_without_its_figure_has_an_unknown_basis(name: str) -> None:
    for id_, task in tasks_of(name).items():
        for side in task.get("every", ()):
            if "counter" in side and "amount" not in side:
                assert task["basis"]["kind"] == "unknown", id_


@every_starter
def test_relative_bounds_have_a_baseline(name: str) -> None:
    for id_, task in tasks_of(name).items():
        for reading in as_list(task.get("reading")):
            relative = set(reading) & {"ratio_low", "ratio_high", "within"}
            if relative:
                assert reading["baseline"] is True, id_
                assert not set(reading) & {"low", "high"}, id_
            if {"low", "high"} <= set(reading):
                assert reading["low"] < reading["high"], id_


@every_starter
def test_reading_names_are_typed_without_quotes_and_once_in_a_task(name: str) -> None:
    for id_, task in tasks_of(name).items():
        names = [reading["name"] for reading in as_list(task.get("reading"))]
        assert len(names) == len(set(names)), id_
        assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", n) for n in names), id_


@every_starter
def test_life_limits_and_replacements_take_no_window(name: str) -> None:
    lived = {id_: task for id_, task in tasks_of(name).items() if task.get("life")}
    for id_, task in lived.items():
        for side in task["every"]:
            assert not set(side) & {"early", "late", "early_days", "late_days"}, id_
        assert task["reset"] == "from-done", id_
    replaced = {id_ for id_ in tasks_of(name) if id_.endswith("-replace")}
    assert replaced <= set(lived)


@every_starter
def test_no_starter_permits_lateness(name: str) -> None:
    for id_, task in tasks_of(name).items():
        for side in task.get("every", ()):
            assert "late" not in side, id_
            assert "late_days" not in side, id_


@pytest.mark.parametrize(
    ("name", "task", "reading", "kind"),
    [
        # Published, so not marked as habit.
        ("fan-jet", "surface-free-play", "play-mm", "club"),
        ("turbine-jet", "failsafe", "engine-answer-s", "rule"),
        ("turbine-jet", "extinguisher-weigh", "weight-loss", "rule"),
        # Nobody published these.
        ("turbine-jet", "leak-down", "drop-15-min", "common-practice"),
        ("fan-jet", "retract-current", "travel-s", "common-practice"),
        ("petrol-giant", "spark-plug", "gap-mm", "common-practice"),
        ("glider-tug", "tow-release-wear", "groove-mm", "common-practice"),
        ("glider-tug", "record-audit", "run-time-difference", "owner"),
    ],
)
def test_habit_is_told_from_publication(name: str, task: str, reading: str, kind: str) -> None:
    readings = {r["name"]: r for r in as_list(tasks_of(name)[task]["reading"])}
    assert readings[reading]["basis"]["kind"] == kind


@pytest.mark.parametrize(
    ("task", "reading"), [("pack-capacity", "resistance"), ("range-check", "distance")]
)
def test_figures_from_memory_are_left_out(task: str, reading: str) -> None:
    readings = {r["name"]: r for r in as_list(tasks_of("fan-jet")[task]["reading"])}
    assert readings[reading]["basis"]["kind"] == "unknown"


def test_turbine_service_hours_are_the_makers_to_give() -> None:
    task = tasks_of("turbine-jet")["turbine-service"]
    assert task["every"] == [{"counter": "engine-minutes"}]
    assert task["basis"] == {
        "kind": "unknown",
        "reference": "read the maker's sheet and set it",
    }
    assert task["grounds"] is True
