"""fasteners: joints, tools, spares and lines of an aircraft; one joint; one thread."""

from __future__ import annotations

from pathlib import Path

import pytest
from workshop_room.jointed_fleet import make_jointed_fleet

from cli.render.layout import width_of
from fleets import Golden, make_fleet, run, run_json

SCREENS = {
    "fasteners": ["fasteners", "heron"],
    "fasteners-fleet": ["fasteners"],
    "fasteners-joint": ["fasteners", "heron", "nose-gear"],
    "fasteners-ways": ["fasteners", "heron", "tail-tray", "--ways"],
    "fasteners-thread": [
        "fasteners",
        *("--thread", "M4", "--head", "cap", "--material", "steel-10.9", "--into", "aluminium"),
        *("--friction", "lubricated", "--mu", "0.12", "--lever", "240", "--extension", "35"),
    ],
    "fasteners-inch": ["fasteners", "--thread", "10-32"],
    "stock": ["stock"],
    "stock-item": ["stock", "screw-m3x16-cap"],
}
CAUTION = "A figure to start from, not a permission"


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """A jet with a broken screw, its rest still in the hole."""
    made = make_jointed_fleet(tmp_path)
    events = made / "aircraft/heron/events/2026/05"
    (events / "2026-05-12-snag-s0broken01.yaml").write_text(
        'record: "snag"\nid: "s0broken01"\nwhen: "2026-05-12"\naircraft: "heron.hern000001"\n'
        'text: "sheared at the shank"\nseverity: "limiting"\njoint: "nose-gear"\nbroken: 1\n'
        'rest: "in-hole"\n'
    )
    (events / "2026-05-13-modification-m0spacer01.yaml").write_text(
        'record: "modification"\nid: "m0spacer01"\nwhen: "2026-05-13"\n'
        'aircraft: "heron.hern000001"\ntext: "longer screws over the spacer"\n'
        'fastener: {joint: "canopy", count: 2, length: 10}\n'
    )
    return made


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize("name", SCREENS)
def test_screen(
    name: str, columns: int, fleet: Path, golden: Golden, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    result = run(*SCREENS[name], fleet=fleet)
    assert result.exit_code == 0, result
    assert max(map(width_of, result.out.splitlines())) <= columns
    golden(f"screens/{name}-{columns}", result.out)


@pytest.mark.parametrize("name", ["fasteners", "fasteners-joint", "fasteners-thread"])
def test_every_torque_stands_with_its_basis_and_the_caution(name: str, fleet: Path) -> None:
    told = " ".join(run(*SCREENS[name], fleet=fleet).out.split())
    assert "N·m" in told
    assert "Shigley" in told
    assert "ISO 898-1" in told
    assert "assumes" in told
    assert CAUTION in told
    told_json = run_json(*SCREENS[name], fleet=fleet)
    assert told_json["caution"].startswith(CAUTION)


def test_json_of_an_aircraft(fleet: Path) -> None:
    told = run_json("fasteners", "heron", fleet=fleet)
    joints = {item["joint"]: item for item in told["joints"]}
    nose = joints["nose-gear"]
    assert (nose["count"], nose["broken"], nose["holding"], nose["too_few"]) == (4, 1, 3, False)
    torque = nose["fitted"][0]["torque"]
    # T = 0.20 x 0.75 x 970 MPa x 5.03 mm² x 3 mm
    assert torque["newton_metres"] == pytest.approx(2.196, abs=0.001)
    assert torque["k_source"].startswith("Shigley")
    assert [lot["length"] for lot in joints["canopy"]["fitted"]] == [8, 10]
    assert joints["canopy"]["stated_torque"]["basis"]["kind"] == "owner"
    tray = joints["tail-tray"]["fitted"][0]["torque"]
    assert tray["newton_metres"] is None
    assert tray["says"].startswith("owner-measured only")
    assert [clash["code"] for clash in told["colour_clashes"]] == ["line-colours"]
    assert {item["joint"] for item in told["not_standard"]} == {"canopy", "spinner"}


def test_json_of_a_joint_tells_the_ways(fleet: Path) -> None:
    told = run_json("fasteners", "heron", "nose", fleet=fleet)
    assert told["rest"] == "in-hole"
    ways = {way["mending"]: way for way in told["ways"]}
    assert list(ways) == ["extracted", "new-hole", "insert", "larger-thread"]
    [screw] = [need for need in ways["larger-thread"]["needs"] if need["item"]]
    assert (screw["item"], screw["at_hand"]) == ("screw-m4x16-cap", 9)


def test_strict_counts_what_is_broken(fleet: Path) -> None:
    assert run("fasteners", "heron", "--strict", fleet=fleet).exit_code == 1
    assert run("fasteners", "kestrel", "--strict", fleet=fleet).exit_code == 0


def test_an_aircraft_without_joints_shows_how_to_write_them(fleet: Path) -> None:
    told = run("fasteners", "kestrel", fleet=fleet).out
    assert "no joint of kestrel is recorded yet" in told
    assert "joints:" in told


@pytest.mark.parametrize(
    ("words", "says", "mend"),
    [
        (("heron", "nse-gear"), "no joint of heron is called", "did you mean nose-gear?"),
        (("hern",), "no aircraft is called", "heron"),
        (("--thread", "M3x10"), "reads like a length", "--thread M3"),
        (("--thread", "#4"), "more than one thread", "4-40 or 4-48"),
        (("--head", "cap"), "of which thread?", "--thread M3"),
        (("heron", "--thread", "M3"), "is not asked of heron", "tailsheaf fasteners heron"),
        (("--thread", "M3", "--head", "star"), "no head is called", "known: "),
        (("--thread", "M3", "--lever", "200"), "go together", "--extension"),
        (("--thread", "M3", "--lever", "0", "--extension", "1"), "not above 0", "--lever 250"),
        (("--thread", "M3", "--mu", "2"), "--mu: 2 is not", "--mu 0.12"),
        (("--thread", "M3", "--torque", "-1"), "--torque: -1 is not", "--torque 2.5"),
    ],
)
def test_bad_words(fleet: Path, words: tuple[str, ...], says: str, mend: str) -> None:
    result = run("fasteners", *words, fleet=fleet)
    assert (result.exit_code, result.out) == (2, "")
    assert says in result.err
    assert mend in result.err


def test_a_thread_needs_no_fleet(tmp_path: Path) -> None:
    told = run_json("fasteners", "--thread", "M3", "--head", "cap", cwd=tmp_path)
    assert [(key["value"], key["source"]) for key in told["keys"]] == [("2.5", "ISO 4762")]
    assert told["torque"]["newton_metres"] is None


def test_a_wrench_for_a_torque_of_ones_own(tmp_path: Path) -> None:
    """2 x 240 / 300."""
    line = ("--thread", "M4", "--torque", "2", "--lever", "240", "--extension", "60")
    told = run_json("fasteners", *line, cwd=tmp_path)
    assert told["wrench_setting"] == pytest.approx(1.6)


def test_joints_broken_by_hand_are_shown_as_far_as_they_read(tmp_path: Path) -> None:
    fleet = make_fleet(
        tmp_path,
        {
            "aircraft/heron/aircraft.yaml": """
                title: "Heron"
                joints:
                  hatch: {thread: "M3x8", length: -8, head: "domed", count: 0, least_holding: 3}
                  nose: [1, 2]
                  tail: {thread: "M3", length: 8, head: "cap", count: 2, least_holding: 3,
                    torque: {value: 1, unit: "stone"}, friction: {k: 3}, coutn: 2}
                lines:
                  up: green
                  down: {medium: "steam", colour: "green"}
                """
        },
    )
    result = run("fasteners", "heron", fleet=fleet)
    assert result.exit_code == 1
    assert "2 x M3 x 8 cap" in result.out
    checked = run("check", fleet=fleet)
    for code in ("thread-unknown", "word-unknown", "number-wrong", "value-shape", "key-unknown"):
        assert code in checked.out
    for words in ("least_holding: 3 of the 2 of tail", "'stone' is not one of", "k: 3 is not"):
        assert words in checked.out
    for words in ("'steam' is not one of", "count: 0 is not a whole number"):
        assert words in result.err
