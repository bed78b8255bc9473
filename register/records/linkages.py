"""Linkages as built: servo arm, rod with its ends, horn, and the servo's travel.

    linkages:
      aileron-left:
        surface: aileron-left
        servo: aileron-servo-left          # a position; one servo may drive several linkages
        arm: {radius: 20, hole: "2", holes: {"1": 16, "2": 20}, side: top, angle: 90,
              at_pulse: 1500}
        horn: {radius: 18, offset: 0, angle: 90, side: top}
        pivots: 62                          # mm, servo shaft to hinge line
        rod: {pin_to_pin: 61.8, cut: 44, thread: M3, hands: [right, right], engagement: [8, 7.5],
              fittings: [17, 16], ends: [ball-link, clevis], forked: [false, true]}
        manual_rod: {length: 62, means: not-stated}
        travel: {degrees_per_us: 0.1, low: 1000, mid: 1500, high: 2000}
        torque: {value: 2.4, unit: N·m, at_volts: 7.4, basis: {…}}

Angles are those between arm (or horn) and the line from the servo's shaft to the hinge, with
the surface flush for the horn and at `at_pulse` for the arm.
"""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from register.records.fields import Fields
from register.records.lengths import read_angle, read_length, read_positive
from register.records.rods import ManualRod, Rod, read_manual_rod, read_rod
from register.records.scalars import nearest
from register.records.values import Basis
from register.text.nodes import Mapping
from register.trouble import Place

SIDES = ("top", "bottom", "left", "right")
#: Newton metres in one of each. 9.80665 m/s² is the standard acceleration of free fall, an
#: ounce-force inch follows from the pound of 0.45359237 kg and the inch of 25.4 mm.
TORQUE_UNITS = {
    "N·m": Decimal(1),
    "N·cm": Decimal("0.01"),
    "kg·cm": Decimal("0.0980665"),
    "oz·in": Decimal("0.00706155"),
}
_KEYS = (
    *("surface", "servo", "arm", "horn", "pivots", "rod", "manual_rod", "travel", "torque"),
    *("servo_sits", "servo_on", "title"),
)


class Arm(Struct, frozen=True):
    """A servo arm: radius to the hole, and its angle at a stated pulse (µs)."""

    radius: Decimal | None
    hole: str | None
    holes: tuple[tuple[str, Decimal], ...]
    side: str
    angle: Decimal | None
    at_pulse: Decimal | None


class Horn(Struct, frozen=True):
    """A horn: its hole's height over the hinge line, and its offset towards the servo (+)."""

    radius: Decimal | None
    offset: Decimal | None
    angle: Decimal | None
    side: str


class Travel(Struct, frozen=True):
    """What the servo does: degrees for a µs (below zero: a longer pulse turns it clockwise),
    and its end points. `closed` and `open` are those of a surface that moves one way.
    """

    degrees_per_us: Decimal | None
    low: Decimal | None
    mid: Decimal | None
    high: Decimal | None
    closed: Decimal | None
    open: Decimal | None


class ServoTorque(Struct, frozen=True):
    """A servo's torque in newton metres, at a voltage."""

    newton_metres: Decimal
    value: Decimal
    unit: str
    at_volts: Decimal | None
    basis: Basis


class Linkage(Struct, frozen=True):
    """One linkage. `servo_on` names the moving surface that its servo rides on."""

    name: str
    surface: str
    servo: str | None
    servo_behind: bool
    servo_on: str | None
    arm: Arm
    horn: Horn
    pivots: Decimal | None
    rod: Rod
    manual_rod: ManualRod | None
    travel: Travel
    torque: ServoTorque | None
    place: Place


def read_linkages(fields: Fields) -> dict[str, Linkage]:
    """The linkages of a kit or aircraft, by name; what is wrong is reported."""
    section = fields.mapping("linkages")
    if section is None:
        return {}
    surfaces = fields.node.get("surfaces")
    names = [item.key.lower() for item in surfaces.entries] if isinstance(surfaces, Mapping) else []
    found = {}
    for entry in section.node.entries:
        inner = section.mapping(entry.key)
        if inner is not None:
            name = entry.key.strip().lower()
            found[name] = _read_linkage(inner, name, entry.key_place, names)
    return found


