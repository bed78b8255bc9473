"""faults --life: failed or suspended, seen from new or later, and what an interval lets through."""

from __future__ import annotations

import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from faults_views.faulty_fleet import Diary
from lifelines import KaplanMeierFitter, WeibullFitter  # type: ignore[import-untyped]

from fleets import Golden, make_fleet, run, run_json

#: Flights at which each pump failed; None: still going at the last.
AGES = (12, 18, 25, 31, 33, 40, 44, 52, 55, 61, 66, 70, 75)
GOING = (20, 35, 48, 80, 80)
FIRST = date(2025, 4, 1)
PROGRAMME = """\
id: prgpump001
title: "Pump"
tasks:
  - id: "pump-change"
    on: {part_kind: "fuel-pump"}
    every: [{counter: "flights", amount: 30}]
    basis: {kind: "owner", reference: "guess"}
"""


def write_pumps() -> dict[str, str]:
    """One aircraft for each pump: it flies until the pump fails, or until today."""
    diary = Diary()
    files = {"programmes/pump.yaml": PROGRAMME}
    ages = [(age, True) for age in AGES] + [(age, False) for age in GOING]
    for n, (age, failed) in enumerate(ages):
        name, pump = f"jet-{n}", f"pump-{n}"
        files[f"aircraft/{name}/aircraft.yaml"] = f'title: "{name}"\nprogrammes: ["pump"]\n'
        files[f"parts/{pump}/part.yaml"] = (
            'kind: "fuel-pump"\ncounters: ["flights", "engine-minutes"]\n'
        )
        put = f'part: "{pump}"\naircraft: "{name}"\nposition: "fuel-pump"\n'
        diary.add(f"parts/{pump}", "install", FIRST, put)
        last = FIRST + timedelta(days=30)
        diary.fly(name, last, age)
        if failed:
            diary.snag(name, last, "pump stops", 'position: "fuel-pump"\nmode: "stops-in-use"\n')
            off = f'part: "{pump}"\n'
            diary.add(f"parts/{pump}", "remove", last + timedelta(days=1), off)
    return {**files, **diary.files}


