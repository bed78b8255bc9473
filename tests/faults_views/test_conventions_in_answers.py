"""Every interval and test that an answer gives names its method and which convention was used."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from faults_views.faulty_fleet import make_faulty_fleet
from faults_views.test_part_life_view import write_pumps

from fleets import make_fleet, run, run_json

DAY = "2026-10-01"
#: Free play read on uneven days, closer together later.
PLAY_DAYS = ("2025-04-05", "2025-05-01", "2025-08-20", "2026-03-01", "2026-03-09", "2026-04-11",
             "2026-05-02", "2026-07-19", "2026-08-01", "2026-09-10")  # fmt: skip


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    more = {}
    for n, day in enumerate(PLAY_DAYS):
        id_ = f"p{n:09d}"
        path = f"aircraft/heron/events/{day[:4]}/{day[5:7]}/{day}-reading-{id_}.yaml"
        more[path] = (
            f'record: "reading"\nid: "{id_}"\nwhen: "{day}"\nsubject: "heron"\nname: "play"\n'
            f'value: {0.3 + 0.05 * n + 0.01 * (n % 3):.2f}\nunit: "mm"\n'
        )
    return make_faulty_fleet(tmp_path_factory.mktemp("faulty"), more)


def find_results(answer: Any) -> Iterator[dict[str, Any]]:
    """Every figure, test and curve of an answer: whatever has limits, a chance or a method."""
    if isinstance(answer, dict):
        if "method" in answer or {"low", "high", "level"} <= answer.keys() or "p" in answer:
            yield answer
        for value in answer.values():
            yield from find_results(value)
    elif isinstance(answer, list):
        for value in answer:
            yield from find_results(value)


@pytest.mark.parametrize(
    ("words", "least"),
    [
        (("faults",), 6),
        (("faults", "--figures"), 30),
        (("faults", "heron", "--figures"), 10),
        (("faults", "--compare", "heron", "kestrel"), 9),
        (("trend",), 2),
        (("trend", "heron", "play", "--per", "flights"), 2),
    ],
)
def test_whatever_has_limits_or_a_chance_names_how(
    fleet: Path, words: tuple[str, ...], least: int
) -> None:
    found = list(find_results(run_json(*words, "--on", DAY, fleet=fleet)))
    assert len(found) >= least
    for one in found:
        # The oddest aircraft's chance is that of the comparison beside it, times the aircraft.
        if "aircraft" not in one:
            assert one["method"], one
            assert one["convention"], one


def test_how_a_part_lasts_names_how(tmp_path: Path) -> None:
    pumps = make_fleet(tmp_path, write_pumps())
    asked = ("faults", "--life", "fuel-pump", "--counter", "flights")
    found = [one for one in find_results(run_json(*asked, fleet=pumps)) if "level" in one]
    assert len(found) >= 3
    assert all(one["method"] and one["convention"] for one in found)
    out = " ".join(run(*asked, fleet=pumps).out.split())
    assert "Kaplan-Meier, Greenwood's variance; failures before suspensions at the same age" in out
    assert "two-sided log-log limits" in out
    assert "two-sided normal limits on the log scale, observed information" in out


def test_the_conventions_that_are_easily_mixed_are_told_apart(fleet: Path) -> None:
    gear = run_json("faults", "--figures", "--on", DAY, fleet=fleet)["groups"][0]
    assert "ended by time, 2n + 2 degrees below and 2n above" in gear["time_between"]["convention"]
    for name in ("laplace", "handbook"):
        assert "watch ended by time: every event counts" in gear["trend"][name]["convention"]
    [curve] = gear["cumulative_means"]
    assert "robust variance" in curve["method"]
    assert "events before ends of watch at the same age" in curve["convention"]
    alone = run_json("faults", "heron", "--figures", "--on", DAY, fleet=fleet)["groups"][0]
    assert "exact pivot" in alone["growth"]["power"]["convention"]
    row = run_json("faults", "--compare", "heron", "kestrel", "--on", DAY, fleet=fleet)["rows"][0]
    assert "central: twice the smaller tail" in row["conditional"]["convention"]
    assert "conditional" in row["conditional"]["method"]
    assert "E-test" in row["unconditional"]["method"]
    [play] = run_json("trend", "heron", "play", "--on", DAY, fleet=fleet)["series"]
    assert "uneven spacing" in play["slope"]["convention"]
    assert "uneven spacing" in play["test"]["convention"]
    assert "Sen's ranks" in play["slope"]["convention"]


def test_the_screens_name_them_too(fleet: Path) -> None:
    figures = " ".join(run("faults", "--figures", "--on", DAY, fleet=fleet).out.split())
    methods = figures[figures.index("Methods") :]
    for words in (
        "exact Poisson limits (Garwood 1936), central",
        "chi-square limits of a steady rate, ended by time, 2n + 2 degrees below and 2n above",
        "Laplace, two-sided normal; watch ended by time: every event counts",
        "military handbook (MIL-HDBK-189), two-sided chi-square; watch ended by time",
        # An overhaul can make a trend of its own: 7908 and 7912 of the published aircraft.
        "each aircraft is one watch, not parted at an overhaul",
        "likelihood ratio",
        "robust variance (Lawless & Nadeau 1995), events before ends of watch at the same age",
    ):
        assert words in methods
    compared = run("faults", "--compare", "heron", "kestrel", "--on", DAY, fleet=fleet).out
    compared = " ".join(compared.split())
    assert "conditional binomial limits (Clopper-Pearson), central" in compared
    assert "the E-test beside it is in --json" in compared
    trend = " ".join(run("trend", "heron", "play", "--on", DAY, fleet=fleet).out.split())
    assert "Theil-Sen, exact; Sen's ranks; readings at their real places, uneven spacing" in trend
    assert "(Mann-Kendall, exact; two-sided)" in trend


def test_limits_that_leave_everything_open_are_said_to(fleet: Path) -> None:
    out = run("faults", "--figures", "--on", DAY, fleet=fleet).out
    assert "e-0" not in out
    assert "e+0" not in out
