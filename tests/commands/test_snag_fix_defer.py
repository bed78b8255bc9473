"""snag, fix, defer: found, rated, closed, put off."""

from __future__ import annotations

from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from fleets import NOW, read_files, run, run_json
from register.desk import open_fleet
from register.findings.snags import SnagState, fold_snags


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def states(fleet: Path) -> list[SnagState]:
    return list(fold_snags(open_fleet(fleet).ledger).values())


def note(fleet: Path, *line: str) -> str:
    """Note a snag and give its id."""
    answer = run_json("snag", *line, fleet=fleet)
    found: str = answer["written"][0]["id"]
    return found


def test_a_snag_is_one_short_line(fleet: Path) -> None:
    line = "snag heron chip on left wing"
    assert len(line) <= 45
    result = run(*line.split(), fleet=fleet)
    assert result.exit_code == 0
    [state] = states(fleet)
    assert state.text == "chip on left wing"
    assert state.severity == "not-yet-rated"
    assert f"heron: chip on left wing ({state.id[:4]}), not yet rated" in result.out
    assert f"tailsheaf snag {state.id[:4]} -s g|l|d|m|c" in result.out
    assert "grounding, limiting, deferrable, monitor, cosmetic" in result.said
    # The time now, in home time.
    assert state.event.moment.text == "2026-05-16T11:00+02:00"


@pytest.mark.parametrize(
    ("typed", "severity"),
    [("c", "cosmetic"), ("g", "grounding"), ("lim", "limiting"), ("deferrable", "deferrable")],
)
def test_a_severity_by_its_beginning(fleet: Path, typed: str, severity: str) -> None:
    run("snag", "heron", "chip", "-s", typed, fleet=fleet)
    assert states(fleet)[0].severity == severity


def test_an_unknown_severity_offers_the_nearest(fleet: Path) -> None:
    result = run("snag", "heron", "chip", "-s", "cosmetical", fleet=fleet)
    assert result.exit_code == 2
    assert "cosmetic" in result.err
    assert states(fleet) == []


def test_rating_a_snag_by_the_beginning_of_its_id(fleet: Path) -> None:
    id_ = note(fleet, "heron", "chip")
    result = run("snag", id_[:5], "-s", "monitor", fleet=fleet)
    assert result.exit_code == 0, result
    assert "is now monitor, was not yet rated" in result.out
    [state] = states(fleet)
    assert state.severity == "monitor"
    decision = events_of(fleet, "severity")[0]
    assert decision.body.seen == (id_,)


def test_a_snag_on_a_part_follows_it(fleet: Path) -> None:
    note(fleet, "sv-22", "gears", "worn", "-s", "limiting")
    assert states(fleet)[0].aircraft == "heron"
    run("install", "sv-22", "kestrel", "aileron-servo-left", fleet=fleet)
    [state] = states(fleet)
    assert (state.aircraft, state.part) == ("kestrel", "sv-22")


def test_a_snag_at_a_position_is_on_the_part_there(fleet: Path) -> None:
    note(fleet, "heron", "buzz", "-p", "aileron-servo-left")
    [state] = states(fleet)
    assert (state.position, state.part) == ("aileron-servo-left", "sv-22")
    slip = run("snag", "heron", "buzz", "-p", "aileron-servo-leftt", fleet=fleet)
    assert slip.exit_code == 2
    assert "aileron-servo-left" in slip.err
    odd = run("snag", "heron", "buzz", "-p", "nose-hatch", fleet=fleet)
    assert odd.exit_code == 0
    assert "heron has no position nose-hatch; recorded as written" in odd.out


def test_without_words_open_snags_are_listed(fleet: Path) -> None:
    note(fleet, "heron", "chip", "in", "paint")
    result = run("snag", "heron", fleet=fleet)
    assert result.exit_code == 0
    assert "chip in paint" in result.out
    assert len(events_of(fleet, "snag")) == 1


