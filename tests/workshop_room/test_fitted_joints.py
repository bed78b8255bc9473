"""Joints as they are now: kit, own file, departures, and what broke."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop_room.jointed_fleet import FILES, joints_of, lots_of, make_jointed_fleet

from fleets import make_fleet, run
from register.records.joints import TORQUE_UNITS
from register.records.stock import StockItem
from register.records.threads import parse_thread
from register.trouble import Place
from register.workshop.fastener_sizes import TOOLS
from register.workshop.fasteners import Lot, list_oddities, list_tools, standard_key
from register.workshop.mending import NEVER_LONGER, Way, offer_ways
from register.workshop.torque import (
    FACTORS,
    REOPENED,
    Factor,
    NoTorque,
    Screw,
    Torque,
    at_fastener,
    compute_torque,
    wrench_setting,
)

EVENTS = "aircraft/heron/events/2026/05"


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_jointed_fleet(tmp_path)


def depart(number: int, joint: str, words: str) -> dict[str, str]:
    """A departure written by hand."""
    path = f"{EVENTS}/2026-05-1{number}-modification-m0d000000{number}.yaml"
    text = (
        f'record: "modification"\nid: "m0d000000{number}"\nwhen: "2026-05-1{number}"\n'
        f'aircraft: "heron.hern000001"\ntext: "other screws"\n'
        f'fastener: {{joint: "{joint}", {words}}}\n'
    )
    return {path: text}


def test_the_aircrafts_own_file_lies_over_its_kit(fleet: Path) -> None:
    found = joints_of(fleet)
    assert list(found) == ["nose-gear", "canopy", "tail-tray", "pump-clamp", "spinner"]
    assert lots_of(fleet, "canopy") == [(12, "M2.5 x 8 cap")]
    kit = found["canopy"].kit
    assert kit is not None
    assert kit.head == "countersunk"
    assert found["spinner"].kit is None
    assert lots_of(fleet, "pump-clamp") == [(None, "M3 x 6 button")]


def test_a_torque_is_read_in_its_unit(fleet: Path) -> None:
    stated = joints_of(fleet)["canopy"].joint.torque
    assert stated is not None
    # 1 in·lbf is 25.4 mm x 0.45359237 kg x 9.80665 m/s² (exact by definition).
    exact = Decimal("0.0254") * Decimal("0.45359237") * Decimal("9.80665")
    assert stated.value == pytest.approx(3 * exact, rel=Decimal("0.00001"))
    assert TORQUE_UNITS["kgf·cm"] == Decimal("0.0980665")


def test_a_departure_changes_some_of_a_joint(tmp_path: Path) -> None:
    fleet = make_jointed_fleet(
        tmp_path,
        {
            **depart(1, "nose-gear", 'count: 1, thread: "M4"'),
            **depart(2, "nose-gear", "count: 2, length: 12"),
        },
    )
    assert lots_of(fleet, "nose-gear") == [
        (1, "M3 x 16 cap"),
        (1, "M4 x 16 cap"),
        (2, "M3 x 12 cap"),
    ]


def test_a_departure_back_joins_what_is_alike(tmp_path: Path) -> None:
    fleet = make_jointed_fleet(
        tmp_path,
        {
            **depart(1, "nose-gear", 'count: 4, thread: "M4"'),
            **depart(2, "nose-gear", 'count: 1, thread: "M4", length: 20'),
        },
    )
    assert lots_of(fleet, "nose-gear") == [(3, "M4 x 16 cap"), (1, "M4 x 20 cap")]


def test_more_than_are_fitted_cannot_be_changed(tmp_path: Path) -> None:
    fleet = make_jointed_fleet(tmp_path, depart(1, "nose-gear", 'count: 9, thread: "M4"'))
    assert lots_of(fleet, "nose-gear") == [(4, "M4 x 16 cap")]


def test_a_departure_where_the_count_is_not_stated(tmp_path: Path) -> None:
    fleet = make_jointed_fleet(tmp_path, depart(1, "pump-clamp", 'count: 1, thread: "M4"'))
    assert lots_of(fleet, "pump-clamp") == [(None, "M3 x 6 button"), (1, "M4 x 6 button")]


def test_a_departure_is_taken_back_by_withdrawing_it(tmp_path: Path) -> None:
    fleet = make_jointed_fleet(tmp_path, depart(1, "nose-gear", 'count: 1, thread: "M4"'))
    run("withdraw", "m0d0", fleet=fleet)
    assert lots_of(fleet, "nose-gear") == [(4, "M3 x 16 cap")]


@given(st.lists(st.tuples(st.integers(1, 6), st.sampled_from(["M4", "M5", "M6"])), max_size=4))
def test_departures_neither_lose_nor_make_screws(changes: list[tuple[int, str]]) -> None:
    """Where no change is of more than are there, the total stays."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        files: dict[str, str] = {}
        for number, (count, thread) in enumerate(changes):
            files |= depart(number, "nose-gear", f'count: {count}, thread: "{thread}"')
        lots = lots_of(make_fleet(Path(folder), {**FILES, **files}), "nose-gear")
        assert sum(count or 0 for count, _ in lots) == 4
        assert all(count for count, _ in lots)


