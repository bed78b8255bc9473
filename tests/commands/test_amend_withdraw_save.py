"""amend, withdraw, save: mending what was written."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from fleets import read_files, run, run_json
from register.desk import open_fleet

FIRST = "aircraft/heron/events/2026/05/2026-05-09-flights-f1rstaaaaa.yaml"


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def flown(fleet: Path) -> object:
    return open_fleet(fleet).ledger.value(("aircraft", "heron"), "flights").low


def test_new_values_count_and_the_old_file_stays(fleet: Path) -> None:
    old = read_files(fleet)[FIRST]
    result = run("amend", "f1rs", "count=3", "minutes=0.4h", "note=counted again", fleet=fleet)
    assert result.exit_code == 0, result
    assert "count 2 -> 3, minutes 16 -> 24, note none -> counted again" in result.said
    assert read_files(fleet)[FIRST] == old
    event = events_of(fleet, "flights")[0]
    assert (event.body.count, event.body.minutes, event.note) == (3, 24, "counted again")


def test_an_empty_value_takes_it_out(fleet: Path) -> None:
    run("amend", "f1rs", "uses=", "minutes=", fleet=fleet)
    body = events_of(fleet, "flights")[0].body
    assert (body.uses, body.minutes) == (None, None)


def test_no_pack_is_another_thing_than_none_named(fleet: Path) -> None:
    run("amend", "f1rs", "uses=none", fleet=fleet)
    assert events_of(fleet, "flights")[0].body.uses == ()


def test_minutes_one_by_one_and_back_to_a_total(fleet: Path) -> None:
    run("amend", "f1rs", "each=7,8,6", fleet=fleet)
    body = events_of(fleet, "flights")[0].body
    assert (body.count, body.minutes, body.each) == (3, 21, (7, 8, 6))
    run("amend", "f1rs", "minutes=20", fleet=fleet)
    body = events_of(fleet, "flights")[0].body
    assert (body.count, body.minutes, body.each) == (3, 20, ())


def test_a_second_amendment_has_seen_the_first(fleet: Path) -> None:
    run("amend", "f1rs", "count=3", fleet=fleet)
    run("amend", "f1rs", "count=4", fleet=fleet)
    first, second = events_of(fleet, "amendment")
    assert second.body.seen == (first.id,)
    ledger = open_fleet(fleet).ledger
    assert [problem for problem in ledger.problems if problem.code == "amendment-clash"] == []
    assert flown(fleet) == 4


def test_names_become_references_that_hold(fleet: Path) -> None:
    result = run("amend", "f1rs", "uses=pk-05,pk-04", "aircraft=kest", fleet=fleet)
    assert "uses pk-04 -> pk-05+pk-04" in result.out
    body = events_of(fleet, "flights")[0].body
    assert [ref.text for ref in body.uses] == ["pk-05.ppk0000005", "pk-04.ppk0000004"]
    assert body.aircraft.text == "kestrel.kest000001"


@pytest.mark.parametrize(
    ("line", "exit_code", "code"),
    [
        (["f1rs"], 2, "usage"),
        (["f1rs", "count"], 2, "usage"),
        (["f1rs", "count=three"], 2, "amount-wrong"),
        (["f1rs", "count=-2"], 2, "number-negative"),
        (["f1rs", "count=2.5"], 2, "number-wrong"),
        (["f1rs", "count=3", "count=4"], 2, "usage"),
        (["f1rs", "speed=3"], 2, "key-of-a-flights-record-unknown"),
        (["f1rs", "id=x"], 2, "amend-fixed"),
        (["f1rs", "uses=pk-99"], 2, "part-unknown"),
        (["f1rs", "when=2026-02-30"], 2, "date-impossible"),
        (["f1rs", "after=f1rs"], 2, "after-wrong"),
        (["f1rs", "after=k0tu"], 2, "after-other-day"),
        (["f1rs", "aircraft="], 2, "key-missing"),
        (["f1rs", "each=7,8,6", "count=2"], 2, "each-count"),
        (["zzzz", "count=3"], 2, "event-unknown"),
        (["k0", "position=x"], 2, "event-short"),
    ],
)
def test_nonsense_is_refused(fleet: Path, line: list[str], exit_code: int, code: str) -> None:
    before = read_files(fleet)
    assert run_json("amend", *line, fleet=fleet, exit_code=exit_code)["error"]["code"] == code
    assert read_files(fleet) == before


def test_an_amendment_is_not_amended(fleet: Path) -> None:
    run("amend", "f1rs", "count=3", fleet=fleet)
    id_ = events_of(fleet, "amendment")[0].id
    answer = run_json("amend", id_, "note=x", fleet=fleet, exit_code=2)
    assert "tailsheaf amend f1rs" in answer["error"]["mend"]


def test_a_withdrawn_event_counts_no_longer_and_can_be_taken_back(fleet: Path) -> None:
    result = run("withdraw", "f1rs", "--reason", "wrong day", fleet=fleet)
    assert result.exit_code == 0, result
    assert flown(fleet) == 0
    assert FIRST in read_files(fleet)
    withdrawal = result.out.rpartition("tailsheaf withdraw ")[2].split()[0]
    again = run_json("withdraw", "f1rs", fleet=fleet, exit_code=4)
    assert withdrawal in again["error"]["mend"]
    assert run_json("amend", "f1rs", "count=3", fleet=fleet, exit_code=4)
    back = run("withdraw", withdrawal, fleet=fleet)
    assert "counts again" in back.out
    assert flown(fleet) == 2


def test_a_duplicate_names_the_event_that_stays(fleet: Path) -> None:
    run("fly", "heron", "2", "--minutes", "16", "--at", "2026-05-09", fleet=fleet)
    copy = next(event.id for event in events_of(fleet, "flights") if event.id != "f1rstaaaaa")
    assert flown(fleet) == 4
    result = run("withdraw", copy, "--duplicate-of", "f1rs", fleet=fleet)
    assert result.exit_code == 0, result
    assert flown(fleet) == 2
    assert events_of(fleet, "withdrawal")[0].body.duplicate_of == "f1rstaaaaa"


def test_a_duplicate_of_another_kind_aircraft_or_day_is_refused(fleet: Path) -> None:
    run("fly", "kestrel", "2", "--minutes", "16", "--at", "2026-05-09", fleet=fleet)
    run("fly", "heron", "2", "--minutes", "16", "--at", "2026-05-10", fleet=fleet)
    others = {
        event.body.aircraft.name: event.id
        for event in events_of(fleet, "flights")
        if event.id != "f1rstaaaaa"
    }
    before = read_files(fleet)
    for other, words in (
        ("k0tu", "their kinds differ, flights and install"),
        (others["kestrel"], "one is about heron, the other about kestrel"),
        (others["heron"], "one is of 2026-05-09, the other of 2026-05-10"),
    ):
        answer = run_json("withdraw", "f1rs", "-d", other, fleet=fleet, exit_code=4)
        assert answer["error"]["code"] == "duplicate-wrong"
        assert words in answer["error"]["says"]
    itself = run_json("withdraw", "f1rs", "-d", "f1rs", fleet=fleet, exit_code=2)
    assert itself["error"]["code"] == "duplicate-wrong"
    assert read_files(fleet) == before


def test_history_says_why_a_record_was_withdrawn(fleet: Path) -> None:
    run("withdraw", "f1rs", "--reason", "it was the kestrel", fleet=fleet)
    shown = run_json("history", "heron", "--kind", "flights", fleet=fleet)
    [record] = [item for item in shown["records"] if item["withdrawn"]]
    assert record["says"].endswith("[it was the kestrel]")


def test_the_day_of_an_event_is_changed_by_its_key(fleet: Path) -> None:
    answer = run_json("amend", "f1rs", "--at", "fri", fleet=fleet, exit_code=2)
    assert answer["error"]["mend"] == "tailsheaf amend f1rs when=fri"
    result = run("amend", "f1rs", "when=fri", fleet=fleet)
    assert result.exit_code == 0, result
    assert "when 2026-05-09 -> 2026-05-15" in result.out


def test_hand_edits_are_saved_as_they_are(fleet: Path) -> None:
    sheet = fleet / "aircraft/heron/aircraft.yaml"
    sheet.write_bytes(sheet.read_bytes() + b"# repainted\n")
    (fleet / "private.yaml").write_bytes(b'people:\n  vera: "Vera"\n')
    one = run("save", "aircraft/heron", fleet=fleet)
    assert one.out == "saved: aircraft/heron/aircraft.yaml\n"
    rest = run_json("save", fleet=fleet)
    assert rest["saved"] == ["private.yaml"]
    assert "nothing to save" in run("save", fleet=fleet).out
    log = subprocess.run(
        ["git", "log", "-2", "--format=%s"], cwd=fleet, capture_output=True, text=True, check=True
    )
    assert log.stdout.splitlines() == [
        "Save the hand edit of private.yaml",
        "Save the hand edit of aircraft/heron/aircraft.yaml",
    ]
    assert b"# repainted" in sheet.read_bytes()


def test_a_path_is_read_from_where_one_stands(fleet: Path) -> None:
    sheet = fleet / "aircraft/heron/aircraft.yaml"
    sheet.write_bytes(sheet.read_bytes() + b"# repainted\n")
    result = run("save", "aircraft.yaml", cwd=fleet / "aircraft/heron")
    assert result.out == "saved: aircraft/heron/aircraft.yaml\n"


def test_a_path_the_fleet_does_not_have(fleet: Path) -> None:
    answer = run_json("save", "aircraft/herron/aircraft.yaml", fleet=fleet, exit_code=2)
    assert "aircraft/heron/aircraft.yaml" in answer["error"]["mend"]