@pytest.fixture(scope="module")
def pumps(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_fleet(tmp_path_factory.mktemp("pumps"), write_pumps())


def life(fleet: Path, *words: str) -> Any:
    return run_json("faults", "--life", "fuel-pump", "--counter", "flights", *words, fleet=fleet)


def test_the_screen(pumps: Path, golden: Golden, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    result = run("faults", "--life", "fuel-pump", "--counter", "flights", fleet=pumps)
    assert result.exit_code == 0, result
    assert all(len(line) <= 80 for line in result.out.splitlines())
    golden("faults/life-80", result.out)


def test_curve_and_fit_are_those_of_another_library(pumps: Path) -> None:
    answer = life(pumps)
    ages = [*AGES, *GOING]
    failed = [True] * len(AGES) + [False] * len(GOING)
    curve = KaplanMeierFitter().fit(ages, failed)
    assert (answer["watched"], answer["failed"]) == (len(ages), len(AGES))
    for step in answer["survival"]:
        assert step["share"] == pytest.approx(float(curve.predict(step["at"])), abs=1e-9)
    fit = WeibullFitter().fit(ages, failed)
    assert answer["weibull"]["shape"]["value"] == pytest.approx(fit.rho_, rel=1e-3)
    assert answer["weibull"]["scale"]["value"] == pytest.approx(fit.lambda_, rel=1e-3)
    assert answer["says"].startswith("They wear out")


def test_what_an_interval_lets_through(pumps: Path) -> None:
    [interval] = life(pumps)["intervals"]
    share = interval["weibull"]
    assert (interval["what"], interval["amount"]) == ("task pump-change", 30)
    assert share["low"] < share["value"] < share["high"]
    ends = f"{share['low'] * 100:.0f}-{share['high'] * 100:.0f} %"
    one_in = round(1 / share["value"])
    assert interval["says"] == f"at 30 flights, about 1 in {one_in} would have failed ({ends})"


def test_without_the_extra_the_curve_stands_and_the_line_is_given(
    pumps: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("scipy", "scipy.special", "scipy.optimize", "scipy.stats"):
        monkeypatch.setitem(sys.modules, name, None)
    result = run("faults", "--life", "fuel-pump", "--counter", "flights", fleet=pumps)
    assert result.exit_code == 0
    assert "pip install" in " ".join(result.out.split())
    assert "at 30 flights, about 1 in" in result.out


PLACE = 'part: "{}"\naircraft: "heron"\nposition: "{}"\n'


def one_aircraft(tmp_path: Path, parts: dict[str, str], end: str, snag: str = "") -> Any:
    """Parts of one aircraft that flew ten times; what became of the first."""
    diary = Diary()
    diary.files["aircraft/heron/aircraft.yaml"] = 'title: "Heron"\n'
    for name, text in parts.items():
        diary.files[f"parts/{name}/part.yaml"] = f'kind: "servo"\n{text}'
        diary.add(f"parts/{name}", "install", FIRST, PLACE.format(name, name))
    last = FIRST + timedelta(days=7)
    diary.fly("heron", last, 10)
    first = next(iter(parts))
    if snag:
        diary.snag("heron", last, "buzz", f'position: "{first}"\n{snag}')
    if end:
        record, _, lines = end.partition("|")
        diary.add(f"parts/{first}", record, last + timedelta(days=1), lines.format(first))
    fleet = make_fleet(tmp_path, diary.files)
    return run_json("faults", "--life", "servo", fleet=fleet)


REMOVE = 'remove|part: "{}"\n'


@pytest.mark.parametrize(
    ("end", "snag", "failed"),
    [
        ("", "", False),
        (REMOVE, "", False),
        (REMOVE, 'mode: "noisy"\n', True),
        ('condition|part: "{}"\ncondition: "scrapped"\n', "", True),
        ('condition|part: "{}"\ncondition: "quarantined"\n', "", False),
        ("", 'mode: "noisy"\n', False),
    ],
)
def test_failed_or_suspended(tmp_path: Path, end: str, snag: str, failed: bool) -> None:
    [part] = one_aircraft(tmp_path, {"sv-1": ""}, end, snag)["parts"]
    assert (part["failed"], part["age"]) == (failed, 10)


def test_a_cosmetic_snag_ends_no_life(tmp_path: Path) -> None:
    diary = Diary()
    diary.files["aircraft/heron/aircraft.yaml"] = 'title: "Heron"\n'
    diary.files["parts/sv-1/part.yaml"] = 'kind: "servo"\n'
    diary.add("parts/sv-1", "install", FIRST, PLACE.format("sv-1", "servo"))
    diary.fly("heron", FIRST + timedelta(days=1), 4)
    lines = 'aircraft: "heron"\nposition: "servo"\ntext: "label gone"\nseverity: "cosmetic"\n'
    diary.add("aircraft/heron", "snag", FIRST + timedelta(days=2), lines)
    diary.add("parts/sv-1", "remove", FIRST + timedelta(days=3), 'part: "sv-1"\n')
    fleet = make_fleet(tmp_path, diary.files)
    [part] = run_json("faults", "--life", "servo", fleet=fleet)["parts"]
    assert part["failed"] is False


def test_opening_counters_and_unknown_ages(tmp_path: Path) -> None:
    opening = "opening: {{as_of: 2025-01-01, counters: {{flights: {{value: {}, known: {}}}}}}}\n"
    parts = {
        "sv-1": "",
        "sv-2": opening.format(40, "known"),
        "sv-3": opening.format(30, "unknown"),
    }
    answer = one_aircraft(tmp_path, parts, "")
    told = {
        part["part"]: (part["entry"], part["age"], part["left_out"]) for part in answer["parts"]
    }
    assert told == {
        "sv-1": (0, 10, None),
        "sv-2": (40, 50, None),
        "sv-3": (None, None, "unknown-age"),
    }
    assert answer["left_out"]["unknown-age"] == ["sv-3"]
    assert answer["watched"] == 2
    assert "Too few to tell: 0 of 2 failed" in answer["says"]
