"""The travel of a linkage from end point to end point, and what it meets on the way.

Walked outwards from neutral: a surface that reaches its mechanical stop before the servo's end
point holds the servo stalled from there on; where rod and arm come into one line the linkage is
over-centre, and the surface turns back; where rod and horn do, it binds.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from register.records.surfaces import Surface
from register.records.workshop_bodies import Throw
from register.workshop.drive import Drive, Point, view_point
from register.workshop.four_bar import rod_to_arm, rod_to_horn
from register.workshop.throws import find_way

_STEPS = 400
_HALVINGS = 40
#: Closer to one line than this, in degrees, an end point is said to be nearly over-centre:
#: common practice, no source.
NEAR_CENTRE = 10.0


class Met(Struct, frozen=True):
    """What the travel meets: "stop", "over-centre", "binds" or "near-centre".

    `pulse` is where, `end` the end point beyond it; `deflection` in degrees there, and for a
    stop the `way` and the stop itself. `what` is "arm" or "horn" for a dead centre.
    """

    kind: str
    pulse: float
    end: float
    deflection: float
    way: str = ""
    stop: float | None = None
    what: str = ""


class Sweep(Struct, frozen=True):
    """The travel from the low end point to the high one, through neutral."""

    low: Point | None
    neutral: Point
    high: Point | None
    points: tuple[Point, ...]
    met: tuple[Met, ...]


def sweep_travel(drive: Drive, surface: Surface, *, rows: int = 4) -> Sweep | None:
    """Walk the travel both ways; None where no point of it closes.

    Without a rate, or an end point on a side, that side is not walked. `rows` points are kept
    on each side of neutral.
    """
    neutral = view_point(drive, drive.neutral.arm_angle)
    if neutral is None:
        return None
    met: list[Met] = []
    sides: dict[str, list[Point]] = {"low": [], "high": []}
    for side, end in (("low", drive.low), ("high", drive.high)):
        start = drive.neutral_pulse
        if end is None or start is None or drive.rate is None or end == start:
            continue
        last = _walk(drive, surface, start, end, met)
        for row in range(1, rows + 1):
            point = _point_at(drive, start + (last - start) * row / rows)
            if point is not None:
                sides[side].append(point)
    points = (*reversed(sides["low"]), neutral, *sides["high"])
    return Sweep(
        sides["low"][-1] if sides["low"] else None,
        neutral,
        sides["high"][-1] if sides["high"] else None,
        points,
        tuple(met),
    )


def _point_at(drive: Drive, pulse: float) -> Point | None:
    arm = drive.arm_at(pulse)
    return None if arm is None else view_point(drive, arm)


def deflection_at(drive: Drive, pulse: float) -> float | None:
    """The deflection at a pulse, as the linkage is put together."""
    arm = drive.arm_at(pulse)
    horn = None if arm is None else drive.horn_for(arm)
    return None if horn is None else drive.deflection_of(horn)


def _walk(drive: Drive, surface: Surface, start: float, end: float, met: list[Met]) -> float:
    """Outwards from neutral to an end point, noting what is met; gives how far it closes."""
    began = drive.neutral_deflection
    stopped, centred, last = False, False, start
    for step in range(1, _STEPS + 1):
        pulse = start + (end - start) * step / _STEPS
        found = deflection_at(drive, pulse)
        if found is None:
            last = _refine(last, pulse, lambda at: deflection_at(drive, at) is not None)
            if not stopped:
                there = deflection_at(drive, last) or 0.0
                met.append(Met("binds", last, end, there, what="horn"))
            return last
        # A surface that rests on its stop meets nothing further.
        if not (centred or stopped or _before_centre(drive, pulse)):
            centred = True
            at = _refine(last, pulse, lambda at: _before_centre(drive, at))
            met.append(Met("over-centre", at, end, deflection_at(drive, at) or 0.0, what="arm"))
        stop = find_way(surface.stops, found - began)
        if not stopped and stop is not None and _beyond(found, stop):
            stopped = True
            met.append(_stall(drive, stop, last, pulse, end))
        last = pulse
    if not centred and not stopped:
        met.extend(_near(drive, end))
    return last


def _before_centre(drive: Drive, pulse: float) -> bool:
    arm = drive.arm_at(pulse)
    pose = None if arm is None else drive.pose_at(arm)
    return pose is None or pose.arm_side == drive.neutral.arm_side


def _beyond(deflection: float, stop: Throw) -> bool:
    return abs(deflection) > float(stop.value) + 1e-9


def _stall(drive: Drive, stop: Throw, before: float, after: float, end: float) -> Met:
    at = _refine(before, after, lambda at: not _beyond(deflection_at(drive, at) or 0.0, stop))
    return Met("stop", at, end, deflection_at(drive, at) or 0.0, stop.way, float(stop.value))


def _near(drive: Drive, end: float) -> list[Met]:
    arm = drive.arm_at(end)
    pose = None if arm is None else drive.pose_at(arm)
    if pose is None:
        return []
    angles = {
        "arm": rod_to_arm(drive.bar, pose.arm_angle, pose.horn_angle),
        "horn": rod_to_horn(drive.bar, pose.arm_angle, pose.horn_angle),
    }
    there = drive.deflection_of(pose.horn_angle)
    return [
        Met("near-centre", end, end, there, stop=angle, what=what)
        for what, angle in angles.items()
        if angle < NEAR_CENTRE
    ]


def _refine(good: float, bad: float, holds: Callable[[float], bool]) -> float:
    """The last place between two where something still holds."""
    for _ in range(_HALVINGS):
        middle = (good + bad) / 2
        if holds(middle):
            good = middle
        else:
            bad = middle
    return good


class Use(Struct, frozen=True):
    """What one throw takes of the servo: its pulse, degrees of arm, and the place itself.

    `point` is None where the linkage cannot bring the surface there; `beyond` is true where
    the pulse lies outside the end points, `past_stop` where the throw lies past the stop.
    """

    way: str
    degrees: float
    point: Point | None
    beyond: bool
    past_stop: bool


def use_of(drive: Drive, surface: Surface, way: str, degrees: float) -> Use:
    """What a throw takes. `degrees` is without sign; down and right are negative, and open
    goes whichever way the servo opens the surface.
    """
    signed = degrees * sign_of(drive, way)
    arm = drive.arm_for(signed)
    point = None if arm is None else view_point(drive, arm)
    beyond = False
    if point is not None and point.pulse is not None:
        low, high = drive.low, drive.high
        beyond = (low is not None and point.pulse < low - 0.5) or (
            high is not None and point.pulse > high + 0.5
        )
    stop = find_way(surface.stops, signed) if signed else None
    return Use(
        way,
        signed,
        point,
        beyond,
        stop is not None and degrees > float(stop.value) + 1e-6,
    )


def sign_of(drive: Drive, way: str) -> int:
    """+1 for up, left and whichever way a one-way surface opens, if that is up; else -1."""
    if way in ("up", "left"):
        return 1
    if way in ("down", "right"):
        return -1
    start = drive.neutral_pulse
    ends = [end for end in (drive.low, drive.high) if end is not None and end != start]
    for end in ends:
        for share in (1.0, 0.5, 0.1):
            found = deflection_at(drive, (start or 0.0) + (end - (start or 0.0)) * share)
            if found is not None and abs(found - drive.neutral_deflection) > 1e-6:
                return 1 if found > drive.neutral_deflection else -1
    return 1


def share_used(drive: Drive, uses: tuple[Use, ...]) -> float | None:
    """How much of the servo's travel the throws take, 0 to 1."""
    pulses = [use.point.pulse for use in uses if use.point and use.point.pulse is not None]
    if drive.low is None or drive.high is None or drive.neutral_pulse is None or not pulses:
        return None
    every = [*pulses, drive.neutral_pulse]
    return (max(every) - min(every)) / (drive.high - drive.low)
