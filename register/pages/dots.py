"""Line drawings in a terminal: dots in Braille cells, or plain ASCII signs instead.

A cell of a terminal is about twice as high as wide, and a Braille cell has two dots across
and four down, so that dots are evenly spaced.
"""

from __future__ import annotations

from collections.abc import Sequence

from register.records.polygons import Point

ACROSS, DOWN = 2, 4
#: Bits of a Braille cell by column and row (Unicode, block U+2800).
_BITS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))
_BRAILLE = 0x2800


class Dots:
    """A field of dots, `columns` by `rows` cells; what lies outside is not drawn."""

    def __init__(self, columns: int, rows: int):
        self.columns = columns
        self.rows = rows
        self._cells = [[0] * columns for _ in range(rows)]

    def dot(self, x: int, y: int) -> None:
        """One dot, counted from the top left."""
        if 0 <= x < self.columns * ACROSS and 0 <= y < self.rows * DOWN:
            self._cells[y // DOWN][x // ACROSS] |= _BITS[x % ACROSS][y % DOWN]

    def line(self, start: Point, end: Point) -> None:
        """Dots along a straight line."""
        steps = int(max(abs(end[0] - start[0]), abs(end[1] - start[1]))) + 1
        for step in range(steps + 1):
            share = step / steps
            self.dot(
                round(start[0] + (end[0] - start[0]) * share),
                round(start[1] + (end[1] - start[1]) * share),
            )

    def outline(self, points: Sequence[Point]) -> None:
        """A closed line."""
        for start, end in zip(points, (*points[1:], points[0]), strict=True):
            self.line(start, end)

    def render(self, *, ascii_only: bool) -> list[list[str]]:
        """The cells, one sign each; an empty one is a space."""
        sign = _ascii_sign if ascii_only else _braille_sign
        return [[sign(cell) for cell in row] for row in self._cells]


def _braille_sign(cell: int) -> str:
    return chr(_BRAILLE + cell) if cell else " "


def _ascii_sign(cell: int) -> str:
    """The plain sign most like the dots of a cell."""
    if not cell:
        return " "
    left = [row for row in range(DOWN) if cell & _BITS[0][row]]
    right = [row for row in range(DOWN) if cell & _BITS[1][row]]
    rows = {*left, *right}
    if len(rows) == 1:
        return "'--."[rows.pop()]
    if not left or not right:
        return "|"
    slope = sum(right) / len(right) - sum(left) / len(left)
    if abs(slope) >= 1:
        return "\\" if slope > 0 else "/"
    return "-" if max(rows) - min(rows) <= 1 else "+"
