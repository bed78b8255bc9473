"""Zones of an aircraft: what damage is placed on.

    zones:
      left-wing: {title: "Left wing", number: "500", hand: left, plan: [[x, y], ...],
                  side: [[x, z], ...], holds: [aileron-servo-left], colour: upper}
      right-wing: {title: "Right wing", number: "600", mirrors: left-wing}

Points as in an outline (see outlines.py).
"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from register.records.fields import Fields
from register.records.outlines import Shape, check_extent, read_outline, read_points
from register.records.polygons import Polygon, flip_plan, mirror_plan
from register.records.scalars import nearest
from register.records.workshop_bodies import HANDS
from register.trouble import Place

#: Zone numbers by their first digit, as airlines' ATA 100 lists group them. An owner may
#: number zones in any way; a hand that contradicts its number is pointed out.
ZONE_GROUPS = {
    "1": "Fuselage, lower",
    "2": "Fuselage, upper",
    "3": "Tail",
    "4": "Powerplant",
    "5": "Left wing",
    "6": "Right wing",
    "7": "Landing gear",
    "8": "Doors",
}
_HAND_OF_GROUP = {"5": "left", "6": "right"}


class Zone(Struct, frozen=True):
    """One part of the airframe. `directions` are what a place is measured from in it, in order.

    `number` is the owner's or the ATA 100 style number; `colour` names one of the colours.
    """

    name: str
    title: str
    number: str | None
    hand: str
    plan: Polygon
    side: Polygon
    holds: tuple[str, ...]
    colour: str | None
    directions: tuple[str, ...]
    mirrors: str | None
    place: Place


def read_zones(fields: Fields) -> dict[str, Zone]:
    """The section `zones`, in the order written; those that mirror another have its geometry."""
    inner = fields.mapping("zones")
    found: dict[str, Zone] = {}
    for entry in inner.node.entries if inner is not None else ():
        item = inner.mapping(entry.key) if inner is not None else None
        if item is not None:
            found[entry.key.lower()] = _read_zone(item, entry.key.lower(), entry.key_place)
    outline = read_outline(Fields(fields.node, []))
    for name, zone in found.items():
        found[name] = _mirrored(fields, found, zone)
        _check_number(fields, found[name])
        if outline is not None:
            for points, plan in ((zone.plan, True), (zone.side, False)):
                if points:
                    shape = Shape(name, points, zone.place)
                    check_extent(fields, outline, shape, plan=plan)
    return found


def _read_zone(fields: Fields, name: str, place: Place) -> Zone:
    plan, side = fields.raw("plan"), fields.raw("side")
    colour = fields.text("colour")
    number = fields.scalar("number")
    hand = fields.choice("hand", HANDS, "none") or "none"
    zone = Zone(
        name,
        fields.text("title") or _default_title(name, number.text if number is not None else ""),
        number.text if number is not None else None,
        hand,
        _whole(read_points(fields, "plan", plan) if plan is not None else (), hand),
        read_points(fields, "side", side) if side is not None else (),
        tuple(word.lower() for word in fields.texts("holds")),
        colour.strip().lower() if colour else None,
        fields.texts("measured_from"),
        fields.text("mirrors"),
        place,
    )
    fields.odd_keys(())
    return zone


def _default_title(name: str, number: str) -> str:
    """A zone without a title is called by its name, or by its number's group if named so."""
    group = ZONE_GROUPS.get(number[:1]) if len(number) == 3 and number.isdigit() else None
    return group if group is not None and name == number else name.replace("-", " ")


def _check_number(fields: Fields, zone: Zone) -> None:
    number = zone.number or ""
    hand = _HAND_OF_GROUP.get(number[:1]) if len(number) == 3 and number.isdigit() else None
    if hand is not None and zone.hand in ("left", "right") and zone.hand != hand:
        group = ZONE_GROUPS[number[0]]
        fields.report(
            zone.place,
            "zone-number-odd",
            f"{zone.name}: is on the {zone.hand}, and {number} is usually the {group.lower()}",
            f"write  hand: {hand}   or another number",
            "warning",
        )


def _whole(points: Polygon, hand: str) -> Polygon:
    """A zone of both sides may be drawn by half, from the centre line round to it."""
    if not points or hand in ("left", "right"):
        return points
    shapes = mirror_plan(points)
    return shapes[0] if len(shapes) == 1 else points


def _mirrored(fields: Fields, zones: dict[str, Zone], zone: Zone) -> Zone:
    if zone.mirrors is None:
        return zone
    other = zones.get(zone.mirrors.strip().lower())
    if other is None or other.mirrors is not None or other.name == zone.name:
        rest = [name for name, item in zones.items() if item.mirrors is None]
        guess = nearest(zone.mirrors, rest) or next(iter(rest), None)
        fields.report(
            zone.place,
            "zone-not-listed",
            f"{zone.name}: mirrors {zone.mirrors!r}, which is no zone with an outline of its own",
            f"write  mirrors: {guess}" if guess else "give it plan: and side: of its own",
        )
        return zone
    hand = {"left": "right", "right": "left"}.get(other.hand, other.hand)
    return replace(
        zone,
        hand=zone.hand if zone.hand != "none" else hand,
        plan=zone.plan or flip_plan(other.plan),
        side=zone.side or other.side,
        colour=zone.colour or other.colour,
        directions=zone.directions or other.directions,
    )
