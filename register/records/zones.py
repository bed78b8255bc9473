"""Outlines, zones and colours of an aircraft: what damage is placed on and drawn over.

    outline:
      length: 2150
      span: 1980
      nose_at: 0
      plan: {fuselage: [[0, 0], [300, 70], ...], wing: [[620, 80], ...]}
      side: {fuselage: [[0, 0], ...], fin: [...]}
    zones:
      left-wing: {title: "Left wing", number: "500", hand: left, plan: [[x, y], ...],
                  side: [[x, z], ...], holds: [aileron-servo-left], colour: upper}
      right-wing: {title: "Right wing", number: "600", mirrors: left-wing}
    colours:
      upper: "light grey, two-pack"
      lower: {paint: "white, two-pack", code: "W 21"}

All in millimetres: x from the nose aft, y to the right, z up, the nose on the centre line
being the origin. A shape of the plan that is drawn on one side only is drawn on both.
"""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.records.fields import Fields
from register.records.polygons import (
    Point,
    Polygon,
    box_of,
    find_crossing,
    flip_plan,
    is_flat,
    mirror_plan,
)
from register.records.scalars import nearest
from register.records.workshop_bodies import HANDS
from register.text.nodes import Mapping, Node, Scalar, Sequence
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
LEAST_POINTS = 3
#: More points than a drawing on a telephone can show; comparing their sides takes its time.
MOST_POINTS = 300
#: An aircraft of this trade is between these lengths and spans, in millimetres.
LEAST_SIZE, MOST_SIZE = Decimal(300), Decimal(20_000)
#: A point may lie so far outside the stated length and span (a probe, a rounded span).
_BEYOND = 0.08
#: So many times too large or too small is another unit, not a slip of the ruler.
_OTHER_UNIT = 3.0


class Shape(Struct, frozen=True):
    """One closed outline, and where it stands."""

    name: str
    points: Polygon
    place: Place


class Outline(Struct, frozen=True):
    """The silhouette of an aircraft from above and from the left. Lengths None: not stated."""

    length: Decimal | None
    span: Decimal | None
    nose_at: Decimal
    plan: tuple[Shape, ...]
    side: tuple[Shape, ...]
    place: Place


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


class Paint(Struct, frozen=True):
    """A colour of the aircraft: its paint in words, and the code on the tin."""

    name: str
    paint: str
    code: str | None
    place: Place

    @property
    def text(self) -> str:
        """For touching up: paint and code."""
        return f"{self.paint} ({self.code})" if self.code else self.paint


def read_outline(fields: Fields) -> Outline | None:
    """The section `outline`; None when there is none."""
    inner = fields.mapping("outline")
    if inner is None:
        return None
    length, span = _read_size(inner, "length"), _read_size(inner, "span")
    nose = inner.amount("nose_at", negative=True)
    outline = Outline(
        length,
        span,
        Decimal(0) if nose is None else nose,
        _read_shapes(inner, "plan"),
        _read_shapes(inner, "side"),
        inner.node.place,
    )
    inner.odd_keys(())
    for shape in outline.plan:
        _check_extent(inner, outline, shape, plan=True)
    for shape in outline.side:
        _check_extent(inner, outline, shape, plan=False)
    return outline


def _read_size(fields: Fields, key: str) -> Decimal | None:
    """A length or span that an aircraft of this trade can have."""
    node = fields.scalar(key)
    if node is None or _has_unit(fields, key, node):
        return None
    value = fields.amount(key)
    if value is None or LEAST_SIZE <= value <= MOST_SIZE:
        return value
    for factor, unit in ((1000, "metres"), (10, "centimetres"), (Decimal("25.4"), "inches")):
        if LEAST_SIZE <= value * factor <= MOST_SIZE:
            fields.report(
                node.place,
                "units-mixed",
                f"{key}: {node.text} is not a likely length in millimetres; it looks like {unit}",
                f"write  {key}: {round(value * factor)}   (every length here is in mm)",
            )
            return None
    fields.report(
        node.place,
        "units-mixed",
        f"{key}: {node.text} mm is not a likely size of an aircraft",
        f"write it in millimetres, for example  {key}: 2100",
    )
    return None


def _has_unit(fields: Fields, key: str, node: Scalar) -> bool:
    text = node.text.strip().rstrip(".")
    if not text or not text[-1].isalpha() or not text[0].isdigit():
        return False
    fields.report(
        node.place,
        "units-mixed",
        f"{key}: {node.text[:20]!r} carries a unit; every length here is in millimetres",
        f"write the number alone, in mm, for example  {key}: 620",
    )
    return True


def _read_shapes(fields: Fields, key: str) -> tuple[Shape, ...]:
    """Named shapes; a bare list of points is one shape."""
    node = fields.raw(key)
    if isinstance(node, Sequence):
        points = _read_points(fields, key, node)
        return (Shape(key, points, node.place),) if points else ()
    inner = fields.mapping(key)
    found = []
    for entry in inner.node.entries if inner is not None else ():
        points = _read_points(fields, entry.key, entry.value)
        if points:
            found.append(Shape(entry.key, points, entry.value.place))
    return tuple(found)


