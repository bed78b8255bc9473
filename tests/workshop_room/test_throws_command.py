"""throws: recording, comparing, linkages, what if, turns; and words it cannot mean."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from workshop_room.throws_fleet import AIRCRAFT, make_throws_fleet

from cli.render.layout import width_of
from fleets import Golden, run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_throws_fleet(tmp_path)


def test_throws_are_recorded_and_compared(fleet: Path) -> None:
    line = ["throws", "heron", "aileron-left", "--up", "18.3", "--down", "14"]
    first = run(*line, "--set-up", "--at", "2026-04-01", "--reading", "play=0.4mm", fleet=fleet)
    assert first.exit_code == 0, first
    assert "up 18.3 mm, down 14 mm chordal (as asked), as set up on 2026-04-01" in first.said
    assert "up 17.5°, down 13.4° at a chord of 60 mm" in first.out
    right = run("throws", "heron", "aileron-right", "--up", "18", "--down", "16", fleet=fleet)
    assert "down: 2.0 mm more than aileron-left, 1 mm allowed" in right.out
    later = run(*line[:3], "--up", "19.6", "--down", "14.1", "--reading", "play=0.7mm", fleet=fleet)
    assert "up: 1.6 mm more than asked, 1 mm allowed" in later.out
    assert "up: 1.3 mm more than the set-up" in later.out
    shown = run_json("throws", "heron", fleet=fleet)
    left = shown["surfaces"][0]
    up = left["rates"][0]["throws"][0]
    assert up["off"]["amount"] == pytest.approx(1.6)
    assert up["other_side"]["amount"] == pytest.approx(1.6)
    assert up["drift"]["amount"] == pytest.approx(1.3)
    assert [up[key]["within"] for key in ("off", "other_side", "drift")] == [False, False, False]
    assert left["readings"][0]["first"] == 0.4
    assert left["readings"][0]["last"] == 0.7
    told = run("history", "heron", fleet=fleet).out
    assert "throws of aileron-left, high rate: up 18.3 mm, down 14 mm chordal" in " ".join(
        told.split()
    )


def test_measures_are_held_together_through_degrees(fleet: Path) -> None:
    run("throws", "heron", "aileron-left", "--up", "17.25deg", "--down", "13.4deg", fleet=fleet)
    run(
        *("throws", "heron", "aileron-right", "--up", "9.03", "--measure", "arc"),
        *("--chord", "30"),
        fleet=fleet,
    )
    left = run_json("throws", "heron", "aileron-left", fleet=fleet)["surfaces"][0]
    up = left["rates"][0]["throws"][0]
    # 18 mm chordal on 60 mm is 17.25°, and so is 9.03 mm of arc on 30 mm.
    assert up["measured"]["chordal"] == pytest.approx(18.0, abs=0.01)
    assert up["off"]["amount"] == pytest.approx(0.0, abs=0.01)
    assert up["other_side"]["amount"] == pytest.approx(0.0, abs=0.01)


def test_a_set_up_with_thin_thread_is_refused_and_its_facts_are_not(fleet: Path) -> None:
    line = ["throws", "heron", "aileron-right", "--up", "18"]
    refused = run_json(*line, "--set-up", fleet=fleet, exit_code=4)
    assert refused["error"]["code"] == "thread-short"
    assert "4.0 mm of M3" in refused["error"]["says"]
    assert run(*line, fleet=fleet).exit_code == 0


def test_an_aircraft_of_which_nothing_is_described(fleet: Path) -> None:
    shown = run("throws", "petrel", fleet=fleet)
    assert "no surface is described" in shown.out
    recorded = run("throws", "petrel", "rudder", "--left", "20", "--right", "21", fleet=fleet)
    assert "taken as chordal" in recorded.said
    assert "in degrees: cannot tell" in recorded.out
    found = run_json("throws", "petrel", fleet=fleet)["surfaces"][0]
    assert not found["listed"]
    assert found["rates"][0]["throws"][0]["measured"]["degrees"] is None
    assert found["rates"][0]["throws"][0]["measured"]["chordal"] == 20
    other = run_json("throws", "petrel", "rudr", "--left", "3", fleet=fleet, exit_code=2)
    assert "rudder" in other["error"]["mend"]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["aileron-left", "--up", "12mm", "--down", "9deg"], "units-mixed"),
        (["aileron-left", "--up", "12mm", "--measure", "degrees"], "units-mixed"),
        (["aileron-left", "--up", "61", "--measure", "perpendicular"], "throw-impossible"),
        (["aileron-left", "--up", "121"], "throw-impossible"),
        (["aileron-left", "--up", "130deg"], "throw-impossible"),
        (["aileron-left", "--up", "-3"], "amount-wrong"),
        (["aileron-left", "--up", "3", "--chord", "0"], "length-zero"),
        (["aileron-left", "--up", "3", "--measure", "cordal"], "measure-unknown"),
        (["aileron-left", "--up", "3", "--rate", "middle"], "rate-unknown"),
        (["aileron-left", "--measure", "arc"], "usage"),
        (["aileron", "--up", "3"], "surface-ambiguous"),
        (["elevator", "--up", "3"], "surface-unknown"),
        (["--up", "3"], "usage"),
        (["aileron-left", "--up", "3", "--speed", "40"], "usage"),
        (["aileron-left", "arm=12"], "usage"),
        (["--what-if", "arm=12"], "usage"),
        (["aileron-left", "--what-if", "arm"], "usage"),
        (["aileron-left", "--what-if", "arm=0"], "length-zero"),
        (["aileron-left", "--what-if", "arm=12deg"], "units-mixed"),
        (["aileron-left", "--what-if", "arm-angle=12mm"], "units-mixed"),
        (["aileron-left", "--what-if", "hole=7"], "hole-unknown"),
        (["aileron-left", "--what-if", "wing=7"], "change-unknown"),
        (["aileron-right", "--what-if", "arm=12"], "linkage-cannot-tell"),
        (["tab", "--what-if", "arm=12"], "linkage-unknown"),
        (["brake-left", "--what-if", "end-1=1"], "linkage-cannot-tell"),
        (["aileron-left", "--shift", "up"], "amount-wrong"),
        (["aileron-left", "--shift", "aft=2"], "way-unknown"),
        (["aileron-left", "--speed", "60 mi"], "amount-wrong"),
        (["aileron-left", "--speed", "900"], "amount-unlikely"),
    ],
)
def test_words_it_cannot_mean(fleet: Path, words: list[str], code: str) -> None:
    found = run_json("throws", "heron", *words, fleet=fleet, exit_code=2)
    assert found["error"]["code"] == code, found
    assert found["error"]["mend"]
    assert not list(fleet.rglob("*-throws-*.yaml"))


def test_a_linkage_is_computed(fleet: Path) -> None:
    shown = run_json("throws", "heron", "aileron-left", "--speed", "50", fleet=fleet)
    linkage = shown["surfaces"][0]["linkages"][0]
    assert linkage["neutral"] == pytest.approx(1.06, abs=0.01)
    stall = linkage["meets"]
    # 26° up needs the arm 27.8° over from its place at neutral, at 0.1° for a µs.
    assert stall[0]["pulse"] == pytest.approx(1778, abs=1)
    assert [item["kind"] for item in stall] == ["stop"]
    assert all("aileron-servo-left" in item["says"] for item in stall)
    assert linkage["rod_computed"]["pin_to_pin_from_cut"] == pytest.approx(70.4)
    up, down = linkage["torque"]
    assert (up["method"], down["method"]) == ("flat plate", "thin aerofoil")
    assert up["available"] == pytest.approx(25 * 0.0980665 * linkage["throws"][0]["advantage"])
    assert up["ratio"] == pytest.approx(up["available"] / up["estimated"], rel=1e-3)
    # Thin aerofoil by hand: b2 of a quarter-chord flap is -0.9436 for a radian.
    load = 1.225 * 50**2 / 2 * 0.4 * 0.06**2
    radians = -down["degrees"] * 3.14159265 / 180
    assert down["estimated"] == pytest.approx(load * 0.9436 * radians, rel=1e-3)


def test_what_is_not_stated_cannot_be_told(fleet: Path) -> None:
    shown = run_json("throws", "heron", "aileron-right", fleet=fleet)
    linkage = shown["surfaces"][0]["linkages"][0]
    assert linkage["cannot_tell"] == "not stated: arm.angle, horn.radius, horn.angle, pivots"
    drawn = run("throws", "heron", "aileron-right", fleet=fleet).out
    assert "CANNOT TELL" in drawn
    # What can be told of it is: the thread in its second end is too short.
    assert "NO SET-UP" in drawn
    assert linkage["refused"]


def test_what_if_stands_beside_what_is(fleet: Path) -> None:
    words = ["throws", "heron", "aileron-left", "--what-if", "hole=2", "horn=24"]
    found = run_json(*words, fleet=fleet)
    before, after = found["before"], found["after"]
    assert [(item["what"], item["now"], item["then"]) for item in found["changed"]] == [
        ("arm", 18, 15),
        ("horn", 20, 24),
    ]
    assert after["neutral"] == pytest.approx(before["neutral"], abs=1e-3)
    assert after["throws"][0]["advantage"] > before["throws"][0]["advantage"]
    assert after["travel_used"] > before["travel_used"]
    assert after["mm_per_us"]["neutral"] < before["mm_per_us"]["neutral"]
    # The long way round: half a turn out at end 1 lengthens the rod by half of M3's pitch.
    turned = run_json("throws", "heron", "aileron-left", "--what-if", "end-1=0.5", fleet=fleet)
    grown = turned["after"]["rod_computed"]["pin_to_pin"]
    assert grown == pytest.approx(70.4 + 0.25)


def test_what_cannot_be_put_together_is_said(fleet: Path) -> None:
    words = ["throws", "heron", "aileron-left", "--what-if", "rod=140"]
    found = run_json(*words, fleet=fleet)
    assert "cannot join arm and horn" in found["after"]["cannot_tell"]
    assert "cannot be put together" in run(*words, fleet=fleet).out
    # An arm too short for the throws: out of reach, and said so.
    short = run("throws", "heron", "aileron-left", "--what-if", "arm=4", fleet=fleet).out
    assert "out of reach" in short


def test_turns_for_a_shift_of_neutral(fleet: Path) -> None:
    found = run_json("throws", "heron", "aileron-left", "--shift", "up=2deg", fleet=fleet)
    one, two, rod = found["ways"]
    assert found["wanted"] == pytest.approx(found["neutral"] + 2)
    assert one["turns"] == pytest.approx(found["change"] / 0.5, abs=1e-3)
    assert one["refitted"] == round(one["turns"])
    assert two["refitted"] * 2 == pytest.approx(round(two["turns"] * 2))
    assert rod["per_turn"] == pytest.approx(1.0)
    assert rod["neutral_then"] == pytest.approx(found["wanted"], abs=1e-3)
    far = run_json("throws", "heron", "aileron-left", "--shift", "up=14deg", fleet=fleet)
    assert "under 4.5 mm" in far["ways"][0]["refused"]
    assert "none of these is a set-up" in " ".join(
        run("throws", "heron", "aileron-left", "--shift", "up=30deg", fleet=fleet).out.split()
    )


def test_a_one_way_pair_on_one_servo(fleet: Path) -> None:
    pair = run_json("throws", "heron", "brake-left", fleet=fleet)["one_way_pairs"][0]
    assert pair["both"] is False
    assert any("rod length alone cannot give both" in words for words in pair["says"])
    assert pair["set_flush"][0]["deflections"] == pytest.approx([0, 0], abs=1e-6)
    assert abs(pair["set_flush"][-1]["apart"]) > 2
    # Any change it names gives both, tried as a change of its own.
    arm = next(cure for cure in pair["would_do"] if cure["change"] == "arm")
    tried = run_json(
        *("throws", "heron", arm["linkage"], "--what-if", f"arm={arm['to']:.3f}"), fleet=fleet
    )
    assert tried["one_way_pair"]["before"]["both"] is False
    assert tried["one_way_pair"]["after"]["both"] is True
    ends = tried["one_way_pair"]["after"]["set_flush"][-1]["deflections"]
    assert abs(ends[0]) == pytest.approx(abs(ends[1]), abs=0.01)


def test_a_surface_on_a_moving_one_says_so(fleet: Path) -> None:
    shown = " ".join(run("throws", "heron", "tab", fleet=fleet).out.split())
    assert "sits on aileron-left: throws are measured from aileron-left" in shown
    assert "how far the two reach together cannot be told" in shown


def test_the_aircraft_file_is_laid_over_its_kit(tmp_path: Path) -> None:
    own = AIRCRAFT + 'linkages:\n  aileron-left:\n    arm: {radius: 15, hole: "2"}\n'
    fleet = make_throws_fleet(tmp_path, own)
    found = run_json("throws", "heron", "aileron-left", fleet=fleet)
    assert found["surfaces"][0]["linkages"][0]["arm"]["radius"] == 15


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("throws", []),
        ("throws-surface", ["aileron-left", "--speed", "50"]),
        ("throws-pair", ["brake-left"]),
        ("throws-what-if", ["aileron-left", "--what-if", "hole=2", "horn=24", "--speed", "50"]),
        ("throws-shift", ["aileron-left", "--shift", "up=4"]),
    ],
)
def test_screens(fleet: Path, name: str, words: list[str], golden: Golden) -> None:
    for surface, up, down, when in (
        ("aileron-left", "18.3", "14", "2026-04-01"),
        ("aileron-right", "18", "15.6", "2026-04-02"),
        ("aileron-left", "19.6", "14.1", "2026-05-02"),
    ):
        more = ["--set-up"] if when == "2026-04-01" else []
        run(
            *("throws", "heron", surface, "--up", up, "--down", down, "--at", when, *more),
            fleet=fleet,
        )
    shown = run("throws", "heron", *words, fleet=fleet)
    assert shown.exit_code == 0, shown
    assert max(width_of(line) for line in shown.out.splitlines()) <= 80
    # Ids are drawn anew in every run.
    golden(
        f"workshop/{name}-80", re.sub(r"(\d{4}-\d\d-\d\d) \([a-z0-9]{6}\)", r"\1 (id)", shown.out)
    )
    assert "come first" in " ".join(shown.out.split())
