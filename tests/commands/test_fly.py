"""fly: flights of one aircraft, in one line."""

from __future__ import annotations

import subprocess
from decimal import Decimal
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from fleets import read_files, run, run_json
from register.desk import open_fleet


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def test_each_minute_is_kept_flight_by_flight(fleet: Path) -> None:
    result = run("fly", "heron", "3", "--each", "7,8,6", "--pack", "none", fleet=fleet)
    assert result.exit_code == 0, result
    assert "3 flights of heron on 2026-05-16, 7+8+6 min, no pack" in result.out
    flown = events_of(fleet, "flights")[-1]
    assert (flown.body.count, flown.body.each) == (3, (7, 8, 6))
    assert flown.body.uses == ()
    assert flown.moment.instant is None
    assert flown.path.startswith("aircraft/heron/events/2026/05/2026-05-16-flights-")


def test_one_line_is_one_commit_of_one_file(fleet: Path) -> None:
    run("fly", "heron", "2", "--minutes", "15", "--pack", "pk-05", fleet=fleet)
    shown = subprocess.run(
        ["git", "show", "--stat", "--format=%s", "HEAD"],
        cwd=fleet,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert shown.startswith("Log 2 flights of heron\n")
    assert "1 file changed" in shown
    status = subprocess.run(
        ["git", "status", "--porcelain"], cwd=fleet, capture_output=True, text=True, check=True
    )
    assert status.stdout == ""


def test_minutes_and_packs_not_given_come_from_the_last_entry_and_that_is_said(fleet: Path) -> None:
    result = run("fly", "heron", "3", fleet=fleet)
    assert "minutes taken from the last entry: 8 each" in result.out
    assert "pack taken from the last entry: pk-04" in result.out
    flown = events_of(fleet, "flights")[-1]
    assert flown.body.minutes == 24
    assert flown.source == "estimated"
    assert flown.note == "minutes taken from the entry before: 8 each"
    short = result.out.partition("amend ")[2].split()[0]
    mended = run("amend", short, "minutes=21", fleet=fleet)
    assert "minutes 24 -> 21" in mended.out
    flown = events_of(fleet, "flights")[-1]
    assert (flown.body.minutes, flown.source, flown.note) == (Decimal(21), "later", None)


def test_a_first_entry_has_no_minutes_to_take(fleet: Path) -> None:
    result = run("fly", "kestrel", fleet=fleet)
    assert "minutes not known" in result.out
    flown = events_of(fleet, "flights")[-1]
    assert (flown.body.count, flown.body.minutes, flown.body.uses) == (1, None, None)
    ledger = open_fleet(fleet).ledger
    assert ledger.value(("aircraft", "kestrel"), "minutes").is_open


def test_a_pack_taken_off_the_aircraft_is_no_longer_offered(fleet: Path) -> None:
    run("remove", "pk-04", fleet=fleet)
    result = run("fly", "heron", fleet=fleet)
    assert "pk-04" not in result.out
    assert events_of(fleet, "flights")[-1].body.uses is None


@pytest.mark.parametrize(
    ("line", "code", "words"),
    [
        (["herron"], "aircraft-unknown", "did you mean heron?"),
        (["heron", "-1"], "amount-wrong", "give 1"),
        (["heron", "0"], "amount-unlikely", "from 1 to 500"),
        (["heron", "501"], "amount-unlikely", "from 1 to 500"),
        (["heron", "two"], "amount-wrong", "whole number"),
        (["heron", "2", "--minutes=-4"], "amount-wrong", "12"),
        (["heron", "2", "--minutes", "49h"], "amount-unlikely", "12"),
        (["heron", "2", "--each", "7,8,6"], "each-count", "2 values"),
        (["heron", "--each", "7", "--minutes", "7"], "minutes-twice", "one of the two"),
        (["heron", "--pack", "pk04"], "part-unknown", "pk-04"),
        (["heron", "--at", "2026-02-30"], "date-impossible", "year-month-day"),
        (["heron", "--at", "12.5."], "date-form", "year-month-day"),
        (["heron", "--at", "2027-05-16"], "date-ahead", "2026-05-16"),
        (["heron", "--after", "zzzz"], "event-unknown", "history"),
        (["heron", "--after", "f1rs:3"], "after-wrong", "f1rs:2"),
        (["heron", "--counter", "wheelies=2"], "counter-unknown", "flights"),
        (["heron", "--source", "dream"], "source-unknown", "later"),
    ],
)
def test_a_wrong_line_writes_nothing_and_says_what_to_type(
    fleet: Path, line: list[str], code: str, words: str
) -> None:
    before = read_files(fleet)
    answer = run_json("fly", *line, fleet=fleet, exit_code=2)
    assert read_files(fleet) == before
    assert answer["error"]["code"] == code
    assert words in answer["error"]["mend"]


def test_unlikely_flights_are_recorded_and_pointed_out(fleet: Path) -> None:
    run("fly", "bulwark", "--minutes", "9", fleet=fleet)
    result = run("fly", "bulwark", "--minutes", "9", "--strict", fleet=fleet)
    assert "note: bulwark is not in service (being built)" in result.out
    assert result.exit_code == 1
    early = run("fly", "heron", "--minutes", "9", "--at", "2026-03-01", fleet=fleet)
    assert "before the first record of heron (2026-04-04)" in early.out
    assert early.exit_code == 0
    long = run("fly", "heron", "--minutes", "7:30", fleet=fleet)
    assert "450 minutes for one flight is long" in long.out


def test_a_rejected_pack_and_a_failed_check_are_pointed_out(fleet: Path) -> None:
    run("condition", "pk-04", "rejected", fleet=fleet)
    run("done", "surface-play", "heron", "-r", "2.4mm", fleet=fleet)
    result = run("fly", "heron", "--pack", "pk-04", "--minutes", "8", fleet=fleet)
    assert "note: pk-04 is recorded as rejected" in result.out
    assert "note: flown without surface-play" in result.out
    assert events_of(fleet, "flights")[-1].body.count == 1


def test_a_flight_after_the_third_of_a_day_takes_that_day(fleet: Path) -> None:
    result = run("fly", "heron", "--minutes", "6", "--after", "f1rs:1", fleet=fleet)
    assert result.exit_code == 0, result
    flown = next(event for event in events_of(fleet, "flights") if event.id != "f1rstaaaaa")
    assert flown.moment.text == "2026-05-09"
    assert (flown.after.event, flown.after.flight) == ("f1rstaaaaa", 1)
    wrong = run("fly", "heron", "--at", "today", "--after", "f1rs", fleet=fleet)
    assert wrong.exit_code == 2
    assert "leave --at out" in wrong.err


def test_json_names_what_was_written(fleet: Path) -> None:
    answer = run_json("fly", "heron", "2", "--minutes", "15", "--by", "nobody", fleet=fleet)
    [written] = answer["written"]
    assert written["kind"] == "flights"
    assert (fleet / written["path"]).is_file()
    assert any("nobody" in text for text in answer["warnings"])


def test_who_and_what_else_is_kept(fleet: Path) -> None:
    run(
        *("fly", "heron", "2", "--minutes", "15", "--landings", "5"),
        *("--counter", "gear-cycles=4", "--by", "tom"),
        *("--note", "gusty", "--source", "from-paper", "--at", "sat 14:20"),
        fleet=fleet,
    )
    flown = events_of(fleet, "flights")[-1]
    assert (flown.by, flown.note, flown.source) == ("tom", "gusty", "from-paper")
    assert flown.moment.text == "2026-05-16T14:20+02:00"
    assert dict(flown.body.gained) == {"landings": 5, "gear-cycles": 4}
    assert "-1420-flights-" in flown.path
