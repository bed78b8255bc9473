"""damage, and what snag says of a mark: zone, place, size, finish."""

from __future__ import annotations

import os
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from event_fleet import events_of
from workshop_room.drawn_fleet import make_drawn_fleet

from fleets import Golden, read_files, run, run_json
from register.records.workshop_bodies import Spot


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_drawn_fleet(tmp_path)


def note(fleet: Path, *words: str, at: str = "2026-05-16") -> str:
    """Note a snag on kestrel; the short id back."""
    data = run_json("snag", "kestrel", *words, "--at", at, fleet=fleet)
    return str(data["id"])


def marks_of(fleet: Path, *words: str) -> list[dict[str, Any]]:
    marks: list[dict[str, Any]] = run_json("damage", "kestrel", *words, fleet=fleet)["marks"]
    return marks


def test_a_snag_says_where_how_large_and_its_finish(fleet: Path) -> None:
    result = run(
        "snag", "kestrel", "chip", "-s", "c", "--zone", "left-w", "--place", "120,340",
        "--size", "1.2cm", "--finish", "upper", fleet=fleet,
    )  # fmt: skip
    assert result.exit_code == 0, result
    assert "left-wing, 120 from leading edge, 340 from root, 12 mm: chip" in result.out
    snag = events_of(fleet, "snag")[0].body
    assert (snag.zone, snag.size, snag.finish) == ("left-wing", 12, "upper")
    assert snag.spot == Spot(Decimal(120), "leading edge", Decimal(340), "root")
    (mark,) = marks_of(fleet)
    assert mark["touch_up"] == {
        "paint": "pale green, acrylic (P-7)",
        "from": "the snag",
        "sure": True,
    }
    assert mark["drawn_at"] == {"view": "plan", "x": 798.8, "v": -430.0, "exact": True}


@pytest.mark.parametrize(
    ("typed", "along", "across"),
    [
        ("120 from leading edge, 340 from root", (120, "leading edge"), (340, "root")),
        ("120 le; 34 cm root", (120, "leading edge"), (340, "root")),
        ("12cm from the trailing edge and 40 from tip", (120, "trailing edge"), (40, "tip")),
        ("120x340", (120, "leading edge"), (340, "root")),
        ("340 from root, 120", (340, "root"), (120, "leading edge")),
        ("120", (120, "leading edge"), None),
    ],
)
def test_places_as_typed(
    fleet: Path, typed: str, along: tuple[int, str], across: tuple[int, str] | None
) -> None:
    note(fleet, "chip", "--zone", "left-wing", "--place", typed)
    spot = events_of(fleet, "snag")[0].body.spot
    assert (spot.along, spot.along_from) == along
    assert across is None or (spot.across, spot.across_from) == across


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--zone", "left-wing", "--place", "near the tip"], "does not begin with a length"),
        (["--zone", "left-wing", "--place", "1,2,3"], "one or two lengths"),
        (["--zone", "left-wing", "--place", "10 from lading edge"], "did you mean leading edge"),
        (["--zone", "left-wing", "--place", "10 le, 20 te"], "same direction"),
        (["--zone", "left-wing", "--place", "10 from top"], "no direction of left-wing"),
        (["--zone", "left-wing", "--place", "999999"], "no length on an aircraft"),
        (["--zone", "left-wnig"], "did you mean left-wing"),
        (["--zone", "???"], "no zone is called"),
        (["--size", "big"], "is not a length"),
        (["--size", "-3"], "negative"),
    ],
)
def test_words_that_give_no_mark_write_nothing(fleet: Path, options: list[str], says: str) -> None:
    before = read_files(fleet)
    result = run("snag", "kestrel", "chip", *options, fleet=fleet)
    assert result.exit_code == 2, result
    assert says in result.refused
    assert "mend:" in result.err
    assert read_files(fleet) == before


def test_a_zone_by_its_number(fleet: Path) -> None:
    note(fleet, "chip", "--zone", "600")
    assert events_of(fleet, "snag")[0].body.zone == "right-wing"


def test_a_zone_that_nobody_listed_is_recorded_and_said(fleet: Path) -> None:
    result = run("snag", "kestrel", "chip", "--zone", "nacelle", "-s", "c", fleet=fleet)
    assert result.exit_code == 0
    assert "note: kestrel has no zone nacelle; recorded as written" in result.out
    checked = run("check", fleet=fleet).out
    assert "[zone-not-listed]" in checked
    (mark,) = marks_of(fleet)
    assert mark["drawn_at"] is None
    assert "no zone is called 'nacelle'" in mark["remark"]


