"""Laws of linkages: forward and back agree, turns are linear, measures go there and back."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from workshop_room.linkage_makers import build

from register.workshop.four_bar import (
    FourBar,
    advantage,
    arm_from_horn,
    horn_from_arm,
    make_pose,
    rod_between,
    turn_near,
)
from register.workshop.rods import change_of_turns, length_per_turn, ways_to_change
from register.workshop.throws import deflect, from_degrees, to_degrees

LENGTHS = st.floats(8, 60)
ANGLES = st.floats(-170, 170)


def pins_are_apart(bar: FourBar, arm_angle: float, horn_angle: float) -> bool:
    """A pin that lies on the other axis leaves the other link free to turn as it likes."""
    to_hinge = rod_between(bar.arm, arm_angle, 0, 0, bar.pivots)
    to_shaft = rod_between(0, 0, bar.horn, horn_angle, bar.pivots)
    return min(to_hinge, to_shaft) > 0.5


@given(LENGTHS, LENGTHS, st.floats(20, 200), ANGLES, ANGLES)
def test_forward_and_back_agree_wherever_the_linkage_closes(
    arm: float, horn: float, pivots: float, arm_angle: float, horn_angle: float
) -> None:
    rod = rod_between(arm, arm_angle, horn, horn_angle, pivots)
    assume(rod > 1)
    bar = FourBar(arm, rod, horn, pivots)
    assume(pins_are_apart(bar, arm_angle, horn_angle))
    pose = make_pose(bar, arm_angle, horn_angle)
    forward = horn_from_arm(bar, arm_angle, pose.horn_side)
    back = arm_from_horn(bar, horn_angle, pose.arm_side)
    assert forward is not None
    assert back is not None
    # At a dead centre an angle is only as sharp as the square root of the rounding.
    assert turn_near(forward, horn_angle) == pytest.approx(horn_angle, abs=1e-3)
    assert turn_near(back, arm_angle) == pytest.approx(arm_angle, abs=1e-3)


@given(LENGTHS, LENGTHS, st.floats(40, 200), st.floats(60, 120), st.floats(60, 120))
def test_the_whole_reachable_range_goes_there_and_back(
    arm: float, horn: float, pivots: float, arm_angle: float, horn_angle: float
) -> None:
    bar = FourBar(arm, rod_between(arm, arm_angle, horn, horn_angle, pivots), horn, pivots)
    side = make_pose(bar, arm_angle, horn_angle).horn_side
    closed = 0
    for turned in range(-180, 180, 3):
        found = horn_from_arm(bar, turned, side)
        if found is None or not pins_are_apart(bar, turned, found):
            continue
        closed += 1
        pose = make_pose(bar, turned, found)
        back = arm_from_horn(bar, found, pose.arm_side)
        assert back is not None
        assert turn_near(back, turned) == pytest.approx(turned, abs=1e-3)
        # The rod keeps its length whatever the angles.
        assert rod_between(arm, turned, horn, found, pivots) == pytest.approx(bar.rod, abs=1e-6)
    assert closed


@given(LENGTHS, LENGTHS, st.floats(40, 200), st.floats(60, 120), st.floats(60, 120))
def test_the_advantage_is_the_slope_of_the_travel(
    arm: float, horn: float, pivots: float, arm_angle: float, horn_angle: float
) -> None:
    bar = FourBar(arm, rod_between(arm, arm_angle, horn, horn_angle, pivots), horn, pivots)
    pose = make_pose(bar, arm_angle, horn_angle)
    gain = advantage(bar, arm_angle, horn_angle)
    assume(0.05 < abs(gain) < 20)
    step = 1e-4
    after = horn_from_arm(bar, arm_angle + step, pose.horn_side)
    before = horn_from_arm(bar, arm_angle - step, pose.horn_side)
    assume(after is not None and before is not None)
    slope = turn_near((after or 0) - (before or 0), 0) / (2 * step)
    assert 1 / gain == pytest.approx(slope, rel=1e-3)


@given(
    st.sampled_from(["M2", "M2.5", "M3", "M4", "#4-40", "#2-56"]),
    st.floats(-10, 10),
    st.floats(-10, 10),
)
def test_turns_are_linear_in_pitch(thread: str, one: float, other: float) -> None:
    _, linkage = build("", f'rod: {{thread: "{thread}", hands: [right, left]}}')
    end = linkage.rod.ends[0]
    assert end.thread is not None
    pitch = float(end.thread.pitch or 0)
    assert change_of_turns(end, one) == pytest.approx(one * pitch)
    both, first, second = (change_of_turns(end, turns) for turns in (one + other, one, other))
    assert both == pytest.approx((first or 0) + (second or 0), abs=1e-9)
    assert length_per_turn(*linkage.rod.ends) == pytest.approx(2 * pitch)


@given(st.floats(-12, 12), st.sampled_from(["[true, true]", "[false, false]", "[true, false]"]))
def test_what_is_refitted_is_within_half_a_step(change: float, forked: str) -> None:
    _, linkage = build(
        "", f"rod: {{thread: M3, hands: [right, left], engagement: [15, 15], forked: {forked}}}"
    )
    for way, end in zip(ways_to_change(linkage.rod, change), linkage.rod.ends, strict=False):
        assert way.done is not None
        assert way.turns is not None
        step = float(end.turn_step)
        assert way.done / step == pytest.approx(round(way.done / step))
        assert abs(way.done - way.turns) <= step / 2 + 1e-9
        assert (way.change or 0) + (way.left or 0) == pytest.approx(change)
    rod = ways_to_change(linkage.rod, change)[2]
    assert rod.done == pytest.approx(change / 1.0)


@given(st.floats(0, 89), st.floats(1, 400), st.sampled_from(["chordal", "perpendicular", "arc"]))
def test_measures_go_there_and_back(angle: float, chord: float, measure: str) -> None:
    value = from_degrees(angle, measure, chord)
    found = to_degrees(value, measure, chord)
    # Near 90° a perpendicular throw hardly changes with the angle.
    assert found == pytest.approx(angle, abs=1e-4)
    told = deflect(value, measure, chord)
    assert told.in_measure(measure) == pytest.approx(value, abs=1e-6)
    assert told.arc is not None
    assert told.chordal is not None
    assert told.perpendicular is not None
    assert told.perpendicular <= told.chordal + 1e-9 <= told.arc + 2e-9
    assert told.arc == pytest.approx(math.radians(angle) * chord, abs=1e-3)


def test_a_throw_that_cannot_be_has_no_angle() -> None:
    assert to_degrees(61, "perpendicular", 60) is None
    assert to_degrees(121, "chordal", 60) is None
    assert to_degrees(10, "chordal", None) is None
    assert to_degrees(10, "degrees", None) == 10
