"""Linkages, throws, rods and hinge moments held to figures from outside.

Each case says its source and the status of its figure. "Common practice, no source" marks facts
of the trade that nobody was found to have published.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import pytest
from scipy.integrate import quad  # type: ignore[import-untyped]
from scipy.optimize import brentq  # type: ignore[import-untyped]
from workshop_room.linkage_makers import build, drive

from register.records.rods import RodEnd
from register.records.threads import parse_thread
from register.workshop.four_bar import (
    FourBar,
    arm_from_horn,
    horn_from_arm,
    make_pose,
    rod_angle,
    rod_between,
)
from register.workshop.hinge_moment import flap_derivatives, hinge_coefficient
from register.workshop.rods import change_of_turns, pins_of_cut, shortest_cut
from register.workshop.throws import deflect


def test_four_bar_open_and_crossed() -> None:
    """Norton, Design of Machinery, chapter 4, example by Freudenstein's method. Figures from
    memory, reproduced to 0.01° here: the crossed angle is printed as -98.01, and is -98.005.
    """
    bar = FourBar(40, 120, 80, 100)
    opened, crossed = horn_from_arm(bar, 40, 1), horn_from_arm(bar, 40, -1)
    assert opened is not None
    assert crossed is not None
    found = [opened, crossed, rod_angle(bar, 40, opened), rod_angle(bar, 40, crossed)]
    assert found == pytest.approx([57.33, -98.01, 20.3, -60.98], abs=0.01)


def test_freudenstein_equation_holds() -> None:
    """K1 cos θ4 - K2 cos θ2 + K3 = cos(θ2 - θ4); K1 = d/a, K2 = d/c,
    K3 = (a² - b² + c² + d²) / 2ac. Freudenstein 1955, as in every textbook of mechanisms.
    """
    bar = FourBar(22, 61, 18, 60)
    k1, k2 = bar.pivots / bar.arm, bar.pivots / bar.horn
    k3 = (bar.arm**2 - bar.rod**2 + bar.horn**2 + bar.pivots**2) / (2 * bar.arm * bar.horn)
    for arm, side in itertools.product(range(60, 125, 5), (1, -1)):
        horn = horn_from_arm(bar, arm, side)
        if horn is not None:
            t2, t4 = math.radians(arm), math.radians(horn)
            left = k1 * math.cos(t4) - k2 * math.cos(t2) + k3
            assert left == pytest.approx(math.cos(t2 - t4), abs=1e-9)


def test_grashof() -> None:
    """A mechanism tutorial's problem: links 40, 90, 70, 100; s + l < p + q. Links read, class
    computed.
    """
    assert FourBar(40, 90, 70, 100).is_grashof
    assert not FourBar(60, 40, 50, 120).is_grashof


def test_a_parallelogram_turns_alike() -> None:
    """Identity: equal arms, rod as long as the pivots are apart. Computed."""
    for angle in (30, 75, 120):
        assert horn_from_arm(FourBar(20, 80, 20, 80), angle, 1) == pytest.approx(angle, abs=0.01)


@pytest.mark.parametrize(("arm", "horn"), [(22.0, 18.0), (12.0, 18.0), (20.0, 20.0), (15.0, 24.0)])
def test_four_bar_against_an_independent_root_finder(arm: float, horn: float) -> None:
    """scipy's brentq on the plain distance between the two pins, which knows no circles."""
    pivots = 60.0
    bar = FourBar(arm, rod_between(arm, 90, horn, 90, pivots), horn, pivots)
    side = make_pose(bar, 90, 90).horn_side

    def gap(theta: float, turned: float) -> float:
        return rod_between(arm, turned, horn, theta, pivots) - bar.rod

    for turned in range(70, 111, 5):
        ours = horn_from_arm(bar, turned, side)
        assert ours is not None
        theirs = brentq(gap, 30, 150, args=(turned,), xtol=1e-12)
        assert ours == pytest.approx(theirs, abs=1e-8)


@pytest.mark.parametrize(("arm", "down", "up"), [(22.0, -20.29, 20.16), (12.0, -40.11, 38.71)])
def test_servo_travel_for_a_surface_of_25_degrees(arm: float, down: float, up: float) -> None:
    """Common practice, no source: horn 18 mm, pivots 60 mm, arm and horn parallel at mid, ±25°
    of surface takes about +20.3/-20.2° of servo with a 22 mm arm, +40.1/-38.7° with a 12 mm one.

    These agree if "parallel at mid" means both square to the line between the pivots, with the
    rod cut to suit (60.13 and 60.30 mm); the larger figure is the one towards the hinge.
    """
    bar = FourBar(arm, rod_between(arm, 90, 18, 90, 60), 18, 60)
    side = make_pose(bar, 90, 90).arm_side
    found = [(arm_from_horn(bar, 90 + turn, side) or 0.0) - 90 for turn in (-25, 25)]
    assert found == pytest.approx([down, up], abs=0.01)


def test_servo_travel_by_other_conventions_differs() -> None:
    """The same figures are missed by a rod as long as the pivots are apart (40.4 instead of
    40.1), and with arm and horn both square to the rod and not to the line of pivots the two
    ways are alike (20.2 both).
    """
    bar = FourBar(12, 60, 18, 60)
    horn = horn_from_arm(bar, 90, make_pose(FourBar(12, 60.3, 18, 60), 90, 90).horn_side)
    assert horn is not None
    side = make_pose(bar, 90, horn).arm_side
    down, up = (90 - (arm_from_horn(bar, horn + turn, side) or 0) for turn in (-25, 25))
    assert (down, -up) == pytest.approx((40.41, 38.63), abs=0.01)
    lean = 90 + math.degrees(math.asin((18 - 22) / 60))
    bar = FourBar(22, rod_between(22, lean, 18, lean, 60), 18, 60)
    side = make_pose(bar, lean, lean).arm_side
    down, up = (lean - (arm_from_horn(bar, lean + turn, side) or 0) for turn in (-25, 25))
    assert (down, -up) == pytest.approx((20.23, 20.23), abs=0.01)


