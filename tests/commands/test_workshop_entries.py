"""charge, engine-run, reading, condition, incident, layup."""

from __future__ import annotations

from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from fleets import read_files, run, run_json
from register.desk import open_fleet
from register.records.values import Span


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def test_packs_charged_together_gain_one_charge_each(fleet: Path) -> None:
    result = run("charge", "pk-04", "pk-05", fleet=fleet)
    assert result.exit_code == 0, result
    event = events_of(fleet, "charge")[0]
    assert event.moment.instant is not None
    assert event.path.startswith("parts/pk-04/events/2026/05/2026-05-16-1100-charge-")
    ledger = open_fleet(fleet).ledger
    for pack in ("pk-04", "pk-05"):
        assert ledger.value(("part", pack), "charges") == Span.exact(1)


def test_an_engine_run_by_the_engine_or_by_its_aircraft(fleet: Path) -> None:
    run("engine-run", "tu-07", "12m", "--starts", "2", fleet=fleet)
    run("engine-run", "heron", "0:03", fleet=fleet)
    assert [event.body.minutes for event in events_of(fleet, "engine-run")] == [12, 3]
    assert {event.body.part.name for event in events_of(fleet, "engine-run")} == {"tu-07"}
    none = run_json("engine-run", "kestrel", "5", fleet=fleet, exit_code=2)
    assert none["error"]["code"] == "engine-which"


def test_a_meter_is_read_and_replaced(fleet: Path) -> None:
    run("reading", "heron", "--meter", "engine-minutes=25.5h", fleet=fleet)
    lower = run("reading", "tu-07", "--meter", "engine-min=20h", fleet=fleet)
    assert "it showed 1530 before" in lower.out
    new = run("reading", "tu-07", "--meter", "engine-minutes=0", "--new-meter", fleet=fleet)
    assert "another meter" in new.out
    readings = [event.body for event in events_of(fleet, "meter-reading")]
    assert [(item.counter, item.value, item.replaced) for item in readings] == [
        ("engine-minutes", 1530, False),
        ("engine-minutes", 1200, False),
        ("engine-minutes", 0, True),
    ]


def test_readings_outside_a_task(fleet: Path) -> None:
    result = run("reading", "heron", "weight=11.4kg", "cg=-3mm", fleet=fleet)
    assert "heron: weight 11.4 kg, cg -3 mm" in result.out
    measured = [event.body.measured for event in events_of(fleet, "reading")]
    assert [(item.name, float(item.value), item.unit) for item in measured] == [
        ("weight", 11.4, "kg"),
        ("cg", -3.0, "mm"),
    ]


def test_a_rejected_pack_names_the_aircraft_it_concerns(fleet: Path) -> None:
    run("install", "pk-04", "kestrel", fleet=fleet)
    result = run("condition", "pk-04", "rej", "--reason", "one cell high", fleet=fleet)
    assert "pk-04 is rejected from now on, was serviceable (one cell high)" in result.out
    assert "heron and kestrel use it" in result.out
    again = run("condition", "pk-04", "rejected", fleet=fleet)
    assert "as before" in again.out


def test_an_incident_opens_its_list(fleet: Path) -> None:
    result = run("incident", "heron", "hard", "landing", fleet=fleet)
    assert "it opens 2 checks: gear-mounts, spar-look" in result.out
    assert events_of(fleet, "incident")[0].body.what == "hard-landing"
    slip = run_json("incident", "heron", "hard-lnding", fleet=fleet, exit_code=2)
    assert "hard-landing" in slip["error"]["mend"]
    other = run("incident", "heron", "bird", "strike", fleet=fleet)
    assert "no list of inspections opens on bird-strike" in other.out


def test_a_layup_begins_and_ends(fleet: Path) -> None:
    run("layup", "heron", fleet=fleet)
    assert open_fleet(fleet).ledger.stage("heron")[0] == "laid-up"
    assert "already recorded as laid up" in run("layup", "heron", fleet=fleet).out
    run("layup", "heron", "--end", fleet=fleet)
    assert open_fleet(fleet).ledger.stage("heron")[0] == "in-service"
    assert "was not recorded as laid up" in run("layup", "heron", "--end", fleet=fleet).out


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (["charge", "pk-9"], "part-unknown"),
        (["charge", "pk-04", "--count", "0"], "amount-unlikely"),
        (["engine-run", "tu-07", "25h"], "amount-unlikely"),
        (["engine-run", "tu-07", "12", "--starts=-1"], "amount-wrong"),
        (["reading", "heron"], "usage"),
        (["reading", "heron", "11.4"], "reading-nameless"),
        (["reading", "tu-07", "--meter", "engine-minutes"], "usage"),
        (["reading", "tu-07", "--meter", "furlongs=3"], "counter-unknown"),
        (["reading", "kestrel", "--meter", "engine-minutes=3"], "meter-whose"),
        (["condition", "pk-04", "broken"], "condition-unknown"),
        (["layup", "hern"], "aircraft-or-part-unknown"),
    ],
)
def test_a_wrong_line_writes_nothing(fleet: Path, line: list[str], code: str) -> None:
    before = read_files(fleet)
    assert run_json(*line, fleet=fleet, exit_code=2)["error"]["code"] == code
    assert read_files(fleet) == before


def test_packs_to_charge_may_be_joined_by_commas(fleet: Path) -> None:
    result = run("charge", "pk-04,pk-05", fleet=fleet)
    assert result.exit_code == 0, result
    assert [ref.name for ref in events_of(fleet, "charge")[-1].body.parts] == ["pk-04", "pk-05"]
