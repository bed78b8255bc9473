"""cure: clocks by the maker's table, the hour, the day, and what may not count as done."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from event_fleet import events_of
from workshop_room.scale_fleet import make_scale_fleet

from fleets import Golden, Result, read_files, run, run_json
from register.desk import open_fleet
from register.findings.cures import fold_cures, open_cures

EPOXY = (
    "--adhesive", "slow epoxy", "--handling", "8h", "--full", "36h", "--temperature", "18",
    "--basis", "maker: leaflet of the resin",
)  # fmt: skip


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_scale_fleet(tmp_path)


def at(text: str) -> datetime:
    """A moment in UTC."""
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def glue(fleet: Path, *more: str, now: str = "2026-05-15T18:00") -> Result:
    result = run("cure", "swift", "root", "rib", *EPOXY, *more, fleet=fleet, now=at(now))
    assert result.exit_code == 0, result
    return result


def ask(fleet: Path, now: str, *words: str) -> Any:
    return run_json("cure", *words, fleet=fleet, now=at(now))


def standing(fleet: Path, now: str) -> dict[str, Any]:
    """The standing of swift on the day of `now`."""
    data = run_json("flyday", now[:10], fleet=fleet, now=at(now))
    return next(dict(found) for found in data["aircraft"] if found["aircraft"] == "swift")


def test_mixed_now_and_the_ends_in_home_time(fleet: Path) -> None:
    out = glue(fleet).out
    # 18:00 UTC is 20:00 at home (CET, summer time).
    assert "swift: root rib mixed 2026-05-15 20:00" in out
    assert "handling from 2026-05-16 04:00 at 18 °C (maker: leaflet of the resin)" in out
    assert "full load from 2026-05-17 08:00" in out
    assert "swift is now grounded: cure not complete until 2026-05-17 08:00: root rib" in out
    body = events_of(fleet, "cure")[0].body
    assert (body.handling_minutes, body.full_minutes, body.temperature) == (480, 2160, 18)
    assert body.basis.text == "maker: leaflet of the resin"


def test_the_command_knows_the_hour(fleet: Path) -> None:
    glue(fleet)
    stages = {
        now: [line["stage"] for line in ask(fleet, now)["cures"]]
        for now in ("2026-05-15T19:00", "2026-05-16T02:00", "2026-05-17T05:59", "2026-05-17T06:00")
    }
    assert list(stages.values()) == [["curing"], ["handling"], ["handling"], []]
    assert ask(fleet, "2026-05-17T05:30")["cures"][0]["minutes_left"] == 30
    over = ask(fleet, "2026-05-17T07:00", "swift", "--all")
    assert [line["stage"] for line in over["cures"]] == ["complete"]


def test_the_day_counts_through_the_date_on_which_it_ends(fleet: Path) -> None:
    glue(fleet)
    for now in ("2026-05-15T19:00", "2026-05-16T09:00", "2026-05-17T05:00", "2026-05-17T20:00"):
        found = standing(fleet, now)
        assert found["standing"] == "grounded"
        (reason,) = [item for item in found["reasons"] if item["kind"] == "cure"]
        assert "until 2026-05-17 08:00" in reason["says"]
        assert "-cure-" in reason["record"]
    assert standing(fleet, "2026-05-18T06:00")["standing"] == "nothing-open"
    # As of a day before it was mixed nobody knew of it.
    assert standing(fleet, "2026-05-14T09:00")["standing"] == "nothing-open"


def test_an_end_at_midnight_leaves_the_next_day_free(fleet: Path) -> None:
    glue(fleet, "--mixed", "12:00")
    cure = fold_cures(open_fleet(fleet).ledger)[0]
    assert cure.full_at is not None
    assert cure.full_at.isoformat() == "2026-05-17T00:00:00+02:00"
    assert cure.is_open_on(date(2026, 5, 16))
    assert not cure.is_open_on(date(2026, 5, 17))


def test_hours_run_by_the_clock_across_the_change_of_summer_time(fleet: Path) -> None:
    glue(fleet, "--mixed", "2026-03-28 20:00", now="2026-03-29T18:00")
    data = ask(fleet, "2026-03-29T18:00")["cures"][0]
    # 36 h after 20:00 CET is 09:00 CEST, not 08:00.
    assert data["full_at"] == "2026-03-30T09:00:00+02:00"


def test_a_mixing_without_its_hour_takes_the_end_of_that_day(fleet: Path) -> None:
    out = glue(fleet, "--mixed", "2026-05-14").out
    assert "note: the time of day is not recorded, so the end of that day counts" in out
    data = ask(fleet, "2026-05-15T18:00")["cures"][0]
    assert data["mixed_exact"] is False
    assert data["full_at"] == "2026-05-16T12:00:00+02:00"


def test_without_a_time_it_cannot_be_told_and_grounds(fleet: Path) -> None:
    result = run("cure", "swift", "rib", "--adhesive", "unknown glue", fleet=fleet)
    assert "no time to full load is recorded" in result.out
    assert ask(fleet, "2026-09-01T10:00")["cures"][0]["stage"] == "cannot-tell"
    found = standing(fleet, "2026-09-01T10:00")
    assert found["standing"] == "grounded"
    assert "full_minutes=" in found["reasons"][0]["mend"]
    event = events_of(fleet, "cure")[0]
    run("amend", event.id, "full_minutes=60", fleet=fleet)
    assert standing(fleet, "2026-09-01T10:00")["standing"] == "nothing-open"


def test_times_of_the_same_adhesive_at_the_same_temperature_are_taken_again(fleet: Path) -> None:
    glue(fleet)
    words = ("cure", "swift", "second rib", "--adhesive", "Slow Epoxy")
    again = run(*words, "--temperature", "18", fleet=fleet, now=at("2026-05-15T19:00"))
    assert "times as of 2026-05-15" in again.out
    # Another temperature is never computed from it.
    colder = run(*words, "--temperature", "8", fleet=fleet, now=at("2026-05-15T19:00"))
    assert "no time to full load is recorded" in colder.out
    assert [event.body.full_minutes for event in events_of(fleet, "cure")] == [2160, 2160, None]


def test_a_cure_on_a_part_goes_where_the_part_goes(fleet: Path) -> None:
    words = ("cure", "wing-3", "hinge block", *EPOXY)
    assert run(*words, fleet=fleet, now=at("2026-05-15T18:00")).exit_code == 0
    assert standing(fleet, "2026-05-16T09:00")["standing"] == "nothing-open"
    run("install", "wing-3", "swift", "left-wing", "--at", "2026-05-16", fleet=fleet)
    assert standing(fleet, "2026-05-16T09:00")["standing"] == "grounded"
    assert ask(fleet, "2026-05-16T09:00", "swift")["cures"][0]["part"] == "wing-3"


def test_a_flight_before_it_is_recorded_said_and_flagged(fleet: Path) -> None:
    glue(fleet)
    flown = run("fly", "swift", "2", "--minutes", "14", fleet=fleet, now=at("2026-05-16T09:00"))
    assert flown.exit_code == 0
    assert "root rib is not cured until 2026-05-17 08:00" in flown.out
    (problem,) = [
        p
        for p in run_json("check", fleet=fleet, now=at("2026-05-20T09:00"))["problems"]
        if p["code"] == "flown-while-curing"
    ]
    assert "swift flew 2 flights from 2026-05-16" in problem["says"]


@pytest.mark.parametrize(
    ("when", "typed", "flagged"),
    [
        ("2026-05-15 19:00", "2026-05-18T18:00", False),  # before the mixing
        ("2026-05-15 21:00", "2026-05-18T18:00", True),
        ("2026-05-16", "2026-05-18T18:00", True),
        ("2026-05-17 07:59", "2026-05-18T18:00", True),
        ("2026-05-17 08:00", "2026-05-18T18:00", False),
        ("2026-05-17", "2026-05-18T18:00", False),  # on its last day, the hour not known
        ("2026-05-17", "2026-05-17T05:00", True),  # but typed before the hour
        ("2026-05-15", "2026-05-18T18:00", False),  # on the first day, the hour not known
    ],
)
def test_only_flights_surely_before_it_are_flagged(
    fleet: Path, when: str, typed: str, flagged: bool
) -> None:
    glue(fleet)
    run("fly", "swift", "1", "--minutes", "7", "--at", when, fleet=fleet, now=at(typed))
    codes = [
        p["code"] for p in run_json("check", fleet=fleet, now=at("2026-05-20T09:00"))["problems"]
    ]
    assert ("flown-while-curing" in codes) is flagged


def test_what_it_holds_is_not_done_before(fleet: Path) -> None:
    snag = run_json("snag", "swift", "rib loose", "-s", "g", fleet=fleet,
                    now=at("2026-05-15T17:00"))["id"]  # fmt: skip
    glue(fleet, "--holds", snag[:6])
    fixed = run("fix", snag[:6], "glued", "in", fleet=fleet, now=at("2026-05-15T19:00"))
    assert "not done before the cure is complete, until 2026-05-17 08:00: root rib" in fixed.out
    assert standing(fleet, "2026-05-16T09:00")["standing"] == "grounded"
    problems = run_json("check", fleet=fleet, now=at("2026-05-20T09:00"))["problems"]
    assert "done-while-curing" in [p["code"] for p in problems]
    ledger = open_fleet(fleet).ledger
    curing = open_cures(ledger, at("2026-05-17T05:59"), (snag,), "swift", None)
    assert [cure.what for cure in curing] == ["root rib"]
    assert not open_cures(ledger, at("2026-05-17T06:00"), (snag,), "swift", None)
    assert not open_cures(ledger, at("2026-05-17T05:59"), (), "swift", "left-wing")


def test_its_place_is_held_too(fleet: Path) -> None:
    glue(fleet, "--where", "left-wing")
    ledger = open_fleet(fleet).ledger
    assert open_cures(ledger, at("2026-05-16T06:00"), (), "swift", "left-wing")
    assert not open_cures(ledger, at("2026-05-16T06:00"), (), "hull", "left-wing")


def test_why_explains_it(fleet: Path) -> None:
    glue(fleet)
    id_ = events_of(fleet, "cure")[0].id
    now = at("2026-05-16T09:00")
    result = run("why", "swift", id_[:6], fleet=fleet, now=now)
    assert result.exit_code == 0
    text = " ".join(result.out.split())
    assert "mixed 2026-05-15 20:00: slow epoxy" in text
    assert "full load: 2160 minutes at 18 °C, so 2026-05-17 08:00" in text
    assert "basis: maker: leaflet of the resin" in text
    assert "Follow the maker's leaflet" in text
    assert "grounded: cure not complete until 2026-05-17 08:00: root rib" in text
    assert f"why swift {id_}" in run("why", "swift", fleet=fleet, now=now).out


def test_the_screen(fleet: Path, golden: Golden) -> None:
    snag = run_json("snag", "swift", "rib loose", "-s", "g", fleet=fleet,
                    now=at("2026-05-15T17:00"))["id"]  # fmt: skip
    glue(fleet, "--where", "left-wing", "--holds", snag)
    run("cure", "wing-3", "filler", "--adhesive", "filler paste", fleet=fleet,
        now=at("2026-05-15T18:00"))  # fmt: skip
    shown = run("cure", fleet=fleet, now=at("2026-05-16T09:00"))
    text = re.sub(r"\b[a-z][0-9a-z]{5}\b(?=$| rib| loose)", "000000", shown.out, flags=re.M)
    golden("screens/cure-80", text)
    assert max(len(line) for line in shown.out.splitlines()) <= 80


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (["swift", "rib"], "adhesive-none"),
        (["swift", "rib", "--adhesive", "x", "--full", "0"], "amount-wrong"),
        (["swift", "rib", "--adhesive", "x", "--full", "soon"], "amount-wrong"),
        (["swift", "rib", "--adhesive", "x", "--full", "2h", "--handling", "3h"], "times-crossed"),
        (["swift", "rib", "--adhesive", "x", "--temperature", "warm"], "temperature-wrong"),
        (["swift", "rib", "--adhesive", "x", "--temperature", "-300"], "temperature-wrong"),
        (["swift", "rib", "--adhesive", "x", "--mixed", "23:00"], "mixed-ahead"),
        (["swift", "rib", "--adhesive", "x", "--mixed", "12:00", "--at", "today"], "usage"),
        (["swift", "rib", "--adhesive", "x", "--holds", "zzzz"], "event-unknown"),
        (["swift", "rib", "--adhesive", "x", "--basis", "makr: page 3"], "basis-unknown"),
        (["swallow", "rib", "--adhesive", "x"], "aircraft-or-part-unknown"),
    ],
)
def test_a_wrong_line_writes_nothing(fleet: Path, line: list[str], code: str) -> None:
    before = read_files(fleet)
    error = run_json("cure", *line, fleet=fleet, exit_code=2)["error"]
    assert error["code"] == code, error
    assert read_files(fleet) == before


def test_nothing_else_rests_on_a_cure(fleet: Path) -> None:
    run("fly", "swift", "1", "--minutes", "7", fleet=fleet)
    flights = events_of(fleet, "flights")[0].id
    line = ("cure", "swift", "rib", "--adhesive", "x", "--holds", flights)
    assert run_json(*line, fleet=fleet, exit_code=2)["error"]["code"] == "holds-kind"