def test_a_snag_at_a_position_is_in_the_zone_that_holds_it(fleet: Path) -> None:
    note(fleet, "dent by the servo", "-p", "aileron-servo-left", "-s", "c")
    (mark,) = marks_of(fleet)
    assert mark["zone"] == "left-wing"


def test_how_a_mark_grew(fleet: Path) -> None:
    id_ = note(fleet, "split", "--zone", "fin", "--size", "10", "-s", "m", at="2026-04-10")
    run("fly", "kestrel", "2", "--at", "2026-04-20", "--minutes", "14", fleet=fleet)
    result = run("damage", "kestrel", id_, "--size", "16", "--at", "2026-05-01", fleet=fleet)
    assert result.exit_code == 0, result
    assert "16 mm, was 10 mm" in result.out
    (mark,) = marks_of(fleet)
    assert (mark["size_mm"], mark["growth_mm"], mark["flights_since"]) == (16, 6, 2)
    assert [item["day"] for item in mark["sizes"]] == ["2026-04-10", "2026-05-01"]
    shown = run("damage", "kestrel", fleet=fleet).out
    assert "16 mm (10 on 2026-04-10: +6 in 21 days)" in " ".join(shown.split())
    assert "wants its cause found" in shown
    history = run("history", "kestrel", fleet=fleet).out
    assert "size 16 mm of snag" in history
    # As known before it was measured again.
    assert marks_of(fleet, "--on", "2026-04-15")[0]["size_mm"] == 10


def test_a_size_by_hand_in_another_unit_counts(fleet: Path) -> None:
    id_ = note(fleet, "split", "--zone", "fin", "--size", "10", at="2026-04-10")
    path = fleet / "aircraft/kestrel/events/2026/05/2026-05-02-reading-r3adingaaa.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    text = (
        'record: "reading"\nid: "r3adingaaa"\nwhen: "2026-05-02"\nsubject: "kestrel"\n'
        f'snag: "{id_[:5]}"\nname: "size"\nvalue: 2.5\nunit: "cm"\n'
    )
    path.write_text(text)
    assert marks_of(fleet)[0]["size_mm"] == 25
    path.write_text(text.replace("cm", "ells"))
    assert marks_of(fleet)[0]["size_mm"] == 10
    assert "[unit-differs]" in run("check", fleet=fleet).out
    path.write_text(text.replace(id_[:5], "zzzzz"))
    assert "[snag-unknown]" in run("check", fleet=fleet).out


def test_zone_place_and_finish_may_follow_later(fleet: Path) -> None:
    id_ = note(fleet, "flaking paint", "-s", "c")
    result = run(
        "damage", "kestrel", id_[:5], "--zone", "body", "--place", "300 from tail, 20 from top",
        "--finish", "cream", "--size", "7", fleet=fleet,
    )  # fmt: skip
    assert result.exit_code == 0, result
    (mark,) = marks_of(fleet)
    assert (mark["zone"], mark["finish"], mark["size_mm"]) == ("body", "cream", 7)
    assert mark["drawn_at"]["view"] == "side"
    assert len(events_of(fleet, "snag")) == 1
    # From a wing to a body, and by amend as well.
    run("amend", id_, "zone=left-wing", "place=50 from leading edge, 60 from root", fleet=fleet)
    assert marks_of(fleet)[0]["drawn_at"]["view"] == "plan"


def test_the_colour_is_the_aircraft_s_own_over_the_kit_s(fleet: Path) -> None:
    note(fleet, "chip", "--zone", "left-wing", "-s", "c")
    note(fleet, "chip", "--zone", "fin", "-s", "c")
    wing, fin = marks_of(fleet)
    assert wing["touch_up"] == {"paint": "cream, acrylic", "from": "colours: lower", "sure": True}
    assert not fin["touch_up"]["sure"]
    assert "not stated which of upper, lower" in fin["touch_up"]["paint"]


def test_mended_marks_are_left_out_unless_asked_for(fleet: Path) -> None:
    id_ = note(fleet, "chip", "--zone", "fin", "-s", "c")
    run("fix", id_, "filled and painted", fleet=fleet)
    assert marks_of(fleet) == []
    assert "1 mended (--all)" in run("damage", "kestrel", fleet=fleet).out
    assert marks_of(fleet, "--all")[0]["open"] is False


def test_a_mark_of_another_aircraft_is_refused(fleet: Path) -> None:
    id_ = note(fleet, "chip", "--zone", "fin", "-s", "c")
    result = run("damage", "heron", id_, "--size", "3", fleet=fleet)
    assert result.exit_code == 2
    assert "is on kestrel, not on heron" in result.err