def test_a_drive_gives_the_same_servo_travel() -> None:
    """The figures above through the linkage as the register reads it."""
    for arm, down, up in ((22, -20.29, 20.16), (12, -40.11, 38.71)):
        made, _ = drive(arm, 18)
        found = [(made.arm_for(turn) or 0.0) - 90 for turn in (-25, 25)]
        assert found == pytest.approx([down, up], abs=0.01)


def test_one_deflection_in_three_measures() -> None:
    """Trigonometry: 30° on 50 mm. Computed."""
    found = deflect(30, "degrees", 50)
    assert (found.chordal, found.perpendicular, found.arc) == pytest.approx(
        (25.882, 25.0, 26.18), abs=0.001
    )


def test_a_throw_of_40_mm_on_100_mm() -> None:
    """Common practice, no source: 23.07° chordal, 23.58° perpendicular, 22.92° along the arc."""
    found = [deflect(40, name, 100).degrees for name in ("chordal", "perpendicular", "arc")]
    assert found == pytest.approx([23.07, 23.58, 22.92], abs=0.005)


@pytest.mark.parametrize(("turns", "change"), [(1.0, 0.635), (-2.0, -1.270)])
def test_turns_of_a_4_40_rod(turns: float, change: float) -> None:
    """Common practice, no source; the pitch is 25.4 / 40 by ASME B1.1: one turn out on one rod
    of a pair and two in on the other.
    """
    _, linkage = build("chord: 60", "rod: {thread: 4-40, hands: [right, right]}")
    assert change_of_turns(linkage.rod.ends[0], turns) == pytest.approx(change)


def test_a_short_linkage_from_a_rod_threaded_at_its_ends() -> None:
    """Common practice, no source: 20 mm cannot be cut from a 50 mm rod threaded at its ends
    only; from one threaded all along it can.
    """
    _, linkage = build("", "rod: {thread: M3, blank: {length: 50, threaded: [12, 12]}}")
    shortest = shortest_cut(linkage.rod)
    assert shortest is not None
    assert shortest == pytest.approx(50 - 12 - 12 + 2 * 4.5)
    assert shortest > 20
    _, linkage = build("", "rod: {thread: M3, blank: {length: 50, threaded: [25, 25]}}")
    assert shortest_cut(linkage.rod) == 0


def test_a_rod_named_by_its_cut_length_is_shorter_than_pin_to_pin() -> None:
    """Common practice, no source: by the fittings, less the thread inside them."""
    _, linkage = build("", "rod: {cut: 44, thread: M3, engagement: [8, 7.5], fittings: [17, 16.5]}")
    assert pins_of_cut(linkage.rod) == pytest.approx(44 + 17 - 8 + 16.5 - 7.5)


def test_flap_derivatives_of_a_quarter_chord_flap() -> None:
    """Houghton and Carpenter, Aerodynamics for Engineering Students, eq. 4.54 ff.: formula read,
    no printed number. Computed two ways.
    """
    assert flap_derivatives(0.25) == pytest.approx((-0.5653, -0.9436), abs=0.002)


@pytest.mark.parametrize("ratio", [0.15, 0.25, 0.4])
def test_flap_derivatives_against_quadrature(ratio: float) -> None:
    """The pressures of thin-aerofoil theory (Glauert's series) integrated over the flap by
    scipy, instead of the closed form. A place on the chord is x = (1 - cos θ) / 2.
    """
    hinge = math.acos(2 * ratio - 1)

    def of_incidence(theta: float) -> float:
        return 4 * (1 + math.cos(theta)) / math.sin(theta)

    def of_flap(theta: float) -> float:
        series = math.log(abs(math.sin((theta + hinge) / 2) / math.sin((theta - hinge) / 2)))
        return (math.pi - hinge) / math.pi * of_incidence(theta) + 4 / math.pi * series

    for load, ours in zip((of_incidence, of_flap), flap_derivatives(ratio), strict=True):

        def about_hinge(theta: float, load: Callable[[float], float] = load) -> float:
            arm = (math.cos(hinge) - math.cos(theta)) / 2
            return load(theta) * arm * math.sin(theta) / 2

        total, _ = quad(about_hinge, hinge, math.pi, limit=200)
        assert -total / ratio**2 == pytest.approx(ours, abs=2e-3)


def test_an_all_moving_surface_hinged_at_its_leading_edge() -> None:
    """Thin-aerofoil theory: moment about the leading edge is a quarter of the lift: -π/2."""
    assert flap_derivatives(1.0)[0] == pytest.approx(-1.5708, abs=1e-4)


def test_hinge_moment_coefficient() -> None:
    """A calculator article's worked example, read: 50 N·m, 1000 Pa, 2 m², 1.5 m."""
    assert hinge_coefficient(50, 1000, 2, 1.5) == pytest.approx(0.0167, abs=5e-5)


def test_a_rod_end_holds_a_published_pitch() -> None:
    """ISO 261: M3 coarse is 0.5 mm; so a half turn of a forked M3 end is 0.25 mm."""
    _, linkage = build("", "rod: {thread: M3, forked: [true, false]}")
    end: RodEnd = linkage.rod.ends[0]
    assert end.thread == parse_thread("M3")
    assert change_of_turns(end, float(end.turn_step)) == pytest.approx(0.25)
