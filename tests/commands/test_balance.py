"""balance: scales recorded, states of the tanks, limits, classes, ballast, what is tried."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from event_fleet import events_of
from workshop_room.scale_fleet import FILES, WEIGHED, make_scale_fleet

from fleets import Golden, read_files, run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_scale_fleet(tmp_path)


def weigh(fleet: Path, *more: str, words: tuple[str, ...] = WEIGHED) -> str:
    result = run("balance", "swift", *words, *more, fleet=fleet)
    assert result.exit_code == 0, result
    return result.said


def test_a_weighing_is_recorded_and_says_what_follows(fleet: Path) -> None:
    out = weigh(fleet, "--tanks", "empty", "--attitude", "0")
    assert "recorded: swift weighed: 13.37 kg, tanks empty" in out
    assert "tanks empty: CG 109.6 mm aft of the datum, 35.6 % of the mean chord" in out
    body = events_of(fleet, "weighing")[0].body
    assert [(w.point, str(w.reading)) for w in body.weights] == [
        ("nose", "2.02"), ("main-left", "5.71"), ("main-right", "5.64"),
    ]  # fmt: skip
    assert (body.tanks, body.attitude) == ("empty", 0)


def test_the_same_scales_in_any_unit_come_to_the_same(fleet: Path) -> None:
    weigh(fleet, "--tanks", "empty")
    kilos = run_json("balance", "swift", fleet=fleet)
    grams = ("--weigh", "nose=2020g", "--weigh", "main-left=5.71kg", "--weigh", "main-right=5640 g")
    weigh(fleet, "--tanks", "empty", words=grams)
    assert events_of(fleet, "weighing")[1].body.weights[0].as_read == "2020g"
    again = run_json("balance", "swift", fleet=fleet)
    assert again["looks"] == kilos["looks"]
    assert again["changed"]["mass"] == again["changed"]["cg"] == 0
    pounds = ("--weigh", "nose=4lb 7.25oz", "--weigh", "main-left=12.59lb",
              "--weigh", "main-right=12.43lb")  # fmt: skip
    weigh(fleet, "--tanks", "empty", words=pounds)
    now = run_json("balance", "swift", fleet=fleet)["looks"][0]["states"][0]
    assert now["mass"] == pytest.approx(13.37, abs=0.01)


def test_tare_of_one_scale_or_of_all(fleet: Path) -> None:
    weigh(fleet, "--tare", "nose=0.02", "--tare", "main-left=10g")
    weigh(fleet, "--tare", "0.1")
    first, second = (event.body.weights for event in events_of(fleet, "weighing"))
    assert [str(item.tare) for item in first] == ["0.02", "0.01", "0"]
    assert {str(item.tare) for item in second} == {"0.1"}
    data = run_json("balance", "swift", fleet=fleet)
    assert data["points"][0]["net"] == pytest.approx(1.92)


def test_the_screen(fleet: Path, golden: Golden) -> None:
    weigh(fleet, "--tanks", "empty", "--attitude", "0", "--at", "2026-04-04")
    heavier = ("--weigh", "nose=2.02", "--weigh", "main-left=6.31", "--weigh", "main-right=6.24")
    weigh(fleet, "--tanks", "empty", "--attitude", "1.5", "--at", "2026-05-02", words=heavier)
    run("install", "wing-3", "swift", "left-wing", "--at", "2026-05-09", fleet=fleet)
    shown = run("balance", "swift", "--move", "pack-front@-520", "--add", "camera=0.2@300,-90",
                fleet=fleet)  # fmt: skip
    assert shown.exit_code == 0, shown
    text = re.sub(r"weighing-\w{10}", "weighing-0000000000", shown.out)
    golden("screens/balance-80", text)
    assert max(len(line) for line in text.splitlines()) <= 80


def test_full_tanks_and_take_off_are_computed_from_the_tank(fleet: Path) -> None:
    weigh(fleet, "--tanks", "full")
    states = {
        s["tanks"]: s for s in run_json("balance", "swift", fleet=fleet)["looks"][0]["states"]
    }
    assert states["tanks full"]["mass"] == pytest.approx(13.37)
    assert states["tanks empty"]["mass"] == pytest.approx(10.97)
    assert states["at take-off"]["mass"] == pytest.approx(13.17)
    assert states["tanks empty"]["against_limits"] == "inside"


def test_fuel_that_is_not_stated_is_never_nought(fleet: Path) -> None:
    weigh(fleet)
    data = run_json("balance", "swift", fleet=fleet)
    states = {state["tanks"]: state for state in data["looks"][0]["states"]}
    empty = states["tanks empty"]
    assert (empty["mass"], empty["cg"], empty["against_limits"]) == (None, None, "cannot-tell")
    assert [empty["mass_low"], empty["mass_high"]] == pytest.approx([10.97, 13.37])
    # Under 14 kg dry with any fuel; at take-off only part of the range lies under 16.
    own, national = data["classes"]
    assert own["looks"][0]["state"] == "under"
    assert national["looks"][0]["state"] == "under"


def test_a_class_is_crossed_by_what_the_limit_says(fleet: Path) -> None:
    weigh(fleet, "--tanks", "empty", "--at", "2026-04-04")
    out = weigh(fleet, "--tanks", "empty",
                words=("--weigh", "nose=2.1", "--weigh", "main-left=6.0", "--weigh",
                       "main-right=5.95"))  # fmt: skip
    assert "note: over 14 kg dry: own class" in out
    data = run_json("balance", "swift", fleet=fleet)
    own, national = data["classes"]
    assert own["crossed"] == "2026-05-16"
    assert own["looks"][0]["state"] == "over"
    assert own["basis"] == {"kind": "club", "reference": "field rules"}
    # 14.05 kg with 2.2 kg of fuel at take-off is 16.25 kg.
    assert national["looks"][0]["state"] == "over"
    assert "A class limit decides who has to inspect" in data["cautions"][1]
    assert run("balance", "swift", "--strict", fleet=fleet).exit_code == 1


def test_it_is_said_when_the_finished_mass_or_a_change_crosses_a_class(fleet: Path) -> None:
    words = ("--weigh", "nose=2.06", "--weigh", "main-left=5.85", "--weigh", "main-right=5.8")
    weigh(fleet, "--tanks", "empty", words=words)
    # 13.71 kg dry now; with the pump that is to come 14.11 kg, over the 14 kg of the club.
    assert (
        "finished: 14.110 kg, OVER by 0.110 kg; this crosses it"
        in run("balance", "swift", fleet=fleet).out
    )
    tried = run("balance", "swift", "--remove", "smoke-pump", fleet=fleet).out
    # Both classes are crossed by the pump, and neither is any more without it.
    assert tried.count("this crosses it") == 2
    classes = run_json("balance", "swift", "--remove", "smoke-pump", fleet=fleet)["classes"]
    states = [[look["state"] for look in line["looks"]] for line in classes]
    assert states == [["under", "over", "under"]] * 2


def test_what_is_tried_is_not_written(fleet: Path) -> None:
    weigh(fleet, "--tanks", "empty")
    before = read_files(fleet)
    data = run_json("balance", "swift", "--add", "lead=0.25@-640,0", "--remove", "pack-front",
                    "--move", "gyro=0.05@100:200", fleet=fleet)  # fmt: skip
    assert read_files(fleet) == before
    assert [look["look"] for look in data["looks"]] == ["now", "finished", "with the change"]
    assert len(data["tried"]) == 3
    finished, tried = (data["looks"][n]["states"][0] for n in (1, 2))
    assert tried["mass"] - finished["mass"] == pytest.approx(0.25 - 0.66)


def test_ballast_says_where_how_much_and_to_which_limit(fleet: Path) -> None:
    tail_heavy = ("--weigh", "nose=1.62", "--weigh", "main-left=5.9", "--weigh", "main-right=5.85")
    out = weigh(fleet, "--tanks", "empty", words=tail_heavy)
    assert "mm behind the aft limit" in out
    data = run_json("balance", "swift", "--ballast-at=-500", fleet=fleet)
    needs = {need["place"]: need for need in data["ballast"]}
    assert set(needs) == {"nose-box", "arm -500"}
    assert needs["nose-box"]["to"] == "aft"
    assert needs["nose-box"]["limit"] == 116
    assert needs["nose-box"]["all_inside"] is True
    ballast = f"lead={needs['nose-box']['mass'] + 0.001}@-640,0"
    after = run_json("balance", "swift", "--add", ballast, fleet=fleet)
    assert {s["against_limits"] for s in after["looks"][-1]["states"]} == {"inside"}


TAIL_DRAGGER = """
    id: drag000001
    title: "Dragger"
    stage: "in-service"
    balance:
      datum: "tail post"
      arms: {main-left: -1610, main-right: -1610, tail: -42}
      limits: {forward: -1540, aft: -1490, tanks: empty, basis: {kind: "owner"}}
      tank: {arm: -1700, full: 1.1, basis: {kind: "owner"}}
    """


def test_a_tail_wheel_and_a_datum_behind(tmp_path: Path) -> None:
    fleet = make_scale_fleet(tmp_path, {"aircraft/dragger/aircraft.yaml": TAIL_DRAGGER})
    words = ("--weigh", "main-left=7.2", "--weigh", "main-right=7.3", "--weigh", "tail=0.9")
    out = run("balance", "dragger", *words, "--tanks", "empty", fleet=fleet).out
    assert "mm ahead of the datum" in out
    states = run_json("balance", "dragger", fleet=fleet)["looks"][0]["states"]
    empty, full = states
    # The handbook's form for a tail wheel with the datum behind: -D + R L / W, by hand.
    assert empty["cg"] == pytest.approx(-1610 + 0.9 * (1610 - 42) / 15.4, abs=1e-3)
    assert empty["against_limits"] == "inside"
    # Limits that hold for empty tanks say nothing of full ones.
    assert full["against_limits"] == "not-judged"


def test_an_aircraft_being_built_adds_up_what_is_listed(fleet: Path) -> None:
    data = run_json("balance", "hull", fleet=fleet)
    state = data["looks"][0]["states"][0]
    assert state["mass"] == pytest.approx(9.05)
    assert state["cg"] == pytest.approx((6.1 * 710 + 2.05 * 96 + 0.9 * 480) / 9.05, abs=1e-3)
    assert state["against_limits"] == "inside"
    assert "never weighed; from 3 listed items" in run("balance", "hull", fleet=fleet).out


def test_a_list_that_is_not_whole_is_judged_against_nothing(tmp_path: Path) -> None:
    partly = FILES["aircraft/hull/aircraft.yaml"].replace("items_whole: true", "heaviest: 20")
    fleet = make_scale_fleet(tmp_path, {"aircraft/hull/aircraft.yaml": partly})
    state = run_json("balance", "hull", fleet=fleet)["looks"][0]["states"][0]
    assert (state["mass"], state["mass_high"]) == (None, None)
    assert state["against_limits"] == "cannot-tell"


def test_without_arms_a_weighing_is_kept_and_nothing_is_made_up(fleet: Path) -> None:
    path = fleet / "aircraft/bare/aircraft.yaml"
    path.parent.mkdir()
    path.write_bytes(b'id: bare000001\ntitle: "Bare"\n')
    run("save", fleet=fleet)
    out = run("balance", "bare", "--weigh", "left=2", "--weigh", "right=2.1", fleet=fleet).out
    assert "no arms are stated, so no centre of gravity follows" in out
    assert "no arms or limits are stated" in run("balance", "bare", fleet=fleet).out


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (["--weigh", "nose=2020"], "weighing-impossible"),
        (["--weigh", "nose=2", "--weigh", "main-left=5"], "weighing-impossible"),
        ([*WEIGHED, "--weigh", "nose=2"], "weighing-impossible"),
        ([*WEIGHED, "--tare", "nose=3"], "weighing-impossible"),
        (["--weigh", "nose=0", *WEIGHED[2:]], "weighing-impossible"),
        (["--weigh", "nose=15", "--weigh", "main-left=15", "--weigh", "main-right=15"],
         "weighing-impossible"),
        (["--weigh", "nose=2020g", *WEIGHED[2:]], "units-mixed"),
        (["--weigh", "nose=-2", *WEIGHED[2:]], "amount-wrong"),
        (["--weigh", "nose=two", *WEIGHED[2:]], "amount-wrong"),
        (["--weigh", "2.02"], "weigh-form"),
        (["--weigh", "tail=2"], "point-on-the-scales-unknown"),
        ([*WEIGHED, "--tare", "tail=1"], "point-on-the-scales-unknown"),
        ([*WEIGHED, "--tanks", "empty", "--fuel", "1"], "tanks-contradict"),
        ([*WEIGHED, "--tanks", "brimming"], "state-of-the-tanks-unknown"),
        ([*WEIGHED, "--attitude", "80"], "amount-wrong"),
        ([*WEIGHED, "--add", "x=1@2"], "usage"),
        (["--tanks", "empty"], "usage"),
        (["--add", "x"], "item-unknown"),
        (["--add", "x=1@here"], "arm-wrong"),
        (["--add", "nose-box"], "item-unknown-figure"),
        (["--move", "pack-front"], "item-form"),
        (["--remove", "smoke-pump", "--ballast-at", "far"], "arm-wrong"),
    ],
)  # fmt: skip
def test_a_wrong_line_writes_nothing(fleet: Path, line: list[str], code: str) -> None:
    before = read_files(fleet)
    error = run_json("balance", "swift", *line, fleet=fleet, exit_code=2)["error"]
    assert error["code"] == code, error
    assert error["mend"]
    assert read_files(fleet) == before


def test_fuel_in_litres_takes_the_density_of_the_tank(fleet: Path) -> None:
    weigh(fleet, "--fuel", "1.5l")
    body = events_of(fleet, "weighing")[0].body
    assert (str(body.fuel), body.tanks) == ("1.200", "part-full")


def test_seldom_readings_are_recorded_and_pointed_out(fleet: Path) -> None:
    uneven = ("--weigh", "nose=2.02", "--weigh", "main-left=7", "--weigh", "main-right=4")
    assert "contradict each other" in weigh(fleet, words=uneven)
    swapped = ("--weigh", "nose=8", "--weigh", "main-left=2.1", "--weigh", "main-right=2.1")
    assert "were two readings exchanged?" in weigh(fleet, words=swapped)
    codes = [p["code"] for p in run_json("check", fleet=fleet)["problems"]]
    assert codes.count("weighing-unlikely") == 2


def test_a_section_broken_by_hand_is_named_with_its_place(fleet: Path) -> None:
    kit = fleet / "kits/dart.yaml"
    text = kit.read_bytes().replace(b"length: 386", b"length: 0").replace(b"nose: -612", b"nose: x")
    kit.write_bytes(text)
    problems = run_json("check", fleet=fleet, exit_code=1)["problems"]
    found = {p["code"] for p in problems if p["file"] == "kits/dart.yaml" and p["line"]}
    assert found >= {"length-zero", "number-wrong"}
    # The rest of the section still answers.
    weigh(fleet, "--tanks", "empty")
    state = run_json("balance", "swift", fleet=fleet)["looks"][0]["states"][0]
    assert (state["cg"], state["percent_chord"]) == (None, None)
    assert "no arm is stated of nose" in state["why_not"]