def test_broken_ones_do_not_hold(fleet: Path) -> None:
    run("snag", "heron", "sheared", "--joint", "nose-gear", "--broken", "1", fleet=fleet)
    found = joints_of(fleet)["nose-gear"]
    assert (found.broken, found.holding, found.is_too_few) == (1, 3, False)
    run("snag", "heron", "and another", "--joint", "nose", "--broken", "1", fleet=fleet)
    found = joints_of(fleet)["nose-gear"]
    assert (found.broken, found.holding, found.is_too_few) == (2, 2, True)


def test_how_many_hold_is_not_known_where_the_count_is_not(fleet: Path) -> None:
    run("snag", "heron", "one lost", "--joint", "pump-clamp", "--broken", "1", fleet=fleet)
    assert joints_of(fleet)["pump-clamp"].holding is None


def test_every_tool_once_with_its_joints(fleet: Path) -> None:
    tools = {tool.name: tool.joints for tool in list_tools(joints_of(fleet).values())}
    assert tools["hex key 2.5 mm"] == ("nose-gear",)
    assert tools["hex key 2 mm"] == ("canopy", "pump-clamp")
    assert tools["hex key 3/16 in"] == ("spinner",)
    assert tools["not in the tables: the key of ST2.2 x 9 self tapping"] == ("tail-tray",)


def test_what_a_buyer_would_ask_about(tmp_path: Path) -> None:
    fleet = make_jointed_fleet(tmp_path, depart(1, "nose-gear", 'count: 1, thread: "M4"'))
    told = list_oddities(joints_of(fleet).values())
    assert ("canopy", "M2.5 x 8 cap; the kit has M2.5 x 8 countersunk") in told
    assert ("spinner", "left-hand thread") in told
    assert ("spinner", "1/4-28: an inch thread, most here are metric") in told
    assert any(
        joint == "nose-gear" and says.startswith("1 of them M4 x 16 cap since 2026-05-11")
        for joint, says in told
    )


@pytest.mark.parametrize(
    ("thread", "length", "head", "item"),
    [
        ("M3", "10", "cap", "screw-m3x10-cap"),
        ("M2.5", "8", "button", "screw-m2-5x8-button"),
        ("#4-40", "12.7", "cap", "screw-4-40x12-7-cap"),
        ("1/4-20", "30", "hexagon", "screw-1-4-20x30-hexagon"),
        ("M3", None, "nut", "nut-m3"),
        ("M3", None, "cap", None),
        (None, "10", "cap", None),
    ],
)
def test_what_it_is_called_on_the_shelf(
    thread: str | None, length: str | None, head: str, item: str | None
) -> None:
    lot = Lot(
        1,
        parse_thread(thread) if thread else None,
        Decimal(length) if length else None,
        head,
        None,
    )
    assert lot.item == item


def test_every_head_with_a_key_has_a_tool() -> None:
    for head in TOOLS:
        lot = Lot(1, parse_thread("M4"), Decimal(10), head, None)
        assert standard_key(lot)
    assert standard_key(Lot(1, None, None, "thumb", None)) == "by hand"


# --- torque -----------------------------------------------------------------


def screw(material: str | None = "steel-8.8", into: str | None = "steel", k: float = 0.2) -> Screw:
    return Screw(parse_thread("M4"), "cap", material, into, Factor(k, "tried", "a test"))


