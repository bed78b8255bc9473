"""Badges never lie on each other or on a point, however close the points are."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from register.pages.placing import Frame, place_badges

RADIUS = 9.5
FRAME = Frame(20, 20, 370, 300)
POINTS = st.tuples(st.floats(20, 370), st.floats(20, 300))


@given(st.lists(POINTS, max_size=40))
def test_no_badge_lies_on_another_or_on_a_point(points: list[tuple[float, float]]) -> None:
    badges, lowest = place_badges(points, RADIUS, FRAME, 8)
    assert [badge.point for badge in badges] == points
    for n, badge in enumerate(badges):
        assert FRAME.left <= badge.at[0] <= FRAME.right
        assert FRAME.top <= badge.at[1] <= lowest
        assert all(math.dist(badge.at, other.at) >= 2 * RADIUS for other in badges[n + 1 :])
        assert all(math.dist(badge.at, point) >= RADIUS for point in points)


def test_a_hundred_marks_on_one_spot_still_have_badges() -> None:
    badges, lowest = place_badges([(190.0, 150.0)] * 300, RADIUS, FRAME, 8)
    assert len({badge.at for badge in badges}) == 300
    assert lowest > FRAME.bottom


def test_one_mark_stands_close_to_its_point() -> None:
    (badge,), _ = place_badges([(300.0, 250.0)], RADIUS, FRAME, 8)
    assert math.dist(badge.at, badge.point) < 2.5 * RADIUS
