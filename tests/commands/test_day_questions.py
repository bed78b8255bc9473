"""day: readings of the checks, one step back, and whose a line is."""

from __future__ import annotations

from pathlib import Path

import pytest
from event_fleet import FILES, events_of, make_event_fleet

from fleets import read_files, run

PROGRAMME = """
    id: prgjet0001
    tasks:
      - {id: preflight, start: {when: day}}
      - id: redundant-supply
        start: {when: day}
        grounds: true
        reading: {name: supply, unit: V, low: 6.4}
      - id: turbine-temperature
        start: {when: each-flight}
        reading: {name: egt, unit: C, high: 700}
"""
NO_ALLOWANCE = FILES["aircraft/heron/aircraft.yaml"].partition("        per_flight:")[0]
#: flights, minutes, engine minutes, packs, swaps, snags.
REST = ["2", "16", "18", "-", "", ""]


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path, {"programmes/jet.yaml": PROGRAMME})


def lines(*answers: str) -> str:
    return "".join(f"{answer}\n" for answer in answers)


def done(fleet: Path) -> dict[str, list[tuple[str, str]]]:
    return {
        event.body.task: [(item.name, str(item.value)) for item in event.body.readings]
        for event in events_of(fleet, "task-done")
    }


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        (["y", "supply=6.6", ""], {"preflight": [], "redundant-supply": [("supply", "6.6")]}),
        (["y", "6.6", ""], {"preflight": [], "redundant-supply": [("supply", "6.6")]}),
        (
            ["redundant-supply=6.6 V", ""],
            {"preflight": [], "redundant-supply": [("supply", "6.6")]},
        ),
        (["y except redundant", ""], {"preflight": []}),
        (["n", ""], {}),
        (["", ""], {}),
        (["n", "egt=640"], {"turbine-temperature": [("egt", "640")]}),
        (["n", "640"], {"turbine-temperature": [("egt", "640")]}),
    ],
)
def test_checks_are_answered_in_one_line_with_their_readings(
    fleet: Path, answers: list[str], expected: dict[str, list[tuple[str, str]]]
) -> None:
    result = run("day", fleet=fleet, input=lines("", "heron", *answers, *REST, "", "y"))
    assert result.exit_code == 0, result
    assert done(fleet) == expected


def test_a_grounding_check_without_its_reading_is_left_out_and_said(fleet: Path) -> None:
    result = run("day", fleet=fleet, input=lines("", "heron", "y", "", "", *REST, "", "y"))
    assert "their readings: redundant-supply: supply (V, at least 6.4)" in result.out
    assert "left out: redundant-supply wants supply (V, at least 6.4)" in result.out
    assert done(fleet) == {"preflight": []}


@pytest.mark.parametrize("answer", ["perhaps", "y except flaps", "supply=6,6", "voltage=6"])
def test_a_wrong_answer_in_a_pipe_says_that_nothing_was_written(fleet: Path, answer: str) -> None:
    before = read_files(fleet)
    result = run("day", fleet=fleet, input=lines("", "heron", answer, "", *REST, "", "y"))
    assert result.exit_code == 2
    assert result.err.count("nothing was written") == 1
    assert read_files(fleet) == before


@pytest.mark.parametrize(
    ("typed", "total"), [("8 9 7", "24"), ("27", "27"), ("9 each", "27"), ("?", "None")]
)
def test_engine_minutes_are_a_total_or_flight_by_flight(
    tmp_path: Path, typed: str, total: str
) -> None:
    fleet = make_event_fleet(
        tmp_path,
        {"programmes/jet.yaml": PROGRAMME, "aircraft/heron/aircraft.yaml": NO_ALLOWANCE},
    )
    run("fly", "heron", "--minutes", "8", "--engine-minutes", "10", fleet=fleet)
    answers = ["heron 3", "n", "", "24", typed, "-", "", ""]
    result = run("day", fleet=fleet, input=lines("", *answers, "", "y"))
    assert result.exit_code == 0, result
    assert "heron has 1 flight on that day already" in result.out
    assert str(events_of(fleet, "flights")[-1].body.engine_minutes) == total


def test_b_goes_back_to_the_question_before(fleet: Path) -> None:
    checks = ["n", "", "3", "b", "2", "16", "18", "-", "", "b", "", "chip c", "b", "dent c", ""]
    aircraft = ["b", "", "heron", *checks]
    again = ["b", "scratch c", ""]
    result = run("day", fleet=fleet, input=lines("", *aircraft, *again, "", "b", "", "y"))
    assert result.exit_code == 0, result
    assert events_of(fleet, "flights")[-1].body.count == 2
    assert [event.body.text for event in events_of(fleet, "snag")] == ["scratch"]


def test_b_at_the_first_question_of_an_aircraft_asks_which_aircraft(fleet: Path) -> None:
    answers = ["kestrel", "b", "b", "sat", "heron", "n", "", *REST, "", "y"]
    result = run("day", fleet=fleet, input=lines("", *answers))
    assert result.exit_code == 0, result
    assert events_of(fleet, "flights")[-1].body.aircraft.name == "heron"


def test_questions_break_at_words_within_eighty_columns(tmp_path: Path) -> None:
    names = [f"first-of-day-check-number-{n}" for n in range(6)]
    tasks = "".join(f"      - {{id: {name}, start: {{when: day}}}}\n" for name in names)
    files = {"programmes/jet.yaml": "\n    id: prgjet0001\n    tasks:\n" + tasks}
    fleet = make_event_fleet(tmp_path, files)
    result = run("day", fleet=fleet, input=lines("", "heron", "y", *REST, "", "y"))
    assert result.exit_code == 0, result
    asked = "  first-of" + result.out.partition("  first-of")[2].partition("]")[0]
    assert len(asked.splitlines()) > 1
    assert max(len(line) for line in asked.splitlines()) < 80
    assert all(name in asked for name in names)


def test_with_several_aircraft_every_line_names_its_own(fleet: Path) -> None:
    heron = ["heron", "y except red", "egt=640", *REST]
    kestrel = ["kestrel 1", "n", "", "", "-", "", ""]
    result = run("day", fleet=fleet, input=lines("", *heron, *kestrel, "", "y"))
    assert result.exit_code == 0, result
    shown = result.out.partition("recorded: ")[2].splitlines()
    assert "  heron: turbine-temperature: egt 640 C" in "\n".join(shown)
    assert "  kestrel: minutes not known" in "\n".join(shown)
    assert all("heron" in line or "kestrel" in line for line in shown if line)


def test_none_written_out_is_what_enter_alone_means(fleet: Path) -> None:
    answers = ["", "heron", "n", "none", "2", "none", "16", "18", "-", "none", "None"]
    told = run("day", fleet=fleet, input=lines(*answers, "", "y"))
    # Lines of a pipe end at the first one that cannot be read: in words, not in half of one.
    assert told.exit_code == 2
    assert "'none' is no number of minutes" in told.err
    del answers[5]
    result = run("day", fleet=fleet, input=lines(*answers, "", "y"))
    assert result.exit_code == 0, result
    assert not events_of(fleet, "snag")
    assert not events_of(fleet, "task-done")