@given(st.floats(0.05, 1), st.floats(0.05, 1))
def test_torque_is_linear_in_k(one: float, other: float) -> None:
    first, second = compute_torque(screw(k=one)), compute_torque(screw(k=other))
    assert isinstance(first, Torque)
    assert isinstance(second, Torque)
    assert first.newton_metres * other == pytest.approx(second.newton_metres * one)
    assert first.preload == second.preload == REOPENED * first.proof_load


@given(st.floats(0.1, 500), st.floats(50, 900), st.floats(1, 400))
def test_a_wrench_with_an_extension_there_and_back(
    torque: float, lever: float, extension: float
) -> None:
    setting = wrench_setting(torque, lever, extension)
    assert setting < torque
    assert at_fastener(setting, lever, extension) == pytest.approx(torque)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (screw(material=None), "material is not stated"),
        (screw(material="titanium"), "no proof stress is in the table for titanium"),
        (screw(into=None), "what it is turned into is not stated"),
        (screw(into="insert"), "owner-measured only"),
        (screw(into="captive-nut"), "owner-measured only"),
        (Screw(None, "cap", "steel-8.8", "steel", FACTORS["zinc"]), "thread is not stated"),
        (
            Screw(parse_thread("M4"), "set", "steel-8.8", "steel", FACTORS["zinc"]),
            "owner-measured only",
        ),
        (
            Screw(parse_thread("4-40"), "cap", "steel-8.8", "steel", FACTORS["zinc"]),
            "those of metric screws",
        ),
    ],
)
def test_no_torque_rather_than_an_invented_one(asked: Screw, says: str) -> None:
    found = compute_torque(asked)
    assert isinstance(found, NoTorque)
    assert says in found.says


def test_a_flat_head_and_a_soft_thread_are_said_to_hold_less() -> None:
    found = compute_torque(
        Screw(parse_thread("M4"), "button", "steel-8.8", "aluminium", FACTORS["lubricated"])
    )
    assert isinstance(found, Torque)
    told = "; ".join(found.assumes)
    assert "button heads do not" in told
    assert "aluminium" in told


# --- ways to mend -------------------------------------------------------------


def ways_of(fleet: Path, joint: str, rest: str | None = None) -> dict[str, Way]:
    fitted = joints_of(fleet)[joint]
    stock = {
        "screw-m4x16-cap": StockItem(
            "screw-m4x16-cap", "", Decimal(9), None, "pieces", None, Place("stock.yaml")
        )
    }
    return {way.name: way for way in offer_ways(fitted, fitted.lots[0], rest, stock)}


def needs_of(way: Way) -> str:
    return "; ".join(need.what for need in way.needs)


def test_four_ways_and_never_a_longer_screw(fleet: Path) -> None:
    ways = ways_of(fleet, "nose-gear", "in-hole")
    assert list(ways) == ["extracted", "new-hole", "insert", "larger-thread"]
    assert "left-hand drill, under 2.4 mm" in needs_of(ways["extracted"])
    assert "tapping drill 2.5 mm" in needs_of(ways["new-hole"])
    assert "6 mm or more" in ways["new-hole"].says
    assert "1 insert for M3" in needs_of(ways["insert"])
    larger = ways["larger-thread"]
    assert "tapping drill 3.3 mm; tap M4; drill for the part held 4.5 mm" in needs_of(larger)
    assert "1 M4 x 16 cap" in needs_of(larger)
    assert "hex key 3 mm" in needs_of(larger)
    [stocked] = [need for need in larger.needs if need.item == "screw-m4x16-cap"]
    assert stocked.at_hand == 9
    # Each keeps the length; and what must not be done is said.
    assert all("x 17" not in needs_of(way) for way in ways.values())
    assert NEVER_LONGER.startswith("Never a longer screw in the same hole")


def test_what_is_out_needs_no_extracting_and_what_is_loose_is_found_first(fleet: Path) -> None:
    assert "extracted" not in ways_of(fleet, "nose-gear", "out")
    assert "find the rest" in ways_of(fleet, "nose-gear", "loose-inside")["same-again"].says


def test_wood_has_only_a_trial(fleet: Path) -> None:
    ways = ways_of(fleet, "tail-tray", "in-hole")
    assert "insert" not in ways
    assert "drill for the pilot hole" in needs_of(ways["new-hole"])
    assert "none in the tables" in str(ways["larger-thread"].needs[0].source)
