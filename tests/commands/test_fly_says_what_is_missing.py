"""fly: engine minutes nobody gave, and entries that are seldom what was meant."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest
from event_fleet import FILES, events_of, make_event_fleet

from fleets import run
from register.desk import open_fleet

NO_ALLOWANCE = FILES["aircraft/heron/aircraft.yaml"].partition("        per_flight:")[0]


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path, {"aircraft/heron/aircraft.yaml": NO_ALLOWANCE})


def id_of(fleet: Path) -> str:
    flown = events_of(fleet, "flights")[-1]
    return str(flown.id)[:4]


def test_engine_minutes_not_given_are_said_with_the_lines_that_give_them(fleet: Path) -> None:
    result = run("fly", "heron", "2", "--minutes", "15", fleet=fleet)
    assert (
        "engine minutes not given, so the engine's counter reads at least: tailsheaf" in result.said
    )
    short = id_of(fleet)
    assert f"tailsheaf amend {short} engine_minutes=…" in result.out
    assert "tailsheaf aircraft heron --per-flight engine-minutes=9" in result.out
    assert run("amend", short, "engine_minutes=19", fleet=fleet).exit_code == 0
    ready = run("aircraft", "heron", "--per-flight", "engine-minutes=9", fleet=fleet)
    assert ready.exit_code == 0, ready
    after = run("fly", "heron", "--minutes", "8", fleet=fleet)
    assert "engine minutes" not in after.out


def test_an_aircraft_with_an_allowance_or_no_engine_is_not_asked(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    for name in ("heron", "kestrel"):
        result = run("fly", name, "--minutes", "8", fleet=fleet)
        assert "engine minutes" not in result.out


def test_engine_minutes_come_from_the_last_entry_and_are_an_estimate(fleet: Path) -> None:
    run("fly", "heron", "2", "--minutes", "16", "--engine-minutes", "19", fleet=fleet)
    result = run("fly", "heron", "3", "--minutes", "24", fleet=fleet)
    assert "engine 28.5 min" in result.out
    assert "engine minutes taken from the last entry: 9.5 each" in result.out
    flown = events_of(fleet, "flights")[-1]
    assert (flown.body.engine_minutes, flown.source) == (Decimal("28.5"), "estimated")
    assert flown.note == "engine minutes taken from the entry before: 9.5 each"
    unknown = run("fly", "heron", "--minutes", "8", "--engine-minutes", "?", fleet=fleet)
    assert "engine minutes not given" in unknown.out
    assert events_of(fleet, "flights")[-1].body.engine_minutes is None


def test_one_estimate_given_after_all_leaves_the_other_an_estimate(fleet: Path) -> None:
    run("fly", "heron", "2", "--minutes", "16", "--engine-minutes", "18", fleet=fleet)
    run("fly", "heron", "1", "--note", "gusty", fleet=fleet)
    short = id_of(fleet)
    run("amend", short, "minutes=7", fleet=fleet)
    flown = events_of(fleet, "flights")[-1]
    engine = "engine minutes taken from the entry before: 9 each"
    assert (flown.source, flown.note) == ("estimated", f"gusty; {engine}")
    run("amend", short, "engine_minutes=10", fleet=fleet)
    flown = events_of(fleet, "flights")[-1]
    assert (flown.source, flown.note) == ("later", "gusty")


def test_many_flights_are_recorded_and_pointed_out(fleet: Path) -> None:
    assert "is a lot" not in run("fly", "heron", "20", "--minutes", "99", fleet=fleet).out
    result = run("fly", "heron", "33", "--minutes", "99", fleet=fleet)
    assert "note: 33 flights in one entry of one day is a lot" in result.out
    assert events_of(fleet, "flights")[-1].body.count == 33


def test_nothing_is_taken_from_an_absurd_entry(fleet: Path) -> None:
    long = run("fly", "heron", "--minutes", "61", "--pack", "pk-05", fleet=fleet)
    assert "note: 61 minutes for one flight is long" in long.out
    run("fly", "heron", "33", "--minutes", "33", fleet=fleet)
    result = run("fly", "heron", fleet=fleet)
    assert "minutes taken from the last entry: 8 each" in result.out
    assert "pack taken from the last entry: pk-04" in result.out


def test_the_same_entry_again_is_pointed_out(fleet: Path) -> None:
    run("fly", "heron", "2", "--minutes", "15", fleet=fleet)
    short = id_of(fleet)
    again = run("fly", "heron", "2", "--minutes", "15", fleet=fleet)
    assert f"note: the same entry stands already: {short}; withdraw one" in again.out
    assert len(events_of(fleet, "flights")) == 3
    for other in (
        ["--at", "2026-05-16 10:00", "--minutes", "15"],
        ["--at", "2026-05-15", "--minutes", "15"],
        ["--minutes", "14"],
        ["--after", short, "--minutes", "15"],
    ):
        assert "stands already" not in run("fly", "heron", "2", *other, fleet=fleet).out


def test_flights_before_the_opening_may_be_in_its_figures(tmp_path: Path) -> None:
    opened = NO_ALLOWANCE + '        opening: {as_of: "2026-05-01", counters: {flights: 40}}\n'
    fleet = make_event_fleet(tmp_path, {"aircraft/heron/aircraft.yaml": opened})
    on_it = run("fly", "heron", "--minutes", "8", "--at", "2026-05-01", fleet=fleet)
    assert "before the opening" not in on_it.out
    result = run("fly", "heron", "--minutes", "8", "--at", "2026-04-30", fleet=fleet)
    assert result.exit_code == 0, result
    words = "before the opening of 2026-05-01, whose figures may already hold it: if so"
    assert words in result.said
    [typed] = re.findall(r"so tailsheaf (.*)", result.out)
    assert run(*typed.split(), fleet=fleet).exit_code == 0
    assert len(open_fleet(fleet).ledger.flights("heron")) == 2