def test_a_fix_closes_what_it_has_seen(fleet: Path) -> None:
    id_ = note(fleet, "heron", "chip")
    run("snag", id_, "-s", "cosmetic", fleet=fleet)
    rating = events_of(fleet, "severity")[0].id
    result = run("fix", id_[:4], "touched", "up", fleet=fleet)
    assert result.exit_code == 0, result
    assert not states(fleet)[0].is_open
    assert set(events_of(fleet, "fix")[0].body.seen) == {id_, rating}


def test_work_that_leaves_a_snag_open(fleet: Path) -> None:
    id_ = note(fleet, "heron", "chip")
    run("fix", id_, "sanded", "--keep-open", fleet=fleet)
    assert states(fleet)[0].is_open


def test_several_snags_are_closed_by_one_fix(fleet: Path) -> None:
    one, two = note(fleet, "heron", "chip"), note(fleet, "heron", "scratch")
    run("fix", f"{one},{two}", "polished", fleet=fleet)
    assert [state.is_open for state in states(fleet)] == [False, False]
    assert len(events_of(fleet, "fix")) == 1


def test_closing_twice_is_refused(fleet: Path) -> None:
    id_ = note(fleet, "heron", "chip")
    run("fix", id_, "sanded", fleet=fleet)
    before = read_files(fleet)
    answer = run_json("fix", id_, "sanded", fleet=fleet, exit_code=4)
    assert answer["error"]["code"] == "snag-closed"
    assert read_files(fleet) == before


def test_a_third_closing_by_the_same_action_asks_for_a_cause(fleet: Path) -> None:
    for _ in range(2):
        id_ = note(fleet, "heron", "buzz", "-p", "aileron-servo-left", "-s", "limiting")
        assert run("fix", id_, "Re-tightened", "screw", fleet=fleet).exit_code == 0
    third = note(fleet, "heron", "buzz", "-p", "aileron-servo-left", "-s", "limiting")
    answer = run_json("fix", third, "re-tightened", "screw.", fleet=fleet, exit_code=4)
    assert answer["error"]["code"] == "same-action"
    assert "--cause" in answer["error"]["mend"]
    assert run("fix", third, "new", "servo", "--keep-open", fleet=fleet).exit_code == 0
    given = run("fix", third, "re-tightened", "screw", "--cause", "no lock washer", fleet=fleet)
    assert given.exit_code == 0, given
    assert events_of(fleet, "fix")[-1].body.cause == "no lock washer"


def test_ten_days_end_on_the_tenth_day_after_discovery(fleet: Path) -> None:
    id_ = note(fleet, "heron", "brake", "drags", "-s", "d", "--at", "2026-05-14")
    result = run(
        *("defer", id_, "--reason", "spare ordered", "--until", "10 days", "--flights", "10"),
        *("--limit", "grass only"),
        fleet=fleet,
    )
    assert result.exit_code == 0, result
    assert "through 2026-05-24 and for 10 flights, whichever comes first, grass only" in result.said
    body = events_of(fleet, "deferral")[0].body
    assert (str(body.until), body.flights, body.limit) == ("2026-05-24", 10, "grass only")


def test_an_extension_names_what_it_extends_and_keeps_the_first_day(fleet: Path) -> None:
    id_ = note(fleet, "heron", "brake", "drags", "-s", "d", "--at", "2026-05-14")
    run("defer", id_, "--reason", "spare ordered", "--until", "10d", fleet=fleet)
    result = run("defer", id_, "--reason", "still no spare", "--until", "20d", fleet=fleet)
    first, second = events_of(fleet, "deferral")
    assert second.body.extends == first.id
    assert "found 2026-05-14" in result.said
    assert "keeps its first date" in result.out
    assert str(second.body.until) == "2026-06-03"


def test_deferring_an_unrated_snag_counts_as_rating_it(fleet: Path) -> None:
    id_ = note(fleet, "heron", "brake", "drags")
    result = run("defer", id_, "--reason", "looked at", "--flights", "4", fleet=fleet)
    assert result.exit_code == 0
    assert "counts as rating it deferrable" in result.out


