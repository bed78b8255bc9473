"""Numbered badges beside the points they name: none on another, each with a line to its point.

A greedy search: badge by badge, the nearest free place round the point that crosses no line
drawn so far; where there is none, the nearest free place at all; where the frame is full, a
row below it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from register.records.polygons import Point

_ANGLES = 16
_GAP = 2.0


class Frame(Struct, frozen=True):
    """Where badges may lie, their centres included: left, top, right, bottom."""

    left: float
    top: float
    right: float
    bottom: float


class Badge(Struct, frozen=True):
    """A badge's centre, and the point it names."""

    at: Point
    point: Point


def place_badges(
    points: Sequence[Point], radius: float, frame: Frame, reach: float
) -> tuple[tuple[Badge, ...], float]:
    """A badge for each point, in order, and the lowest edge they need.

    `reach` is how far a badge's edge stays from its own point. No two badges overlap, and
    none covers a point.
    """
    placed: list[Badge] = []
    for point in points:
        placed.append(Badge(_find_place(point, points, placed, radius, frame, reach), point))
    lowest = max([frame.bottom, *(badge.at[1] for badge in placed)])
    return tuple(placed), lowest


def _find_place(
    point: Point,
    points: Sequence[Point],
    placed: list[Badge],
    radius: float,
    frame: Frame,
    reach: float,
) -> Point:
    centre = ((frame.left + frame.right) / 2, (frame.top + frame.bottom) / 2)
    outward = math.atan2(point[1] - centre[1], point[0] - centre[0])
    nearest: Point | None = None
    distance = radius + reach
    longest = math.hypot(frame.right - frame.left, frame.bottom - frame.top)
    while distance < longest:
        for step in range(_ANGLES):
            turn = ((step + 1) // 2) * (1 if step % 2 else -1)
            angle = outward + turn * 2 * math.pi / _ANGLES
            at = (point[0] + distance * math.cos(angle), point[1] + distance * math.sin(angle))
            if not _is_free(at, points, placed, radius, frame):
                continue
            if not _is_crossed(at, point, placed, radius):
                return at
            nearest = nearest or at
        if nearest is not None and distance > radius + reach + 6 * radius:
            return nearest
        distance += radius * 0.7
    return nearest or _below(placed, radius, frame)


def _is_free(
    at: Point, points: Sequence[Point], placed: list[Badge], radius: float, frame: Frame
) -> bool:
    if not (frame.left <= at[0] <= frame.right and frame.top <= at[1] <= frame.bottom):
        return False
    if any(math.dist(at, badge.at) < 2 * radius + _GAP for badge in placed):
        return False
    return all(math.dist(at, point) >= radius + _GAP for point in points)


def _is_crossed(at: Point, point: Point, placed: list[Badge], radius: float) -> bool:
    """Whether the line from point to badge meets another line or badge, or is met by one."""
    return any(
        _distance(badge.at, at, point) < radius + 1
        or _distance(at, badge.at, badge.point) < radius + 1
        or (badge.point != point and _cross(at, point, badge.at, badge.point))
        for badge in placed
    )


def _distance(of: Point, a: Point, b: Point) -> float:
    """From a point to a stretch of a line."""
    length = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    if length == 0:
        return math.dist(of, a)
    share = ((of[0] - a[0]) * (b[0] - a[0]) + (of[1] - a[1]) * (b[1] - a[1])) / length
    share = min(max(share, 0.0), 1.0)
    return math.dist(of, (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def turn(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def _below(placed: list[Badge], radius: float, frame: Frame) -> Point:
    """The next place in rows under the frame, from the left."""
    step = 2 * radius + _GAP
    across = max(int((frame.right - frame.left) / step), 1)
    taken = sum(badge.at[1] > frame.bottom for badge in placed)
    row, column = divmod(taken, across)
    return frame.left + column * step, frame.bottom + (row + 1) * step
