"""Outlines: closed shapes in millimetres, read from lists of points, and what is wrong with them.

    outline:
      length: 2150
      span: 1980
      nose_at: 0
      plan: {fuselage: [[0, 0], [300, 70], ...], wing: [[620, 80], ...]}
      side: {fuselage: [[0, 0], ...], fin: [...]}

All in millimetres: x from the nose aft, y to the right, z up, the nose on the centre line
being the origin. A shape of the plan that is drawn on one side only is drawn on both.
"""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from register.records.fields import Fields
from register.records.polygons import Point, Polygon, box_of, find_crossing, is_flat
from register.text.nodes import Node, Scalar, Sequence
from register.trouble import Place

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
        check_extent(inner, outline, shape, plan=True)
    for shape in outline.side:
        check_extent(inner, outline, shape, plan=False)
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
        points = read_points(fields, key, node)
        return (Shape(key, points, node.place),) if points else ()
    inner = fields.mapping(key)
    found = []
    for entry in inner.node.entries if inner is not None else ():
        points = read_points(fields, entry.key, entry.value)
        if points:
            found.append(Shape(entry.key, points, entry.value.place))
    return tuple(found)


def read_points(fields: Fields, key: str, node: Node) -> Polygon:
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


def check_extent(fields: Fields, outline: Outline, shape: Shape, *, plan: bool) -> None:
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