def test_a_grounding_snag_is_not_deferred(fleet: Path) -> None:
    id_ = note(fleet, "heron", "elevator", "slop", "-s", "g")
    before = read_files(fleet)
    answer = run_json("defer", id_, "--reason", "x", "--until", "5d", fleet=fleet, exit_code=4)
    assert answer["error"]["code"] == "defer-grounding"
    assert "grounding" in answer["error"]["says"]
    assert "rate it anew with the reason" in answer["error"]["mend"]
    assert " -s " not in answer["error"]["mend"]
    assert read_files(fleet) == before


def test_a_grounding_rating_is_lowered_only_with_its_reason(fleet: Path) -> None:
    id_ = note(fleet, "heron", "elevator", "slop", "-s", "g")
    before = read_files(fleet)
    answer = run_json("snag", id_, "-s", "lim", fleet=fleet, exit_code=2)
    assert answer["error"]["code"] == "reason-none"
    assert f"tailsheaf snag {id_[:4]} -s limiting --note" in answer["error"]["mend"]
    assert read_files(fleet) == before
    assert run("snag", id_, "-s", "g", fleet=fleet).exit_code == 0
    given = run("snag", id_, "-s", "lim", "--note", "it was the horn of another", fleet=fleet)
    assert given.exit_code == 0, given
    assert states(fleet)[0].severity == "limiting"


def test_a_snag_and_its_decisions_of_one_day_read_in_order(fleet: Path) -> None:
    id_ = note(fleet, "heron", "brake", "drags")
    run("snag", id_, "-s", "d", fleet=fleet)
    run("defer", id_, "--reason", "spare ordered", "--until", "10d", fleet=fleet)
    run("fix", id_, "cleaned", fleet=fleet)
    told = [event for event in events_of(fleet) if event.moment.day == NOW.date()]
    assert [event.kind for event in told] == ["snag", "severity", "deferral", "fix"]
    assert {event.moment.text for event in told} == {"2026-05-16T11:00+02:00"}
    dated = note(fleet, "heron", "chip", "--at", "2026-05-15")
    run("fix", dated, "filled", "--at", "2026-05-15", fleet=fleet)
    assert events_of(fleet, "fix")[0].moment.text == "2026-05-15"


@pytest.mark.parametrize(
    ("options", "code"),
    [
        (["--until", "10d"], "reason-none"),
        (["--reason", "x"], "deferral-endless"),
        (["--reason", "x", "--until", "1d"], "deferral-past"),
        (["--reason", "x", "--flights", "-3"], "amount-wrong"),
        (["--reason", "x", "--until", "soon"], "date-form"),
    ],
)
def test_a_deferral_says_why_and_ends(fleet: Path, options: list[str], code: str) -> None:
    id_ = note(fleet, "heron", "brake", "drags", "-s", "d", "--at", "2026-05-02")
    assert run_json("defer", id_, *options, fleet=fleet, exit_code=2)["error"]["code"] == code


def test_an_unknown_snag_shows_the_open_ones(fleet: Path) -> None:
    id_ = note(fleet, "heron", "chip")
    result = run("fix", "zzzz", "sanded", fleet=fleet)
    assert result.exit_code == 2
    assert id_[:4] in result.err


def test_an_unrated_snag_says_what_it_does_to_the_aircraft(fleet: Path) -> None:
    assert "heron is now grounded" in run("snag", "heron", "chip", fleet=fleet).out


def test_hidden_characters_are_refused(fleet: Path) -> None:
    before = read_files(fleet)
    for words in ("chip\x1b[31m", "chip \u202egnorw"):
        answer = run_json("snag", "heron", words, fleet=fleet, exit_code=2)
        assert answer["error"]["code"] == "words-hidden"
    assert read_files(fleet) == before


def test_a_fix_takes_its_labour(fleet: Path) -> None:
    id_ = note(fleet, "heron", "chip")
    assert run("fix", id_, "sanded", "--minutes", "1:15", fleet=fleet).exit_code == 0
    assert str(events_of(fleet, "fix")[0].body.minutes) == "75"
    work = [row for row in run("season", fleet=fleet).out.splitlines() if "workshop" in row]
    assert any(row.split()[-1] == "1.2" for row in work), work
