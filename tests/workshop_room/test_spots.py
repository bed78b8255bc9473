"""Places on zones: what is measured from where, and where that is on the aircraft."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop_room.drawn_fleet import KIT

from register.records.fields import Fields
from register.records.outlines import Outline, read_outline
from register.records.workshop_bodies import Spot
from register.records.zones import Zone, read_zones
from register.text.parsing import parse_text
from register.trouble import Problem
from register.workshop.spots import (
    DIRECTIONS,
    Located,
    Unplaced,
    default_directions,
    find_direction,
    form_of,
    locate_spot,
)


def read() -> tuple[dict[str, Zone], Outline]:
    import textwrap

    problems: list[Problem] = []
    node = parse_text("kits/a.yaml", textwrap.dedent(KIT).encode()).node
    assert node is not None
    fields = Fields(node, problems)
    outline = read_outline(fields)
    assert outline is not None
    assert not problems
    return read_zones(fields), outline


ZONES, OUTLINE = read()


def spot(along: float | None, along_from: str, across: float | None, across_from: str) -> Spot:
    return Spot(
        None if along is None else Decimal(str(along)),
        along_from,
        None if across is None else Decimal(str(across)),
        across_from,
    )


def place(zone: str, where: Spot | None) -> Located:
    found = locate_spot(ZONES[zone], where, OUTLINE)
    assert isinstance(found, Located), found
    return found


def test_forms_and_their_own_directions() -> None:
    assert {name: form_of(zone) for name, zone in ZONES.items()} == {
        "body": "body", "left-wing": "wing", "right-wing": "wing", "fin": "fin",
    }  # fmt: skip
    assert default_directions(ZONES["left-wing"]) == ("leading edge", "root")
    assert default_directions(ZONES["body"]) == ("front", "top")


def test_on_a_wing_from_leading_edge_and_root() -> None:
    # The leading edge runs from x 600 at y 90 to x 760 at y 780: half-way out it is at 680.
    found = place("left-wing", spot(0, "leading edge", 345, "root"))
    assert (found.view, found.x, found.v, found.exact, found.inside) == (
        "plan", 680.0, -435.0, True, True,
    )  # fmt: skip
    right = place("right-wing", spot(0, "leading edge", 345, "root"))
    assert (right.x, right.v) == (680.0, 435.0)


def test_bare_numbers_are_the_zone_s_own_directions() -> None:
    assert place("left-wing", spot(50, "", 200, "")) == place(
        "left-wing", spot(50, "leading edge", 200, "root")
    )


def test_either_order_of_the_two_measures_is_one_place() -> None:
    assert place("left-wing", spot(200, "root", 50, "leading edge")) == place(
        "left-wing", spot(50, "leading edge", 200, "root")
    )


def test_on_a_fin_the_root_is_below() -> None:
    found = place("fin", spot(40, "trailing edge", 100, "root"))
    assert found.view == "side"
    assert found.v == pytest.approx(150)
    assert found.x == pytest.approx(1740)


def test_on_a_body_from_the_top_it_is_seen_from_the_side() -> None:
    found = place("body", spot(900, "nose", 30, "top"))
    assert (found.view, found.x) == ("side", 900.0)
    assert found.v == pytest.approx(90)
    left = place("body", spot(300, "tail", 25, "left"))
    assert (left.view, left.x, left.v) == ("plan", 1500.0, -25.0)


def test_with_one_measure_or_none_the_place_is_not_exact() -> None:
    assert not place("left-wing", None).exact
    half = place("left-wing", spot(None, "", 345, "root"))
    assert (half.exact, half.v) == (False, -435.0)


def test_beyond_the_outline_is_said() -> None:
    assert not place("left-wing", spot(10, "leading edge", 2000, "root")).inside


@pytest.mark.parametrize(
    ("zone", "where", "says"),
    [
        ("left-wing", spot(1, "leading edge", 2, "trailing edge"), "same direction"),
        ("left-wing", spot(1, "root", 2, "tip"), "same direction"),
        ("left-wing", spot(1, "leading edge", 2, "top"), "no direction of left-wing"),
        ("fin", spot(1, "moon", 2, "root"), "'moon' is no direction"),
        ("body", spot(1, "root", None, ""), "no direction of body"),
    ],
)
def test_words_that_give_no_place(zone: str, where: Spot, says: str) -> None:
    found = locate_spot(ZONES[zone], where, OUTLINE)
    assert isinstance(found, Unplaced)
    assert found.by_words
    assert says in found.reason


def test_every_direction_is_found_by_each_of_its_words() -> None:
    for name, others in DIRECTIONS.items():
        for word in (name, *others):
            assert find_direction(f"from the {word.upper()}") == name
    assert find_direction("sideways") is None


@given(st.floats(0, 600), st.floats(0, 200))
def test_left_and_right_are_mirror_images(out: float, aft: float) -> None:
    where = spot(round(aft, 3), "leading edge", round(out, 3), "root")
    left, right = place("left-wing", where), place("right-wing", where)
    assert left.x == pytest.approx(right.x)
    assert left.v == pytest.approx(-right.v)


@given(st.floats(1, 650), st.floats(1, 190))
def test_from_both_edges_the_same_point_is_one_place(out: float, aft: float) -> None:
    """A place from leading edge and root, said again from trailing edge and tip."""
    first = place("left-wing", spot(round(aft, 3), "leading edge", round(out, 3), "root"))
    station = -first.v
    lead = 600 + (station - 90) * 160 / 690
    trail = 1010 - (station - 90) * 50 / 700
    # The tip is cut from 760,780 to 960,790: up to 780 both edges are straight.
    again = place(
        "left-wing",
        spot(round(trail - lead - aft, 6), "trailing edge", round(790 - station, 6), "tip"),
    )
    assert again.x == pytest.approx(first.x, abs=0.01)
    assert again.v == pytest.approx(first.v, abs=0.01)