def test_without_an_outline_the_list_works_and_says_how_to_add_one(fleet: Path) -> None:
    run("snag", "heron", "chip", "--zone", "left-wing", "-s", "c", fleet=fleet)
    shown = run("damage", "heron", fleet=fleet)
    assert shown.exit_code == 0
    assert "No outline" in shown.out
    assert "aircraft/heron/aircraft.yaml" in shown.out
    assert "chip" in shown.out
    refused = run("damage", "heron", "--svg", "a.svg", fleet=fleet)
    assert refused.exit_code == 3
    assert "has no outline" in refused.err
    assert not (fleet / "a.svg").exists()


def test_an_outline_that_is_wrong_is_said_and_the_rest_drawn(fleet: Path) -> None:
    path = fleet / "kits/sandpiper-70.yaml"
    path.write_text(path.read_text().replace("[760, -780], [960, -790]", "[760, -780]"))
    note(fleet, "chip", "--zone", "left-wing", "-s", "c")
    path.write_text(path.read_text().replace("[760, -780], ", ""))
    result = run("damage", "kestrel", fleet=fleet)
    assert result.exit_code == 1
    assert "WRONG" in result.out
    assert "an outline needs" in " ".join(result.out.split())
    assert "from above" in result.out


def test_a_place_that_nobody_can_read_hides_nothing(fleet: Path) -> None:
    """A snag edited by hand is listed all the same, in the middle of its zone."""
    note(fleet, "chip", "--zone", "left-wing", "--place", "10,20", "-s", "c")
    (path,) = (fleet / "aircraft/kestrel/events/2026/05").glob("*snag*")
    path.write_text(path.read_text().replace('"leading edge"', '"moonward"'))
    (mark,) = marks_of(fleet)
    assert mark["drawn_at"]["exact"] is False
    assert "'moonward' is no direction" in mark["remark"]
    assert "[spot-unclear]" in run("check", fleet=fleet).out


@pytest.mark.parametrize("plain", [False, True], ids=["dots", "ascii"])
def test_screen(fleet: Path, golden: Golden, monkeypatch: pytest.MonkeyPatch, plain: bool) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    note(fleet, "chip at the edge", "--zone", "left-wing", "--place", "0,300", "-s", "c")
    note(
        fleet,
        "rash",
        "--zone",
        "right-wing",
        "--place",
        "30 te, 200 root",
        "--size",
        "40",
        "-s",
        "m",
    )
    note(fleet, "crack", "--zone", "fin", "--place", "30 te, 20 tip", "--size", "12", "-s", "l")
    note(fleet, "dent", "--zone", "body", "-s", "c")
    note(fleet, "somewhere", "-s", "c")
    shown = run("damage", "kestrel", *(["--plain"] if plain else []), fleet=fleet).out
    assert plain == shown.isascii()
    ids = re.compile(r"(cosmetic|monitor|limiting)  [a-z0-9]{4}\b|kestrel [a-z0-9]{4} --")
    golden(
        f"screens/damage-{'ascii' if plain else 'dots'}-80",
        ids.sub(lambda found: re.sub(r"[a-z0-9]{4}( --)?$", r"id\1", found[0]), shown),
    )
    assert all(len(line) <= 80 for line in shown.splitlines())


def test_the_picture_is_written_and_only_over_one_of_ours(fleet: Path) -> None:
    note(fleet, "chip", "--zone", "left-wing", "--place", "0,300", "-s", "c")
    assert run("damage", "kestrel", "--svg", "a.svg", fleet=fleet).exit_code == 0
    first = (fleet / "a.svg").read_bytes()
    assert b"<svg" in first
    assert run("damage", "kestrel", "--svg", "a.svg", fleet=fleet).exit_code == 0
    assert (fleet / "a.svg").read_bytes() == first
    (fleet / "b.svg").write_bytes(b"my own drawing")
    refused = run("damage", "kestrel", "--svg", "b.svg", fleet=fleet)
    assert refused.exit_code == 4
    assert (fleet / "b.svg").read_bytes() == b"my own drawing"
    nowhere = run("damage", "kestrel", "--svg", "no/such/a.svg", fleet=fleet)
    assert nowhere.exit_code == 2
    assert "there is no folder" in nowhere.err
    if os.getuid():
        (fleet / "locked").mkdir(mode=0o500)
        assert run("damage", "kestrel", "--svg", "locked/a.svg", fleet=fleet).exit_code == 3


def test_zone_and_size_are_told_in_the_history_and_the_list(fleet: Path) -> None:
    note(fleet, "chip", "--zone", "fin", "--size", "4", "-s", "c")
    assert "snag, fin: chip, 4 mm [cosmetic]" in run("history", "kestrel", fleet=fleet).out
    assert "chip [fin]" in run("snag", "kestrel", fleet=fleet).out
