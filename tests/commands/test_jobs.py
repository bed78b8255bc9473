"""Open jobs as a person keeps them: what waits, what is done, the other hand, acceptance."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from event_fleet import make_event_fleet

from fleets import Result, run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """The fleet of entry tests; bulwark is being built."""
    return make_event_fleet(tmp_path)


def says(fleet: Path, *words: str, exit_code: int = 0) -> Result:
    """Type one line."""
    result = run(*words, fleet=fleet)
    assert result.exit_code == exit_code, result
    return result


def note(fleet: Path, *words: str) -> str:
    """Note a job and get its id."""
    return str(run_json("jobs", *words, fleet=fleet)["id"])


def jobs(fleet: Path, *words: str) -> dict[str, dict[str, Any]]:
    """The jobs listed, by their words."""
    return {job["text"]: job for job in run_json("jobs", *words, fleet=fleet)["jobs"]}


def test_what_waits_is_not_ready(fleet: Path) -> None:
    first = note(fleet, "bulwark", "seal", "the", "tank", "bay", "--minutes", "1.5 h")
    second = note(fleet, "bulwark", "fit the tank", "--waits", first[:5])
    found = jobs(fleet, "bulwark")
    assert found["seal the tank bay"]["ready"]
    assert found["seal the tank bay"]["minutes"] == 90
    assert not found["fit the tank"]["ready"]
    assert found["fit the tank"]["waits_for"] == [
        {"id": first, "kind": "job", "open": True, "says": "seal the tank bay"}
    ]
    said = says(fleet, "jobs", "--done", first, "two", "coats").out
    assert "waited for it: fit the tank" in said
    assert jobs(fleet, "bulwark")["fit the tank"]["ready"]
    assert "seal the tank bay" not in jobs(fleet, "bulwark")
    listed = jobs(fleet, "bulwark", "--all")
    assert listed["seal the tank bay"]["state"] == "done"
    assert "two coats" in says(fleet, "history", "bulwark").out
    says(fleet, "jobs", "--drop", second, "bought", "with", "tank", "fitted")
    assert run_json("jobs", "bulwark", fleet=fleet)["open"] == 0


@pytest.mark.parametrize("kind", ["snag", "cure"])
def test_a_job_waits_for_a_snag_or_a_cure(fleet: Path, kind: str) -> None:
    if kind == "snag":
        before = str(run_json("snag", "bulwark", "rib", "split", fleet=fleet)["id"])
    else:
        path = fleet / "aircraft/bulwark/events/2026/05/2026-05-16-cure-c0reaaaaaa.yaml"
        path.parent.mkdir(parents=True)
        path.write_text(
            'record: "cure"\nid: "c0reaaaaaa"\nwhen: "2026-05-16T08:00+00:00"\n'
            'aircraft: "bulwark"\nadhesive: "slow epoxy"\nfull_minutes: 1440\n'
        )
        before = "c0reaaaaaa"
    note(fleet, "bulwark", "cover the wing", "--waits", before)
    assert not jobs(fleet)["cover the wing"]["ready"]
    if kind == "snag":
        says(fleet, "fix", before, "splinted")
        assert jobs(fleet)["cover the wing"]["ready"]
    else:
        later = run_json("jobs", "--on", "2026-05-18", fleet=fleet)["jobs"][0]
        assert later["ready"]


def test_done_while_it_waits_is_recorded_and_pointed_out(fleet: Path) -> None:
    first = note(fleet, "bulwark", "seal the bay")
    second = note(fleet, "bulwark", "fit the tank", "--waits", first)
    said = says(fleet, "jobs", "--done", second).out
    assert "it waited for" in said
    assert "seal the bay" in said


def test_done_on_one_side_offers_the_other(fleet: Path) -> None:
    left = note(fleet, "bulwark", "bush the left flap hinge", "--minutes", "25", "-w", "flap-left")
    assert jobs(fleet)["bush the left flap hinge"]["hand"] == "left"
    said = says(fleet, "jobs", "--done", left).out
    line = next(line for line in said.splitlines() if "--other-hand" in line)
    words = line.split("tailsheaf ")[1].split()
    says(fleet, *words)
    right = jobs(fleet)["bush the right flap hinge"]
    assert (right["hand"], right["where"], right["minutes"]) == ("right", "flap-right", 25)
    assert right["other_hand_of"] == left
    refused = says(fleet, *words, exit_code=4)
    assert "is noted" in refused.err
    assert "--other-hand" not in says(fleet, "jobs", "--done", right["id"]).out


def test_acceptance_needs_no_open_job_and_flights_are_recorded(fleet: Path) -> None:
    ids = [note(fleet, "bulwark", text) for text in ("fit the spinner", "weigh it")]
    for stage in ("ready-for-first-flight", "in-service"):
        refused = says(fleet, "aircraft", "bulwark", "--stage", stage, exit_code=4)
        assert "2 open jobs" in refused.err
        assert "fit the spinner" in refused.refused
    says(fleet, "fly", "bulwark", "1", "--minutes", "8")
    shown = says(fleet, "aircraft", "bulwark").out
    assert "2 open jobs, none may be open before it is accepted" in shown
    for id_ in ids:
        says(fleet, "jobs", "--done", id_)
    says(fleet, "aircraft", "bulwark", "--stage", "ready-for-first-flight")
    assert run_json("aircraft", "bulwark", fleet=fleet)["stage"] == "ready-for-first-flight"


def test_an_aircraft_in_service_may_come_back_with_jobs_open(fleet: Path) -> None:
    note(fleet, "heron", "polish the canopy")
    says(fleet, "layup", "heron")
    says(fleet, "aircraft", "heron", "--stage", "in-service")


def test_what_rests_on_a_cure_is_not_done_before_its_end(fleet: Path) -> None:
    job = note(fleet, "bulwark", "load the bond")
    path = fleet / "aircraft/bulwark/events/2026/05/2026-05-16-cure-c0reaaaaaa.yaml"
    path.write_text(
        'record: "cure"\nid: "c0reaaaaaa"\nwhen: "2026-05-16T08:00+00:00"\n'
        'aircraft: "bulwark"\ntext: "rib bond"\nadhesive: "slow epoxy"\nfull_minutes: 1440\n'
        f'holds: ["{job}"]\n'
    )
    refused = says(fleet, "jobs", "--done", job, exit_code=4)
    assert "rests on rib bond" in refused.err
    assert run("jobs", "--done", job, "--at", "2026-05-18", fleet=fleet).exit_code == 2
    assert jobs(fleet)["load the bond"]["state"] == "open"


@pytest.mark.parametrize(
    ("words", "code", "hint"),
    [
        (("jobs", "bulwark", "x", "--waits", "zzzz"), 2, "no event has an id"),
        (("jobs", "bulwark", "x", "--waits", "f1rst"), 2, "of kind flights"),
        (("jobs", "bulwark", "x", "--hand", "up"), 2, "hand"),
        (("jobs", "bulwark", "x", "--minutes", "long"), 2, "minutes"),
        (("jobs", "bulwark", "--minutes", "5"), 2, "no words"),
        (("jobs", "nobody", "x"), 2, "aircraft"),
        (("jobs", "--done", "zzzz"), 2, "no job has an id"),
        (("jobs", "--done", "a", "--drop", "b"), 2, "at a time"),
        (("jobs", "heron", "x", "--at", "left-wing"), 2, "--where left-wing"),
        (("jobs", "heron", "x", "--where", "left-wng"), 2, "left-wing"),
    ],
)
def test_wrong_words_are_named(fleet: Path, words: tuple[str, ...], code: int, hint: str) -> None:
    refused = says(fleet, *words, exit_code=code)
    assert hint in refused.refused
    assert "mend:" in refused.err
    assert run_json("jobs", fleet=fleet)["jobs"] == []


def test_closed_twice_is_refused_and_a_withdrawal_opens_it_again(fleet: Path) -> None:
    job = note(fleet, "bulwark", "fit the spinner")
    done = run_json("jobs", "--done", job, fleet=fleet)["id"]
    assert "was done on" in says(fleet, "jobs", "--done", job, exit_code=4).err
    says(fleet, "withdraw", done)
    assert jobs(fleet)["fit the spinner"]["state"] == "open"
