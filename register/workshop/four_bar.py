"""The four-bar of a servo arm, a rod, a horn and the line between the two pivots.

Seen from the side with the servo's shaft on the left and the hinge on the right. Every angle
is in degrees, counter-clockwise from the line shaft → hinge: an arm straight up stands at 90,
one straight down at -90. The rod joins the arm's hole to the horn's hole. Given one angle, the
other is where two circles meet, so there are two ways to put the linkage together; it changes
from one to the other only where rod and horn (or rod and arm) lie in one line. This is the
relation of Freudenstein, solved by the circles and not by his half-angle formula, which loses
figures where an angle passes 180.
"""

from __future__ import annotations

import math

from msgspec import Struct

#: A circle that only touches another is still met, within the rounding of floating point.
_TOUCH = 1e-9


class FourBar(Struct, frozen=True):
    """Lengths in millimetres: servo arm, rod from pin to pin, horn, pivot to pivot."""

    arm: float
    rod: float
    horn: float
    pivots: float

    @property
    def is_grashof(self) -> bool:
        """True when the shortest link can turn right round (Grashof: s + l < p + q)."""
        links = sorted((self.arm, self.rod, self.horn, self.pivots))
        return links[0] + links[3] < links[1] + links[2]


class Pose(Struct, frozen=True):
    """One position: arm and horn angle, and on which side of two lines the rod lies.

    `horn_side` is +1 or -1 by the side of the line arm pin → hinge on which the horn's pin
    lies, `arm_side` by that of the line horn pin → shaft for the arm's pin. Both stay as they
    are until the linkage passes a dead centre.
    """

    arm_angle: float
    horn_angle: float
    horn_side: int
    arm_side: int


def rod_between(
    arm: float, arm_angle: float, horn: float, horn_angle: float, pivots: float
) -> float:
    """Pin to pin, in millimetres, of the rod that joins arm and horn at these angles."""
    x, y = _pin(arm, arm_angle)
    u, v = _pin(horn, horn_angle)
    return math.hypot(pivots + u - x, v - y)


def make_pose(bar: FourBar, arm_angle: float, horn_angle: float) -> Pose:
    """The position at two angles that belong together."""
    x, y = _pin(bar.arm, arm_angle)
    u, v = _pin(bar.horn, horn_angle)
    u += bar.pivots
    to_hinge = (bar.pivots - x) * (v - y) - (0 - y) * (u - x)
    to_shaft = (0 - u) * (y - v) - (0 - v) * (x - u)
    return Pose(arm_angle, horn_angle, 1 if to_hinge >= 0 else -1, 1 if to_shaft >= 0 else -1)


def horn_from_arm(bar: FourBar, arm_angle: float, horn_side: int) -> float | None:
    """The horn's angle for an arm angle; None where the linkage cannot close."""
    x, y = _pin(bar.arm, arm_angle)
    met = _meet((x, y), bar.rod, (bar.pivots, 0.0), bar.horn, horn_side)
    if met is None:
        return None
    return math.degrees(math.atan2(met[1], met[0] - bar.pivots))


def arm_from_horn(bar: FourBar, horn_angle: float, arm_side: int) -> float | None:
    """The arm's angle for a horn angle; None where the linkage cannot close."""
    u, v = _pin(bar.horn, horn_angle)
    met = _meet((bar.pivots + u, v), bar.rod, (0.0, 0.0), bar.arm, arm_side)
    return None if met is None else math.degrees(math.atan2(met[1], met[0]))


def rod_angle(bar: FourBar, arm_angle: float, horn_angle: float) -> float:
    """The direction of the rod, from the arm's pin to the horn's, in degrees."""
    x, y = _pin(bar.arm, arm_angle)
    u, v = _pin(bar.horn, horn_angle)
    return math.degrees(math.atan2(v - y, bar.pivots + u - x))


def advantage(bar: FourBar, arm_angle: float, horn_angle: float) -> float:
    """Torque at the surface for one at the servo, friction left out: degrees of arm for one of
    horn, by virtual work. Infinite where the arm stands in line with the rod, zero where the
    horn does; negative when the two turn against each other.
    """
    along = rod_angle(bar, arm_angle, horn_angle)
    arm = bar.arm * math.sin(math.radians(arm_angle - along))
    horn = bar.horn * math.sin(math.radians(horn_angle - along))
    if abs(arm) < _TOUCH * bar.arm:
        return math.copysign(math.inf, horn)
    return horn / arm


def rod_to_horn(bar: FourBar, arm_angle: float, horn_angle: float) -> float:
    """The angle between rod and horn, 0 to 90: 90 pulls best, 0 is the dead centre."""
    between = (horn_angle - rod_angle(bar, arm_angle, horn_angle)) % 180
    return min(between, 180 - between)


def rod_to_arm(bar: FourBar, arm_angle: float, horn_angle: float) -> float:
    """The angle between rod and arm, 0 to 90: 0 is over-centre."""
    between = (arm_angle - rod_angle(bar, arm_angle, horn_angle)) % 180
    return min(between, 180 - between)


def turn_near(angle: float, near: float) -> float:
    """The same direction, written within half a turn of another."""
    return near + (angle - near + 180) % 360 - 180


def _pin(radius: float, angle: float) -> tuple[float, float]:
    return radius * math.cos(math.radians(angle)), radius * math.sin(math.radians(angle))


def _meet(
    first: tuple[float, float],
    first_radius: float,
    second: tuple[float, float],
    second_radius: float,
    side: int,
) -> tuple[float, float] | None:
    """Where two circles meet, on the side asked for of the line first → second."""
    dx, dy = second[0] - first[0], second[1] - first[1]
    apart = math.hypot(dx, dy)
    if apart == 0:
        return None
    along = (first_radius**2 - second_radius**2 + apart**2) / (2 * apart)
    square = first_radius**2 - along**2
    if square < -_TOUCH * first_radius**2:
        return None
    off = side * math.sqrt(max(square, 0.0))
    return (
        first[0] + (along * dx - off * dy) / apart,
        first[1] + (along * dy + off * dx) / apart,
    )
