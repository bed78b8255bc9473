"""A linkage ready to be computed: its four-bar, where neutral is, and how the servo moves it.

Deflection is in degrees from flush, positive up (or left). The horn stands upright at its own
angle when the surface is flush; an offset towards the servo adds to that angle.
"""

from __future__ import annotations

import math

from msgspec import Struct

from register.records.linkages import Linkage
from register.records.surfaces import Surface
from register.workshop.four_bar import (
    FourBar,
    Pose,
    advantage,
    arm_from_horn,
    horn_from_arm,
    make_pose,
    rod_between,
    rod_to_arm,
    rod_to_horn,
    turn_near,
)

_STEPS = 90
_UPWARD = ("top", "left")


class Drive(Struct, frozen=True):
    """One linkage. `flush` is the horn's angle with the surface flush, `neutral` the position
    at the neutral pulse (of a surface that moves one way: at the closed one). `sense` is -1
    when the servo sits behind the hinge. Degrees per µs and pulses are None when not stated.
    """

    name: str
    surface: str
    bar: FourBar
    flush: float
    neutral: Pose
    sense: int
    rate: float | None
    neutral_pulse: float | None
    low: float | None
    high: float | None
    rod_stated: bool
    assumptions: tuple[str, ...]

    @property
    def neutral_deflection(self) -> float:
        """Where the surface stands at the neutral pulse, in degrees from flush."""
        return self.deflection_of(self.neutral.horn_angle)

    def deflection_of(self, horn_angle: float) -> float:
        """The surface's deflection for a horn angle."""
        return self.sense * (turn_near(horn_angle, self.flush) - self.flush)

    def horn_of(self, deflection: float) -> float:
        """The horn's angle for a deflection."""
        return self.flush + self.sense * deflection

    def arm_at(self, pulse: float) -> float | None:
        """The arm's angle at a pulse."""
        if self.rate is None or self.neutral_pulse is None:
            return None
        return self.neutral.arm_angle + self.rate * (pulse - self.neutral_pulse)

    def pulse_at(self, arm_angle: float) -> float | None:
        """The pulse that brings the arm to an angle."""
        if self.rate is None or self.neutral_pulse is None:
            return None
        return self.neutral_pulse + (arm_angle - self.neutral.arm_angle) / self.rate

    def horn_for(self, arm_angle: float) -> float | None:
        """The horn's angle for an arm angle, as the linkage is put together."""
        found = horn_from_arm(self.bar, arm_angle, self.neutral.horn_side)
        return None if found is None else turn_near(found, self.neutral.horn_angle)

    def arm_for(self, deflection: float) -> float | None:
        """The arm's angle for a deflection; None where the linkage cannot take it there from
        neutral: it does not close, or passes a dead centre on the way.
        """
        start, end = self.neutral.horn_angle, self.horn_of(deflection)
        angle = self.neutral.arm_angle
        for step in range(_STEPS + 1):
            horn = start + (end - start) * step / _STEPS
            found = arm_from_horn(self.bar, horn, self.neutral.arm_side)
            if found is None:
                return None
            angle = turn_near(found, angle)
            if make_pose(self.bar, angle, horn).horn_side != self.neutral.horn_side and step:
                return None
        return angle

    def pose_at(self, arm_angle: float) -> Pose | None:
        """The whole position at an arm angle."""
        horn = self.horn_for(arm_angle)
        return None if horn is None else make_pose(self.bar, arm_angle, horn)


class Point(Struct, frozen=True):
    """One place of the travel. `advantage` is torque at the surface for one at the servo;
    `per_us` is degrees of surface for one µs.
    """

    pulse: float | None
    arm_turn: float
    deflection: float
    advantage: float
    rod_to_arm: float
    rod_to_horn: float
    per_us: float | None


class Unsolved(Struct, frozen=True):
    """A linkage that cannot be computed: what is not stated, or that it cannot close."""

    name: str
    code: str
    says: str
    mend: str


def _lacking(linkage: Linkage) -> list[str]:
    """Keys without which nothing can be computed."""
    needed = {
        "arm.radius": linkage.arm.radius,
        "arm.angle": linkage.arm.angle,
        "horn.radius": linkage.horn.radius,
        "horn.angle": linkage.horn.angle,
        "pivots": linkage.pivots,
    }
    return [name for name, value in needed.items() if value is None]


