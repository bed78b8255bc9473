"""A job with a cure of its own, once done: the clock runs, what waits for it goes on waiting."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from commands.bench_fleet import EVENTS, FILES, make_bench_fleet
from event_fleet import events_of

from fleets import run, run_json
from register.records.workshop_bodies import Cure

NOW = datetime(2026, 5, 13, 17, 30, tzinfo=UTC)
LATER = datetime(2026, 5, 14, 7, 0, tzinfo=UTC)
JOB, WAITING = "j1aaaaaaaa", "j2aaaaaaaa"


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_bench_fleet(tmp_path)


def cure_of(fleet: Path) -> Cure:
    [event] = events_of(fleet, "cure")
    assert isinstance(event.body, Cure)
    return event.body


def jobs(fleet: Path, on: str) -> dict[str, Any]:
    found = run_json("jobs", "swift", "--on", on, fleet=fleet)["jobs"]
    return {job["id"]: job for job in found}


def test_done_starts_the_clock_and_says_when_it_ends(fleet: Path) -> None:
    result = run("jobs", "--done", JOB, fleet=fleet, now=NOW)
    assert result.exit_code == 0, result
    assert "glue the tray rib mixed 2026-05-13 17:30" in result.out
    assert "handling from 2026-05-13 18:00" in result.out
    assert "full load from 2026-05-14 05:30 (maker: leaflet)" in result.out
    [line] = [row for row in result.out.splitlines() if "mixed at another time?" in row]
    body = cure_of(fleet)
    assert (body.adhesive, body.at, body.text) == ("rib epoxy", "receiver", "glue the tray rib")
    assert body.handling_minutes == 30
    assert body.full_minutes == 720
    assert body.basis.text == "maker: leaflet"
    assert body.holds == (WAITING,)
    assert body.mixed is not None
    assert body.mixed.instant == NOW
    words = line.split("tailsheaf ")[1].replace("T17:30", "T16:10").split()
    amended = run(*words, fleet=fleet, now=NOW)
    assert amended.exit_code == 0, amended
    moved = cure_of(fleet).mixed
    assert moved is not None
    assert moved.instant == datetime(2026, 5, 13, 16, 10, tzinfo=UTC)
    assert run("check", fleet=fleet).exit_code == 0


def test_what_waited_for_the_job_waits_for_the_cure(fleet: Path) -> None:
    run("jobs", "--done", JOB, fleet=fleet, now=NOW)
    [wait] = [wait for wait in jobs(fleet, "2026-05-13")[WAITING]["waits_for"] if wait["open"]]
    assert wait["kind"] == "cure"
    assert not jobs(fleet, "2026-05-14")[WAITING]["ready"]
    assert jobs(fleet, "2026-05-15")[WAITING]["ready"]
    refused = run("jobs", "--done", WAITING, fleet=fleet, now=NOW)
    assert refused.exit_code == 4
    assert "rests on glue the tray rib" in refused.err
    after = run("jobs", "--done", WAITING, fleet=fleet, now=LATER)
    assert after.exit_code == 0, after
    assert "still open" not in after.out + after.err


def test_the_worklist_does_not_put_it_on_the_same_evening(fleet: Path) -> None:
    run("jobs", "--done", JOB, fleet=fleet, now=NOW)
    ask = ("worklist", "swift", "--until", "2026-05-16")
    steps = run_json(*ask, fleet=fleet, now=NOW)["steps"]
    [step] = [step for step in steps if step["step"] == f"do job {WAITING}"]
    assert str(step["begins"])[:10] == "2026-05-14"


def test_an_unknown_time_is_not_nought(tmp_path: Path) -> None:
    name = f"{EVENTS}-03-job-j1.yaml"
    text = FILES[name].partition("        cure:")[0] + '        cure: {adhesive: "old glue"}\n'
    fleet = make_bench_fleet(tmp_path, {name: text})
    result = run("jobs", "--done", JOB, fleet=fleet, now=NOW)
    assert "when it is reached cannot be told" in result.out + result.err
    assert cure_of(fleet).full_minutes is None
    assert not jobs(fleet, "2026-06-13")[WAITING]["ready"]


def test_done_on_an_earlier_day_counts_to_the_end_of_it(fleet: Path) -> None:
    result = run("jobs", "--done", JOB, "--at", "2026-05-12", fleet=fleet, now=NOW)
    assert "the end of that day counts" in result.out + result.err
    [cure] = run_json("cure", "swift", "--all", fleet=fleet, now=NOW)["cures"]
    assert cure["full_at"].startswith("2026-05-13T12:00")


def test_dropped_starts_no_clock(fleet: Path) -> None:
    run("jobs", "--drop", JOB, "not", "needed", fleet=fleet, now=NOW)
    assert events_of(fleet, "cure") == []
    assert jobs(fleet, "2026-05-13")[WAITING]["ready"]


def test_a_mended_snag_starts_its_clock_and_what_waits_goes_on_waiting(fleet: Path) -> None:
    words = ("snag", "swift", "rib split", "-s", "l", "--cure", "rib epoxy=30/12h")
    assert run(*words, fleet=fleet, now=NOW).exit_code == 0
    [snag] = [event for event in events_of(fleet, "snag") if event.body.text == "rib split"]
    waits = ("jobs", "swift", "paint the rib", "--waits", snag.id)
    assert run(*waits, fleet=fleet, now=NOW).exit_code == 0
    kept = run("fix", snag.id, "clamped", "--keep-open", fleet=fleet, now=NOW)
    assert kept.exit_code == 0
    assert events_of(fleet, "cure") == []
    fixed = run("fix", snag.id, "glued and clamped", fleet=fleet, now=NOW)
    assert fixed.exit_code == 0, fixed
    assert "rib split mixed 2026-05-13 17:30" in fixed.said
    assert "full load from 2026-05-14 05:30" in fixed.said
    assert "goes on waiting, for the cure: paint the rib" in fixed.said
    body = cure_of(fleet)
    [job] = [event for event in events_of(fleet, "job") if event.body.text == "paint the rib"]
    assert (body.adhesive, body.holds) == ("rib epoxy", (job.id,))
    assert body.full_minutes == 720
    refused = run("jobs", "--done", job.id, fleet=fleet, now=NOW)
    assert refused.exit_code == 4
    assert run("jobs", "--done", job.id, fleet=fleet, now=LATER).exit_code == 0
    assert run("check", fleet=fleet).exit_code == 0


def test_a_snag_without_a_cure_starts_none(fleet: Path) -> None:
    assert run("snag", "swift", "rib split", "-s", "l", fleet=fleet, now=NOW).exit_code == 0
    [snag] = [event for event in events_of(fleet, "snag") if event.body.text == "rib split"]
    assert run("fix", snag.id, "glued", fleet=fleet, now=NOW).exit_code == 0
    assert events_of(fleet, "cure") == []
