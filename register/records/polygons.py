"""Closed outlines of straight lines in millimetres: do they cross, how wide are they where.

Elementary plane geometry; floats suffice, since outlines are drawn to the millimetre.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
Polygon: TypeAlias = tuple[Point, ...]
Box: TypeAlias = tuple[float, float, float, float]


def find_crossing(points: Sequence[Point]) -> tuple[int, int] | None:
    """Numbers (from 0) of the first two sides that cross or touch but at a shared corner.

    Side n runs from point n to the next; the last one closes the outline. Every pair of
    sides is compared.
    """
    count = len(points)
    sides = [(points[n], points[(n + 1) % count]) for n in range(count)]
    for one in range(count):
        for two in range(one + 1, count):
            if _are_neighbours(one, two, count):
                if _folds_back(sides[one], sides[two]):
                    return one, two
            elif _meet(*sides[one], *sides[two]):
                return one, two
    return None


def _are_neighbours(one: int, two: int, count: int) -> bool:
    return two - one == 1 or (one == 0 and two == count - 1)


def _folds_back(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    """Two sides with a shared corner that lie on each other."""
    shared = one[1] if one[1] == two[0] else one[0]
    a = one[0] if shared == one[1] else one[1]
    b = two[1] if shared == two[0] else two[0]
    along = (a[0] - shared[0]) * (b[0] - shared[0]) + (a[1] - shared[1]) * (b[1] - shared[1])
    return _turn(shared, a, b) == 0 and along > 0


def _turn(a: Point, b: Point, c: Point) -> float:
    """Above zero for a turn one way, below for the other, zero on a line."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    one, two = _turn(a, b, c), _turn(a, b, d)
    three, four = _turn(c, d, a), _turn(c, d, b)
    if (one > 0) != (two > 0) and (three > 0) != (four > 0) and 0 not in (one, two, three, four):
        return True
    return any(
        turn == 0 and _between(p, q, r)
        for turn, p, q, r in ((one, a, b, c), (two, a, b, d), (three, c, d, a), (four, c, d, b))
    )


def _between(a: Point, b: Point, c: Point) -> bool:
    """Whether c, on the line through a and b, lies from a to b."""
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def is_flat(points: Sequence[Point]) -> bool:
    """Whether all points lie on one line."""
    return all(_turn(points[0], points[n], points[n + 1]) == 0 for n in range(1, len(points) - 1))


def box_of(polygons: Iterable[Sequence[Point]]) -> Box | None:
    """Least and greatest of both directions: (left, low, right, high); None without points."""
    points = [point for polygon in polygons for point in polygon]
    if not points:
        return None
    first, second = [x for x, _ in points], [v for _, v in points]
    return min(first), min(second), max(first), max(second)


def cut_across(points: Sequence[Point], at: float) -> tuple[float, float] | None:
    """Where the outline begins and ends along the first direction, at `at` of the second.

    None where it does not reach so far.
    """
    found: list[float] = []
    for (x1, v1), (x2, v2) in zip(points, (*points[1:], points[0]), strict=True):
        if min(v1, v2) <= at <= max(v1, v2):
            if v1 == v2:
                found.extend((x1, x2))
            else:
                found.append(x1 + (x2 - x1) * (at - v1) / (v2 - v1))
    return (min(found), max(found)) if found else None


def cut_along(points: Sequence[Point], at: float) -> tuple[float, float] | None:
    """Where the outline begins and ends along the second direction, at `at` of the first."""
    return cut_across([(v, x) for x, v in points], at)


def middle_of(points: Sequence[Point]) -> Point:
    """A point inside: the middle of the widest stretch that lies inside at half the height."""
    box = box_of([points])
    if box is None:
        raise ValueError("no points")
    half = (box[1] + box[3]) / 2
    ends = sorted(
        x1 + (x2 - x1) * (half - v1) / (v2 - v1)
        for (x1, v1), (x2, v2) in zip(points, (*points[1:], points[0]), strict=True)
        if (v1 > half) != (v2 > half)
    )
    # Going along, every crossing changes between outside and inside.
    stretches = list(zip(ends[::2], ends[1::2], strict=True))
    first, last = max(stretches, key=lambda ends: ends[1] - ends[0], default=(box[0], box[2]))
    return (first + last) / 2, half


def is_inside(points: Sequence[Point], point: Point, slack: float = 0.5) -> bool:
    """Whether a point lies in the outline or within `slack` millimetres of its cuts."""
    x, v = point
    inside = False
    for (x1, v1), (x2, v2) in zip(points, (*points[1:], points[0]), strict=True):
        if (v1 > v) != (v2 > v) and x < x1 + (x2 - x1) * (v - v1) / (v2 - v1):
            inside = not inside
    if inside:
        return True
    across, along = cut_across(points, v), cut_along(points, x)
    return any(
        cut is not None and min(abs(value - cut[0]), abs(value - cut[1])) <= slack
        for cut, value in ((across, x), (along, v))
    )


def mirror_plan(points: Polygon) -> tuple[Polygon, ...]:
    """A shape seen from above, on both sides.

    One drawn on one side only is drawn on the other as well; where its first and last
    points lie on the centre line, the halves make one shape. One that crosses the centre
    line stays as it is.
    """
    sides = [y for _, y in points]
    if min(sides) < 0 < max(sides):
        return (points,)
    other = flip_plan(points)
    if points[0][1] == points[-1][1] == 0:
        return (points + tuple(reversed(other[1:-1])),)
    return points, other


def flip_plan(points: Polygon) -> Polygon:
    """The same shape on the other side of the centre line."""
    return tuple((x, -y) for x, y in points)