def build_drive(linkage: Linkage, surface: Surface) -> Drive | Unsolved:
    """The linkage with its numbers, or what is in the way. Nothing unknown is made up, but a
    rod that nobody measured: it is taken as the one that holds the surface flush at neutral.
    """
    lacking = _lacking(linkage)
    if lacking:
        return Unsolved(
            linkage.name,
            "not-stated",
            f"not stated: {', '.join(lacking)}",
            f"write {lacking[0]} of linkage {linkage.name}",
        )
    assumed: list[str] = []
    arm, arm_angle = float(linkage.arm.radius or 0), _signed(linkage.arm.side, linkage.arm.angle)
    horn, flush = _horn(linkage, assumed)
    pivots = float(linkage.pivots or 0)
    neutral_pulse = _neutral_pulse(linkage, surface)
    rate, at_pulse = _number(linkage.travel.degrees_per_us), _number(linkage.arm.at_pulse)
    if rate is not None and neutral_pulse is not None and at_pulse is not None:
        arm_angle += rate * (neutral_pulse - at_pulse)
    else:
        assumed.append("the arm angle is taken as the one at neutral")
    upright = rod_between(arm, arm_angle, horn, flush, pivots)
    stated = linkage.rod.pin_to_pin
    rod = float(stated) if stated is not None else upright
    bar = FourBar(arm, rod, horn, pivots)
    side = make_pose(FourBar(arm, upright, horn, pivots), arm_angle, flush).horn_side
    angle = horn_from_arm(bar, arm_angle, side)
    if angle is None:
        return Unsolved(
            linkage.name,
            "cannot-close",
            f"a rod of {rod:.1f} mm cannot join arm and horn; with the surface flush they are "
            f"{upright:.1f} mm apart",
            f"measure pin to pin again; {upright:.1f} would hold it flush",
        )
    if stated is None:
        assumed.append(f"pin to pin not stated: {upright:.1f} mm holds the surface flush")
    return Drive(
        linkage.name,
        surface.name,
        bar,
        flush,
        make_pose(bar, arm_angle, turn_near(angle, flush)),
        -1 if linkage.servo_behind else 1,
        rate,
        neutral_pulse,
        _number(linkage.travel.low),
        _number(linkage.travel.high),
        stated is not None,
        tuple(assumed),
    )


def _number(value: object) -> float | None:
    return None if value is None else float(str(value))


def _signed(side: str, angle: object) -> float:
    """An angle on its side of the line shaft → hinge, counter-clockwise."""
    return (1 if side in _UPWARD else -1) * float(str(angle))


def _horn(linkage: Linkage, assumed: list[str]) -> tuple[float, float]:
    """The horn's own radius, hinge to hole, and its angle with the surface flush."""
    horn = linkage.horn
    radius, offset = float(horn.radius or 0), _number(horn.offset)
    if offset is None:
        assumed.append("horn offset not stated: taken as square over the hinge line")
        offset = 0.0
    lean = math.degrees(math.atan2(offset, radius))
    side = 1 if horn.side in _UPWARD else -1
    return math.hypot(radius, offset), _signed(horn.side, horn.angle) + side * lean


def _neutral_pulse(linkage: Linkage, surface: Surface) -> float | None:
    travel = linkage.travel
    if surface.one_way:
        return _number(travel.closed if travel.closed is not None else travel.low)
    mid = travel.mid if travel.mid is not None else linkage.arm.at_pulse
    return _number(mid)


def view_point(drive: Drive, arm_angle: float) -> Point | None:
    """The place of the travel at an arm angle; None where the linkage cannot close."""
    pose = drive.pose_at(arm_angle)
    if pose is None:
        return None
    gain = advantage(drive.bar, pose.arm_angle, pose.horn_angle)
    per_us = None
    if drive.rate is not None and gain:
        per_us = 0.0 if math.isinf(gain) else abs(drive.rate / gain)
    return Point(
        drive.pulse_at(arm_angle),
        arm_angle - drive.neutral.arm_angle,
        drive.deflection_of(pose.horn_angle),
        abs(gain),
        rod_to_arm(drive.bar, pose.arm_angle, pose.horn_angle),
        rod_to_horn(drive.bar, pose.arm_angle, pose.horn_angle),
        per_us,
    )
