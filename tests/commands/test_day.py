"""day: a whole flying day typed up, in the order of the card, in one entry."""

from __future__ import annotations

import io
import json
import subprocess
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from cli.commands.day import command
from cli.session import begin_session, make_session
from fleets import NOW, read_files, run
from register.desk import open_fleet
from register.records.values import Span

HERON = ["heron", "y", "3", "7 8 6", "", "pk-04", "sv-22 sv-31 2", "", "chip left wing c", ""]
KESTREL = ["kest 2", "n", "16", "-", "", ""]


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    # Nothing is due here, so that only the card's fixed lines are asked.
    quiet = "id: prgjet0001\ntasks:\n  - {id: preflight, start: {when: day}}\n"
    return make_event_fleet(tmp_path, {"programmes/jet.yaml": quiet})


def commits(fleet: Path) -> int:
    return int(
        subprocess.run(
            ["git", "rev-list", "--count", "HEAD"], cwd=fleet, capture_output=True, check=True
        ).stdout
    )


def lines(*answers: str) -> str:
    return "".join(f"{answer}\n" for answer in answers)


def test_two_aircraft_are_one_commit(fleet: Path) -> None:
    before = commits(fleet)
    result = run("day", fleet=fleet, input=lines("", *HERON, *KESTREL, "", "y"))
    assert result.exit_code == 0, result
    assert commits(fleet) == before + 1
    heron, kestrel = events_of(fleet, "flights")[1:]
    assert (heron.body.count, heron.body.each) == (3, (7, 8, 6))
    assert heron.source == "from-paper"
    assert (kestrel.body.count, kestrel.body.minutes, kestrel.body.uses) == (2, 16, ())
    ledger = open_fleet(fleet).ledger
    assert ledger.value(("part", "sv-31"), "flights") == Span.exact(1)
    assert ledger.value(("part", "sv-22"), "flights") == Span.exact(4)
    [snag] = events_of(fleet, "snag")
    assert (snag.body.text, snag.body.severity) == ("chip left wing", "cosmetic")
    assert [event.body.task for event in events_of(fleet, "task-done")] == ["preflight"]


def test_enter_gives_what_stands_in_brackets(fleet: Path) -> None:
    result = run("day", fleet=fleet, input=lines("", "heron", *[""] * 7, "", "", ""))
    assert result.exit_code == 0, result
    flown = events_of(fleet, "flights")[-1]
    assert (flown.body.count, flown.body.minutes) == (2, 16)
    assert [ref.name for ref in flown.body.uses] == ["pk-04"]
    assert events_of(fleet, "task-done") == []


def test_three_aircraft_need_few_keys() -> None:
    typed = lines("", *HERON, *KESTREL, *KESTREL, "", "y")
    # Three minutes at an unhurried forty words a minute are some 600 keys.
    assert len(typed) < 200


def test_nothing_is_written_without_a_yes(fleet: Path) -> None:
    before = read_files(fleet)
    for answers in ([*HERON, "", "n"], [*HERON, ""], HERON[:4], []):
        result = run("day", fleet=fleet, input=lines("", *answers))
        assert result.exit_code == 0, result
        assert "nothing was written" in result.out
        assert read_files(fleet) == before
    assert "nothing to write" in run("day", fleet=fleet, input=lines("", "")).out


def test_a_pipe_that_answers_the_wrong_question_stops_before_writing(fleet: Path) -> None:
    before = read_files(fleet)
    result = run("day", fleet=fleet, input=lines("", "heron", "y", "three", "y", "y", "y"))
    assert result.exit_code == 2
    assert "whole number" in result.err
    assert read_files(fleet) == before


class Keys(io.StringIO):
    """Lines of a person at a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_person_is_asked_again(fleet: Path) -> None:
    session = make_session(NOW, fleet)
    session.out, session.err = io.StringIO(), io.StringIO()
    session.source = Keys(
        lines("2026-13-01", "sat", "herron", "heron", "y", "x", "1", "7", "", "", "", "", "", "")
    )
    begin_session(session)
    command()
    said = session.out.getvalue()
    assert "2026-13-01" in said
    assert "did you mean heron?" in said
    assert "whole number" in said
    assert events_of(fleet, "flights")[-1].body.minutes == 7


def test_a_swap_before_the_first_flight_is_ordered(fleet: Path) -> None:
    answers = ["heron 2", "", "15", "", "", "0 sv-22 sv-31", "", ""]
    run("day", "--at", "sat", fleet=fleet, input=lines(*answers, "", "y"))
    ledger = open_fleet(fleet).ledger
    assert ledger.value(("part", "sv-31"), "flights") == Span.exact(2)
    assert ledger.value(("part", "sv-22"), "flights") == Span.exact(2)


def test_an_aircraft_stands_once_in_a_form(fleet: Path) -> None:
    result = run("day", fleet=fleet, input=lines("", *KESTREL, "kestrel"))
    assert result.exit_code == 2
    assert "kestrel is in this form already" in result.err


def test_json_is_not_mixed_with_questions(fleet: Path) -> None:
    result = run("day", "--json", fleet=fleet, input=lines("", *KESTREL, "", "y"))
    assert [item["kind"] for item in json.loads(result.out)["written"]] == ["flights"]
    assert "aircraft:" in result.err


def test_what_is_due_can_be_ticked_off_before_the_flights(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    run("done", "surface-play", "heron", "-r", "0.7", "--at", "2026-04-05", fleet=fleet)
    run("fly", "heron", "8", "--minutes", "64", "--at", "2026-05-10", fleet=fleet)
    answers = ["heron", "surface-play 0.9", "part-swap-look", "", "n", "1", "8", "", "", "", ""]
    result = run("day", fleet=fleet, input=lines("", *answers, "", "y"))
    assert result.exit_code == 0, result
    assert "due: surface-play" in result.out
    assert "flown without" not in result.out
    due = run("why", "heron", "surface-play", fleet=fleet)
    assert "9" in due.out
    # The check came before the flight, so the interval has one flight behind it.
    ledger = open_fleet(fleet).ledger
    done = events_of(fleet, "task-done")[1]
    point = ledger.orders.last_point(done.id)
    assert ledger.gained(("aircraft", "heron"), "flights", point) == Span.exact(1)
