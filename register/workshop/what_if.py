"""A linkage with other figures: another arm, hole, horn, angle or rod."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from msgspec.structs import replace

from register.records.linkages import Linkage
from register.records.surfaces import Surface
from register.workshop.drive import Drive, build_drive
from register.workshop.four_bar import rod_between
from register.workshop.rods import change_of_turns


def _arm(linkage: Linkage, **figures: Decimal | None) -> Linkage:
    return replace(linkage, arm=replace(linkage.arm, **figures))


def _horn(linkage: Linkage, **figures: Decimal | None) -> Linkage:
    return replace(linkage, horn=replace(linkage.horn, **figures))


def _travel(linkage: Linkage, **figures: Decimal | None) -> Linkage:
    return replace(linkage, travel=replace(linkage.travel, **figures))


def _rod(linkage: Linkage, length: Decimal | None) -> Linkage:
    """Another rod from pin to pin: what it is cut to is not known any more."""
    return replace(linkage, rod=replace(linkage.rod, pin_to_pin=length, cut=None))


#: What may be changed: millimetres, degrees or µs -> the linkage so changed.
CHANGES: dict[str, Callable[[Linkage, Decimal], Linkage]] = {
    "arm": lambda linkage, value: _arm(linkage, radius=value),
    "arm-angle": lambda linkage, value: _arm(linkage, angle=value),
    "horn": lambda linkage, value: _horn(linkage, radius=value),
    "horn-offset": lambda linkage, value: _horn(linkage, offset=value),
    "horn-angle": lambda linkage, value: _horn(linkage, angle=value),
    "pivots": lambda linkage, value: replace(linkage, pivots=value),
    "rod": _rod,
    "low": lambda linkage, value: _travel(linkage, low=value),
    "mid": lambda linkage, value: _travel(linkage, mid=value),
    "high": lambda linkage, value: _travel(linkage, high=value),
    "end-1": lambda linkage, value: _turn(linkage, 0, value),
    "end-2": lambda linkage, value: _turn(linkage, 1, value),
}
UNITS = {"arm-angle": "degrees", "horn-angle": "degrees", "low": "µs", "mid": "µs", "high": "µs"}
UNITS |= {"end-1": "turns", "end-2": "turns"}
#: Changes that say what the rod is.
ROD_KEYS = ("rod", "end-1", "end-2")


def _turn(linkage: Linkage, number: int, turns: Decimal) -> Linkage:
    """One end turned out by so many turns: the rod grows, the thread inside it shrinks."""
    end = linkage.rod.ends[number]
    change = change_of_turns(end, float(turns))
    if change is None or linkage.rod.pin_to_pin is None:
        return linkage
    grown = Decimal(str(round(change, 6)))
    engaged = None if end.engagement is None else end.engagement - grown
    ends = list(linkage.rod.ends)
    ends[number] = replace(end, engagement=engaged)
    rod = replace(linkage.rod, pin_to_pin=linkage.rod.pin_to_pin + grown, ends=(ends[0], ends[1]))
    return replace(linkage, rod=rod)


def change_linkage(linkage: Linkage, changes: tuple[tuple[str, Decimal], ...]) -> Linkage:
    """The linkage with every change made, in the order given."""
    for key, value in changes:
        linkage = CHANGES[key](linkage, value)
    return linkage


def figure_of(linkage: Linkage, key: str) -> float | None:
    """What a change replaces; None when it is not stated. Turns count from 0."""
    figures: dict[str, Decimal | None] = {
        "arm": linkage.arm.radius,
        "arm-angle": linkage.arm.angle,
        "horn": linkage.horn.radius,
        "horn-offset": linkage.horn.offset,
        "horn-angle": linkage.horn.angle,
        "pivots": linkage.pivots,
        "rod": linkage.rod.pin_to_pin,
        "low": linkage.travel.low,
        "mid": linkage.travel.mid,
        "high": linkage.travel.high,
        "end-1": Decimal(0),
        "end-2": Decimal(0),
    }
    value = figures[key]
    return None if value is None else float(value)


def keep_neutral(linkage: Linkage, surface: Surface, deflection: float) -> Linkage:
    """The linkage with the rod that leaves neutral at a deflection, degrees from flush."""
    drive = build_drive(_rod(linkage, None), surface)
    if not isinstance(drive, Drive):
        return linkage
    bar = drive.bar
    length = rod_between(
        bar.arm, drive.neutral.arm_angle, bar.horn, drive.horn_of(deflection), bar.pivots
    )
    return _rod(linkage, Decimal(str(round(length, 6))))
