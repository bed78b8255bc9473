"""Outlines that cross, cuts through them, and shapes on both sides of the centre line."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.records.polygons import (
    Polygon,
    box_of,
    cut_across,
    find_crossing,
    flip_plan,
    is_flat,
    is_inside,
    middle_of,
    mirror_plan,
)

SQUARE: Polygon = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))


@st.composite
def stars(draw: st.DrawFn) -> Polygon:
    """Points at growing angles round a centre: such an outline never crosses itself."""
    count = draw(st.integers(3, 12))
    turns = [2 * math.pi * (n + draw(st.floats(0.05, 0.6))) / count for n in range(count)]
    lengths = [draw(st.floats(20, 900)) for _ in turns]
    return tuple(
        (1000 + length * math.cos(turn), length * math.sin(turn))
        for turn, length in zip(turns, lengths, strict=True)
    )


@given(stars())
def test_a_star_never_crosses(points: Polygon) -> None:
    assert find_crossing(points) is None
    assert not is_flat(points)


@given(st.integers(4, 14), st.data())
def test_two_corners_of_a_round_exchanged_always_cross(count: int, data: st.DataObject) -> None:
    points = [
        (math.cos(2 * math.pi * n / count) * 100, math.sin(2 * math.pi * n / count) * 100)
        for n in range(count)
    ]
    one = data.draw(st.integers(0, count - 1))
    points[one], points[(one + 1) % count] = points[(one + 1) % count], points[one]
    assert find_crossing(points) is not None


@pytest.mark.parametrize(
    ("points", "sides"),
    [
        (((0, 0), (10, 10), (10, 0), (0, 10)), (0, 2)),
        # A spike that goes out and comes back on itself encloses nothing there.
        (((0, 0), (10, 0), (20, 0), (10, 0), (10, 10)), (0, 3)),
        # A corner that touches another side.
        (((0, 0), (10, 0), (10, 10), (5, 0), (0, 10)), (0, 2)),
    ],
)
def test_crossings_are_named_by_their_sides(points: Polygon, sides: tuple[int, int]) -> None:
    found = find_crossing(points)
    assert found is not None
    assert found[0] == sides[0]


@given(stars())
def test_the_middle_lies_inside(points: Polygon) -> None:
    assert is_inside(points, middle_of(points))


@given(stars(), st.floats(0, 1))
def test_a_cut_ends_on_the_outline(points: Polygon, share: float) -> None:
    box = box_of([points])
    assert box is not None
    at = box[1] + share * (box[3] - box[1])
    cut = cut_across(points, at)
    assert cut is not None
    assert box[0] - 1e-6 <= cut[0] <= cut[1] <= box[2] + 1e-6
    assert is_inside(points, (cut[0], at))


def test_a_cut_beyond_the_outline_is_none() -> None:
    assert cut_across(SQUARE, 11) is None
    assert cut_across(SQUARE, 4) == (0, 10)


def test_a_half_that_ends_on_the_centre_line_becomes_one_whole() -> None:
    whole = mirror_plan(((0, 0), (10, 5), (20, 0)))
    assert whole == (((0, 0), (10, 5), (20, 0), (10, -5)),)
    assert find_crossing(whole[0]) is None


def test_a_wing_becomes_two_and_what_crosses_the_centre_line_stays() -> None:
    wing: Polygon = ((5.0, 2.0), (7.0, 9.0), (9.0, 2.0))
    assert mirror_plan(wing) == (wing, flip_plan(wing))
    tail: Polygon = ((0.0, -4.0), (0.0, 4.0), (2.0, 0.0))
    assert mirror_plan(tail) == (tail,)
