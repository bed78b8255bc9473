"""`aircraft`: entering, changing, showing; and what is refused."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from fleets import Result, read_files, run, run_json
from register.starters.catalogue import read_starter

HAND_MADE = """\
# Heron, bought second-hand.
id: hrn4567890
title: Heron   # grey over white
stage: in-service
colours: [grey, white]   # nothing of the program's
opening:
  as_of: "2025-01-01"
  counters:
    flights: 100   # from the old notebook
    engine_minutes: {value: 900, known: estimated}
positions:
  Engine: {kind: turbine, required: true, system: power}
"""


def ok(*args: str, fleet: Path) -> Result:
    result = run(*args, fleet=fleet)
    assert result.exit_code == 0, result
    return result


def log(fleet: Path) -> list[str]:
    done = subprocess.run(
        ["git", "log", "--format=%s"], cwd=fleet, capture_output=True, text=True, check=True
    )
    return done.stdout.splitlines()


def is_clean(fleet: Path) -> bool:
    done = subprocess.run(
        ["git", "status", "--porcelain"], cwd=fleet, capture_output=True, text=True, check=True
    )
    return done.stdout == ""


def write_heron(fleet: Path, text: str = HAND_MADE) -> Path:
    path = fleet / "aircraft/heron/aircraft.yaml"
    path.parent.mkdir(parents=True)
    path.write_bytes(text.encode())
    return path


def test_a_new_aircraft_brings_its_starter_in_one_commit(fleet: Path) -> None:
    result = ok(
        "aircraft",
        "kestrel",
        "--title",
        "Kestrel, red",
        "--programme",
        "turbine-jet",
        "--opening",
        "flights=150~",
        "--position",
        "engine=turbine!",
        fleet=fleet,
    )
    assert "starter turbine-jet copied to programmes/turbine-jet.yaml" in result.out
    assert log(fleet)[0] == "Add the aircraft kestrel"
    assert len(log(fleet)) == 2
    assert is_clean(fleet)
    shown = run_json("aircraft", "kestrel", fleet=fleet)
    assert shown["title"] == "Kestrel, red"
    assert shown["stage"] == "in-service"
    assert shown["programmes"][0]["programme"] == "turbine-jet"
    assert shown["programmes"][0]["tasks"] > 100
    assert shown["counters"]["flights"] == {"low": 150, "high": 150, "known": "estimated"}
    assert shown["positions"] == [
        {
            "position": "engine",
            "kind": "turbine",
            "required": True,
            "part": None,
            "since": None,
            "listed": True,
        }
    ]


def test_the_copied_starter_differs_only_by_its_id(fleet: Path) -> None:
    ok("programme", "fan-jet", "--copy", fleet=fleet)
    lines = (fleet / "programmes/fan-jet.yaml").read_bytes().splitlines()
    original = read_starter("fan-jet").splitlines()
    added = [line for line in lines if line.startswith(b"id: ")]
    assert len(added) == 1
    assert [line for line in lines if line != added[0]] == original


def test_a_second_aircraft_follows_the_same_copy_and_a_group_alone(fleet: Path) -> None:
    ok("aircraft", "heron", "--programme", "turbine-jet", fleet=fleet)
    before = (fleet / "programmes/turbine-jet.yaml").read_bytes()
    ok("aircraft", "kestrel", "--programme", "turbine-jet/contr", fleet=fleet)
    assert (fleet / "programmes/turbine-jet.yaml").read_bytes() == before
    use = run_json("aircraft", "kestrel", fleet=fleet)["programmes"]
    whole = run_json("aircraft", "heron", fleet=fleet)["programmes"]
    assert use[0]["group"] == "controls"
    assert 0 < use[0]["tasks"] < whole[0]["tasks"]
    listed = run_json("programme", fleet=fleet)["programmes"]
    assert [(p["programme"], p["in_fleet"], p["followed_by"]) for p in listed][:2] == [
        ("turbine-jet", True, ["heron", "kestrel"]),
        ("fan-jet", False, []),
    ]


def test_what_is_not_said_of_a_past_is_never_zero(fleet: Path) -> None:
    result = ok(
        "aircraft", "heron", "--programme", "turbine-jet", "--opening", "flights=150", fleet=fleet
    )
    assert "not known: minutes" in result.out
    opening = run_json("aircraft", "heron", fleet=fleet)["opening"]["counters"]
    assert opening["minutes"] == {"low": 0, "high": None, "known": "unknown"}
    assert opening["landings"] == {"low": 150, "high": 150, "known": "estimated"}
    assert opening["flights"]["known"] == "known"
    ok("aircraft", "petrel", "--opening", "flights=0", fleet=fleet)
    new = run_json("aircraft", "petrel", fleet=fleet)["opening"]["counters"]
    assert new == {"flights": {"low": 0, "high": 0, "known": "known"}}


def test_unknown_flights_stay_unknown(fleet: Path) -> None:
    ok("aircraft", "heron", "--opening", "flights=?", fleet=fleet)
    counters = run_json("aircraft", "heron", fleet=fleet)["counters"]
    assert counters["flights"] == {"low": 0, "high": None, "known": "unknown"}
    assert "not known" in ok("aircraft", "heron", fleet=fleet).out


def test_last_dones_of_a_task_a_part_and_a_whole_group(fleet: Path) -> None:
    ok("parts", "pack-1", "--add", "--kind", "battery", fleet=fleet)
    result = ok(
        "aircraft",
        "heron",
        "--programme",
        "turbine-jet",
        "--opening",
        "flights=150",
        "--last-done",
        "group:controls=2025-10-01~",
        "--last-done",
        "surface-thr=2026-03-01@flights=140",
        "--last-done",
        "pack-capacity:pack-1=?",
        fleet=fleet,
    )
    assert "count flights or the like" in result.out
    tasks = {
        task["task"]: task
        for task in run_json("aircraft", "heron", fleet=fleet)["opening"]["tasks"]
    }
    assert tasks["surface-throws"] == {
        "task": "surface-throws",
        "subject": None,
        "when": "2026-03-01",
        "at": {"flights": 140},
        "known": "known",
    }
    assert tasks["surface-free-play"]["when"] == "2025-10-01"
    assert tasks["surface-free-play"]["known"] == "estimated"
    assert tasks["pack-capacity"]["subject"] == "pack-1"
    assert tasks["pack-capacity"]["when"] is None
    assert tasks["pack-capacity"]["known"] == "unknown"


def test_a_later_last_done_replaces_the_earlier(fleet: Path) -> None:
    ok("aircraft", "heron", "--programme", "fan-jet", fleet=fleet)
    for day in ("2025-10-01", "2026-01-02"):
        ok("aircraft", "heron", "--last-done", f"surface-throws={day}", fleet=fleet)
    ok("aircraft", "heron", "--last-done", "hinge-pull=2026-01-03", fleet=fleet)
    tasks = run_json("aircraft", "heron", fleet=fleet)["opening"]["tasks"]
    assert [(task["task"], task["when"]) for task in tasks] == [
        ("surface-throws", "2026-01-02"),
        ("hinge-pull", "2026-01-03"),
    ]


def test_comments_and_unknown_keys_of_a_hand_made_file_survive(fleet: Path) -> None:
    path = write_heron(fleet)
    ok(
        "aircraft",
        "heron",
        "--title",
        "Heron the second",
        "--opening",
        "engine-minutes=950",
        "--position",
        "engine=turbine",
        "--position",
        "rx=receiver",
        fleet=fleet,
    )
    text = path.read_text("utf-8")
    for kept in (
        "# Heron, bought second-hand.",
        "# grey over white",
        "# nothing of the program's",
        "flights: 100   # from the old notebook",
        "system: power",
    ):
        assert kept in text
    assert text.count("engine") == HAND_MADE.count("engine")
    shown = run_json("aircraft", "heron", fleet=fleet)
    assert shown["title"] == "Heron the second"
    assert shown["opening"]["counters"]["engine-minutes"]["low"] == 950
    assert shown["opening"]["as_of"] == "2025-01-01"
    required = {line["position"]: line["required"] for line in shown["positions"]}
    assert required == {"engine": False, "rx": False}


def test_another_stage_is_an_event_and_leaves_the_file_alone(fleet: Path) -> None:
    path = write_heron(fleet)
    result = ok("aircraft", "heron", "--stage", "laid", "--at", "2026-05-10", fleet=fleet)
    assert "heron is laid up on 2026-05-10" in result.out
    assert path.read_bytes() == HAND_MADE.encode()
    assert run_json("aircraft", "heron", fleet=fleet)["stage"] == "laid-up"
    assert run_json("aircraft", "heron", "--on", "2026-05-09", fleet=fleet)["stage"] == "in-service"
    assert log(fleet)[0] == "Heron is laid up on 2026-05-10"


def test_per_flight_figures_say_where_they_come_from(fleet: Path) -> None:
    ok(
        "aircraft",
        "heron",
        "--per-flight",
        "engine-minutes=9",
        "--basis",
        "maker: leaflet 3",
        fleet=fleet,
    )
    shown = run_json("aircraft", "heron", fleet=fleet)["per_flight"]["engine-minutes"]
    assert shown == {"value": 9, "basis": {"kind": "maker", "reference": "leaflet 3"}}


def test_a_slip_of_the_pen_makes_no_second_aircraft(fleet: Path) -> None:
    ok("aircraft", "heron", "--add", fleet=fleet)
    before = read_files(fleet)
    result = run("aircraft", "herom", "--stage", "sold", fleet=fleet)
    assert result.exit_code == 2
    assert "did you mean heron?" in result.err
    assert "tailsheaf aircraft herom --add" in result.err
    assert read_files(fleet) == before
    ok("aircraft", "herom", "--add", fleet=fleet)
    assert [a["aircraft"] for a in run_json("aircraft", fleet=fleet)["aircraft"]] == [
        "herom",
        "heron",
    ]


def test_an_unknown_name_alone_shows_the_line_that_adds(fleet: Path) -> None:
    result = run("aircraft", "bulwark", fleet=fleet)
    assert result.exit_code == 2
    assert "tailsheaf aircraft bulwark --add" in result.err


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--opening", "flihgts=3"], "flights"),
        (["--opening", "flights"], "flights=150"),
        (["--opening", "flights=-3"], "negative"),
        (["--opening", "flights=1.5"], "whole number"),
        (["--opening", "flights=ten"], "whole number"),
        (["--opening", "charges=4"], "battery"),
        (["--opening", "engine-minutes=1200 parsecs"], "0.2h"),
        (["--as-of", "2026-02-30"], "not a day of the calendar"),
        (["--as-of", "2027-01-01"], "still to come"),
        (["--last-done", "surface-throws=2026-02-30"], "not a day of the calendar"),
        (["--last-done", "surface-throws=2026-06-01"], "still to come"),
        (["--last-done", "surface-thorws=2026-02-03"], "surface-throws"),
        (["--last-done", "group:contorls=2026-02-03"], "controls"),
        (["--last-done", "surface-throws:nix=2026-02-03"], "part"),
        (["--position", "engine=turbin"], "turbine"),
        (["--position", "=turbine"], "engine=turbine!"),
        (["--position", "../x=turbine"], "a-z"),
        (["--per-flight", "flights=2"], "flight by flight"),
        (["--programme", "turbin-jet"], "turbine-jet"),
        (["--programme", "fan-jet/controsl"], "controls"),
        (["--stage", "in-sevice"], "in-service"),
        (["--kit", "northwind"], "tailsheaf kit northwind --add"),
        (["--basis", "makr: page 3", "--per-flight", "landings=1"], "maker"),
        (["--title", "  "], "--title"),
    ],
)
def test_wrong_words_are_refused_with_what_to_type(
    fleet: Path, options: list[str], says: str
) -> None:
    before = read_files(fleet)
    result = run("aircraft", "heron", "--add", "--programme", "fan-jet", *options, fleet=fleet)
    assert result.exit_code == 2, result
    assert says in result.err
    assert read_files(fleet) == before


@pytest.mark.parametrize("name", ["con", "Per Egrin", "../x", "-x-", "ä", "a" * 64])
def test_names_no_file_system_holds_are_refused(fleet: Path, name: str) -> None:
    before = read_files(fleet)
    assert run("aircraft", "--add", "--", name, fleet=fleet).exit_code == 2
    assert read_files(fleet) == before


def test_one_name_is_not_both_a_part_and_an_aircraft(fleet: Path) -> None:
    ok("parts", "tb-1", "--add", "--kind", "turbine", fleet=fleet)
    assert run("aircraft", "tb-1", "--add", fleet=fleet).exit_code == 4
    ok("aircraft", "heron", "--add", fleet=fleet)
    result = run("parts", "heron", "--add", "--kind", "servo", fleet=fleet)
    assert result.exit_code == 4


def test_saying_what_is_there_already_writes_nothing(fleet: Path) -> None:
    ok("aircraft", "heron", "--title", "Heron", fleet=fleet)
    before = log(fleet)
    result = run("aircraft", "heron", "--title", "Heron", fleet=fleet)
    assert result.exit_code == 2
    assert "already" in result.err
    assert log(fleet) == before


def test_a_file_with_an_error_is_shown_and_not_edited(fleet: Path) -> None:
    path = write_heron(fleet, HAND_MADE + "broken: [1, 2\n")
    before = path.read_bytes()
    result = run("aircraft", "heron", "--title", "New", fleet=fleet)
    assert result.exit_code in (2, 4)
    assert path.read_bytes() == before
    listing = run("aircraft", fleet=fleet)
    assert listing.exit_code == 1
    assert "INCOMPLETE" in listing.out


def test_screens_stay_within_eighty_columns_and_hide_no_control(fleet: Path) -> None:
    write_heron(fleet)
    ok("aircraft", "heron", "--title", "Heron \x1b[31mred\u202e" + "x" * 80, fleet=fleet)
    ok("aircraft", "heron", "--programme", "fan-jet,turbine-jet/controls", fleet=fleet)
    for args in (["aircraft"], ["aircraft", "heron"], ["programme"], ["programme", "fan-jet"]):
        out = ok(*args, fleet=fleet).out
        assert "\x1b" not in out
        assert "\u202e" not in out
        assert max(len(line) for line in out.splitlines()) <= 80, args


def test_a_month_is_taken_as_its_middle_and_said(fleet: Path) -> None:
    line = ["aircraft", "heron", "--programme", "turbine-jet", "--opening", "flights=40"]
    result = run(*line, "--last-done", "failsafe=2026-03~", fleet=fleet)
    assert result.exit_code == 0, result
    assert "failsafe: 2026-03 is taken as 2026-03-15, about" in result.out
    sheet = (fleet / "aircraft/heron/aircraft.yaml").read_text()
    assert "2026-03-15" in sheet
    assert "estimated" in sheet
    for wrong in ("2026-03", "2026-07~"):
        assert run("aircraft", "heron", "--last-done", f"failsafe={wrong}", fleet=fleet).exit_code


def test_a_task_on_a_part_is_held_to_the_opening_of_the_part(fleet: Path) -> None:
    run("aircraft", "heron", "--programme", "turbine-jet", "--opening", "flights=40", fleet=fleet)
    run(
        "parts",
        "te-9",
        "--add",
        "--kind",
        "turbine",
        "--opening",
        "engine-minutes=900",
        fleet=fleet,
    )
    run("install", "te-9", "heron", "engine", fleet=fleet)
    line = ["aircraft", "heron", "--last-done"]
    fine = run(*line, "turbine-service=2026-03-15@engine-minutes=600", fleet=fleet)
    assert fine.exit_code == 0, fine
    assert "more than the opening" not in fine.out
    odd = run(*line, "turbine-service=2026-03-15@engine-minutes=901", fleet=fleet)
    assert "turbine-service at 901 engine-minutes is more than the opening 900" in odd.out