def _read_linkage(fields: Fields, name: str, place: Place, surfaces: list[str]) -> Linkage:
    surface = (fields.text("surface") or name).strip().lower()
    _known_surface(fields, "surface", surface, surfaces, place)
    servo_on = fields.text("servo_on")
    if servo_on:
        servo_on = servo_on.strip().lower()
        _known_surface(fields, "servo_on", servo_on, surfaces, place)
    arm = _read_arm(_inner(fields, "arm"))
    servo = fields.text("servo")
    linkage = Linkage(
        name,
        surface,
        servo.strip().lower() if servo else None,
        fields.choice("servo_sits", ("ahead", "behind"), "ahead") == "behind",
        servo_on or None,
        arm,
        _read_horn(_inner(fields, "horn"), arm.side),
        read_positive(fields, "pivots"),
        read_rod(_inner(fields, "rod")),
        read_manual_rod(fields),
        _read_travel(_inner(fields, "travel")),
        _read_torque(fields),
        place,
    )
    fields.odd_keys(_KEYS)
    return linkage


def _inner(fields: Fields, key: str) -> Fields:
    """The mapping under a key; an absent one reads as empty."""
    return fields.mapping(key) or Fields(Mapping(fields.node.place, ()), fields.problems)


def _known_surface(fields: Fields, key: str, name: str, surfaces: list[str], place: Place) -> None:
    if name in surfaces:
        return
    node = fields.node.get(key)
    guess = nearest(name, surfaces)
    fields.report(
        node.place if node is not None else place,
        "surface-unknown",
        f"{key}: {name!r} is not a surface of this aircraft",
        f'write  {key}: "{guess}"' if guess else f"add  {name}:  under surfaces",
    )


def _read_arm(fields: Fields) -> Arm:
    holes = []
    inner = fields.mapping("holes")
    for entry in inner.node.entries if inner is not None else ():
        value = read_positive(inner, entry.key) if inner is not None else None
        if value is not None:
            holes.append((entry.key, value))
    hole = fields.text("hole")
    radius = read_positive(fields, "radius")
    named = dict(holes).get(hole or "")
    arm = Arm(
        radius if radius is not None else named,
        hole,
        tuple(holes),
        fields.choice("side", SIDES, "top") or "top",
        read_angle(fields, "angle", negative=True),
        fields.amount("at_pulse"),
    )
    if radius is not None and named is not None and radius != named:
        fields.report(
            fields.place("radius"),
            "hole-radius",
            f"radius: {radius} mm, but hole {hole} stands at {named} mm in holes",
            f"write  radius: {named}  or name another hole",
        )
    fields.odd_keys(("radius", "hole", "holes", "side", "angle", "at_pulse"))
    return arm


def _read_horn(fields: Fields, side: str) -> Horn:
    horn = Horn(
        read_positive(fields, "radius"),
        read_length(fields, "offset", negative=True),
        read_angle(fields, "angle", negative=True),
        fields.choice("side", SIDES, side) or side,
    )
    fields.odd_keys(("radius", "offset", "angle", "side"))
    return horn


def _read_travel(fields: Fields) -> Travel:
    rate = fields.amount("degrees_per_us", negative=True)
    low, mid, high = (fields.amount(key) for key in ("low", "mid", "high"))
    if low is not None and high is not None and low >= high:
        fields.report(
            fields.place("low"),
            "number-wrong",
            f"low: a pulse of {low} µs is not under the high one of {high} µs",
            f"write  low: {high}  and  high: {low}",
        )
        low = high = None
    travel = Travel(
        None if rate == 0 else rate, low, mid, high, fields.amount("closed"), fields.amount("open")
    )
    fields.odd_keys(("degrees_per_us", "low", "mid", "high", "closed", "open"))
    return travel


def _read_torque(fields: Fields) -> ServoTorque | None:
    inner = fields.mapping("torque")
    if inner is None:
        return None
    value, unit = inner.amount("value"), inner.text("unit")
    by_letters = {"".join(filter(str.isalpha, name.lower())): name for name in TORQUE_UNITS}
    name = by_letters.get("".join(filter(str.isalpha, (unit or "").lower())))
    if name is None:
        inner.report(
            inner.place("unit"),
            "units-mixed",
            f"unit: {unit or 'none'!r} is not a unit of torque ({', '.join(TORQUE_UNITS)})",
            'write  unit: "N·m"',
        )
        return None
    volts, basis = inner.amount("at_volts"), inner.basis()
    inner.odd_keys(("value", "unit", "at_volts", "basis"))
    if not value:
        return None
    return ServoTorque(value * TORQUE_UNITS[name], value, name, volts, basis)
