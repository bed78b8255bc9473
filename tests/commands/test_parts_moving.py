"""install, remove, swap: where parts are, and what is not known of the order."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from fleets import read_files, run, run_json
from register.desk import open_fleet
from register.records.values import Span


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def gained(fleet: Path, part: str, counter: str) -> Span:
    return open_fleet(fleet).ledger.value(("part", part), counter)


def test_a_swap_between_two_flights_of_a_day(fleet: Path) -> None:
    run("fly", "heron", "3", "--each", "7,8,6", "--pack", "none", fleet=fleet)
    flights = events_of(fleet, "flights")[-1].id
    loose = run("swap", "sv-22", "sv-31", fleet=fleet)
    assert loose.exit_code == 0, loose
    assert "counters of sv-22 and sv-31 may differ by 0 to 3" in loose.said
    removed = events_of(fleet, "remove")[0]
    installed = events_of(fleet, "install")[-1]
    assert installed.after.event == removed.id
    before = gained(fleet, "sv-31", "flights")
    assert before == Span(Decimal(0), Decimal(3), before.known)
    assert f"tailsheaf amend {removed.id[:4]} after={flights[:4]}:N" in loose.out
    run("amend", removed.id, f"after={flights[:6]}:2", fleet=fleet)
    assert gained(fleet, "sv-31", "flights") == Span.exact(1)
    assert gained(fleet, "sv-31", "minutes") == Span.exact(6)
    assert gained(fleet, "sv-22", "flights") == Span.exact(4)
    # A forgotten flight between the first and the second belongs to the part that was in.
    run("fly", "heron", "--minutes", "5", "--after", f"{flights[:6]}:1", fleet=fleet)
    assert gained(fleet, "sv-22", "flights") == Span.exact(5)
    assert gained(fleet, "sv-31", "flights") == Span.exact(1)


def test_a_swap_given_its_place_says_nothing_of_a_range(fleet: Path) -> None:
    result = run("swap", "sv-22", "sv-31", "--after", "f1rs:1", fleet=fleet)
    assert result.exit_code == 0, result
    assert "may differ" not in result.out
    assert gained(fleet, "sv-31", "flights") == Span.exact(1)
    assert {event.moment.text for event in events_of(fleet, "remove")} == {"2026-05-09"}


def test_a_swap_is_one_commit_of_two_records(fleet: Path) -> None:
    answer = run_json("swap", "sv-22", "sv-31", "--reason", "worn", fleet=fleet)
    assert [item["kind"] for item in answer["written"]] == ["remove", "install"]
    assert all(item["path"].startswith("aircraft/heron/") for item in answer["written"])


def test_flights_after_an_unordered_move_say_how_to_order_them(fleet: Path) -> None:
    run("swap", "sv-22", "sv-31", fleet=fleet)
    result = run("fly", "heron", "--minutes", "7", fleet=fleet)
    assert "changed place that day" in result.out
    install = events_of(fleet, "install")[-1].id
    flights = events_of(fleet, "flights")[-1].id
    assert f"tailsheaf amend {flights[:4]} after={install[:4]}" in result.out
    run("amend", flights, f"after={install}", fleet=fleet)
    assert gained(fleet, "sv-31", "flights") == Span.exact(1)


def test_installing_at_the_only_place_that_fits(fleet: Path) -> None:
    run("remove", "sv-22", fleet=fleet)
    result = run("install", "sv-31", "kestrel", fleet=fleet)
    assert "sv-31 installed in kestrel, aileron-servo-left" in result.out


def test_a_part_still_recorded_elsewhere_is_moved_and_pointed_out(fleet: Path) -> None:
    result = run("install", "tu-07", "kestrel", "engine", fleet=fleet)
    assert result.exit_code == 0
    assert "tu-07 was still recorded in heron; its removal is implied" in result.out
    spell = open_fleet(fleet).ledger.places.current("tu-07")
    assert spell is not None
    assert spell.aircraft == "kestrel"


def test_a_taken_position_a_wrong_kind_and_a_rejected_part_are_pointed_out(fleet: Path) -> None:
    run("condition", "sv-31", "rejected", fleet=fleet)
    result = run("install", "sv-31", "heron", "engine", fleet=fleet)
    assert "engine is for a turbine; sv-31 is a servo" in result.out
    assert "tu-07 was still recorded at engine" in result.out
    said = " ".join(result.out.split())
    assert "sv-31 is recorded as rejected: tailsheaf condition sv-31 serviceable" in said


def test_the_line_offered_for_a_new_position_is_no_slip(fleet: Path) -> None:
    run("parts", "gy-1", "--add", "--kind", "gyro", fleet=fleet)
    refused = run("install", "gy-1", "kestrel", fleet=fleet)
    assert "tailsheaf install gy-1 kestrel gyro-1   (any name" in refused.err
    said = run("install", "gy-1", "kestrel", "gyro-1", fleet=fleet).out
    assert "gyro-1 is a new position of kestrel" in said
    assert "has no position" not in said
    run("parts", "gy-2", "--add", "--kind", "gyro", fleet=fleet)
    refused = run("install", "gy-2", "kestrel", fleet=fleet)
    assert "tailsheaf install gy-2 kestrel gyro-2 " in refused.err


def test_a_part_goes_into_a_part_and_never_into_itself(fleet: Path) -> None:
    run("install", "sv-31", "--into", "sv-22", fleet=fleet)
    assert open_fleet(fleet).ledger.places.current("sv-31") is not None
    ring = run_json("install", "sv-22", "--into", "sv-31", fleet=fleet, exit_code=2)
    assert ring["error"]["code"] == "install-ring"


def test_removing_what_is_nowhere_is_recorded_and_pointed_out(fleet: Path) -> None:
    result = run("remove", "sv-31", fleet=fleet)
    assert result.exit_code == 0
    assert "was not recorded as installed anywhere" in result.out
    assert len(events_of(fleet, "remove")) == 1


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (["install", "sv-99", "heron", "engine"], "part-unknown"),
        (["install", "sv-31"], "usage"),
        (["install", "sv-31", "heron"], "position-none"),
        (["install", "sv-31", "heron", "aileron-servo-lefft"], "position-unknown"),
        (["install", "sv-31", "heron", "aileron"], "position-ambiguous"),
        (["install", "sv-31", "heron", "--into", "sv-22"], "install-twice"),
        (["remove", "sv-22", "--from", "kestrel"], "remove-elsewhere"),
        (["swap", "sv-31", "sv-22"], "swap-not-there"),
        (["swap", "sv-22", "sv-22"], "swap-same"),
    ],
)
def test_a_wrong_line_writes_nothing(fleet: Path, line: list[str], code: str) -> None:
    before = read_files(fleet)
    assert run_json(*line, fleet=fleet, exit_code=2)["error"]["code"] == code
    assert read_files(fleet) == before


def test_a_shared_pack_comes_off_one_aircraft(fleet: Path) -> None:
    run("install", "pk-04", "kestrel", fleet=fleet)
    run("remove", "pk-04", "--from", "heron", fleet=fleet)
    assert open_fleet(fleet).ledger.places.assigned_to("pk-04") == ("kestrel",)


def test_without_a_position_those_of_the_aircraft_are_listed_with_their_kinds(fleet: Path) -> None:
    answer = run_json("install", "sv-31", "heron", fleet=fleet, exit_code=2)
    assert answer["error"]["code"] == "position-none"
    says = answer["error"]["says"]
    assert "aileron-servo-left (servo, sv-22 is there)" in says
    assert "left-wing (wing)" in says
    assert answer["error"]["mend"] == "tailsheaf install sv-31 heron aileron-servo-left"
    none = run_json("install", "sv-31", "bulwark", fleet=fleet, exit_code=2)
    assert "tailsheaf aircraft bulwark --position NAME=KIND" in none["error"]["says"]
    assert "tailsheaf install sv-31 bulwark servo-1" in none["error"]["mend"]
    assert run("install", "sv-31", "bulwark", "servo-1", fleet=fleet).exit_code == 0