def _read_points(fields: Fields, key: str, node: Node) -> Polygon:
    """A closed outline; nothing where it is no outline."""
    if not isinstance(node, Sequence):
        fields.report(
            node.place,
            "point-wrong",
            f"{key}: a list of points is wanted here",
            f"write  {key}: [[620, 90], [900, 980], [1100, 90]]",
        )
        return ()
    points = []
    for item in node.items:
        point = _read_point(fields, key, item)
        if point is None:
            return ()
        points.append(point)
    if len(points) > 1 and points[0] == points[-1]:
        # Closed by hand: the last side is drawn without it.
        points.pop()
    return _check_shape(fields, key, node, tuple(points))


def _read_point(fields: Fields, key: str, node: Node) -> Point | None:
    if isinstance(node, Sequence) and len(node.items) == 2:
        scalars = [item for item in node.items if isinstance(item, Scalar)]
        if any(_has_unit(fields, key, item) for item in scalars):
            return None
        numbers = []
        for item in scalars:
            try:
                number = float(item.text)
            except ValueError:
                break
            if not abs(number) <= float(MOST_SIZE):
                break
            numbers.append(number)
        if len(numbers) == 2:
            return numbers[0], numbers[1]
    fields.report(
        node.place,
        "point-wrong",
        f"{key}: a point is two numbers in millimetres: from the nose, and sideways or up",
        "write  [620, 90]",
    )
    return None


def _check_shape(fields: Fields, key: str, node: Node, points: Polygon) -> Polygon:
    if len(points) < LEAST_POINTS:
        fields.report(
            node.place,
            "outline-short",
            f"{key}: {len(points)} point{'' if len(points) == 1 else 's'}; an outline needs "
            f"{LEAST_POINTS} or more",
            "add the other corners in order round the outline",
        )
        return ()
    if len(points) > MOST_POINTS:
        fields.report(
            node.place,
            "outline-many",
            f"{key}: {len(points)} points; at most {MOST_POINTS} are read",
            "leave points out where the line is nearly straight",
        )
        return ()
    if is_flat(points):
        fields.report(
            node.place,
            "outline-flat",
            f"{key}: the points lie on one line and enclose nothing",
            "give corners that go round the outline",
        )
        return ()
    crossing = find_crossing(points)
    if crossing is not None:
        one, two = crossing
        fields.report(
            node.place,
            "outline-crosses",
            f"{key}: the side after point {one + 1} {_tell(points[one])} and the side after point "
            f"{two + 1} {_tell(points[two])} cross or touch",
            "list the corners in order, once round the outline",
        )
        return ()
    return points


def _tell(point: Point) -> str:
    return f"[{point[0]:g}, {point[1]:g}]"


def _check_extent(fields: Fields, outline: Outline, shape: Shape, *, plan: bool) -> None:
    """A shape against the stated length and span: another unit, or a point out of place."""
    box = box_of([shape.points])
    if box is None:
        return
    pairs = []
    if outline.length is not None:
        nose = float(outline.nose_at)
        pairs.append(("length", float(outline.length), max(box[2] - nose, nose - box[0])))
    if outline.span is not None and plan:
        pairs.append(("span", float(outline.span), 2 * max(-box[1], box[3])))
    for word, stated, reached in pairs:
        if reached <= stated * (1 + _BEYOND):
            continue
        if reached >= stated * _OTHER_UNIT:
            fields.report(
                shape.place,
                "units-mixed",
                f"{shape.name}: reaches {reached:.0f} where the {word} is {stated:.0f}; these are "
                "two units",
                f"write points and {word} both in millimetres",
            )
        else:
            fields.report(
                shape.place,
                "point-beyond",
                f"{shape.name}: reaches {reached:.0f} mm where the {word} is {stated:.0f} mm",
                f"correct the points, or the {word}",
                "warning",
            )
        return


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
                    _check_extent(fields, outline, shape, plan=plan)
    _check_holds(fields, found)
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
        _whole(_read_points(fields, "plan", plan) if plan is not None else (), hand),
        _read_points(fields, "side", side) if side is not None else (),
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


#: Sections whose entries a zone may hold.
_HELD = ("positions", "joints", "surfaces", "linkages", "lines", "access")


def _check_holds(fields: Fields, zones: dict[str, Zone]) -> None:
    known = {
        entry.key.lower()
        for key in _HELD
        if isinstance(node := fields.node.get(key), Mapping)
        for entry in node.entries
    }
    for zone in zones.values():
        for word in zone.holds:
            if known and word not in known:
                guess = nearest(word, known)
                fields.report(
                    zone.place,
                    "holds-unknown",
                    f"{zone.name}: holds {word!r}, which is no position, joint, surface or line",
                    f"write  {guess}  there" if guess else "add it, or take it out of holds",
                    "warning",
                )


def read_colours(fields: Fields) -> dict[str, Paint]:
    """The section `colours`: names of the owner's own, each with its paint."""
    inner = fields.mapping("colours")
    found: dict[str, Paint] = {}
    for entry in inner.node.entries if inner is not None else ():
        name = entry.key.lower()
        if inner is None or not isinstance(entry.value, Mapping):
            paint = inner.text(entry.key) if inner is not None else None
            if paint:
                found[name] = Paint(name, paint, None, entry.key_place)
            continue
        item = inner.mapping(entry.key)
        paint = item.text("paint", required='"light grey, two-pack"') if item else None
        if item is not None and paint:
            code = item.scalar("code")
            found[name] = Paint(name, paint, code.text if code else None, entry.key_place)
            item.odd_keys(())
    return found
