"""The damage of an aircraft drawn for a terminal: from above and from the left, with numbers."""

from __future__ import annotations

from typing import NamedTuple

from register.pages.dots import ACROSS, DOWN, Dots
from register.records.polygons import Box, Polygon
from register.views.damage import DamageView, Drawing
from register.workshop.damage import Mark

MOST_ROWS = 26
LEAST_COLUMNS = 30


class Piece(NamedTuple):
    """Some signs of a row; `mark` where they are the number of a mark."""

    text: str
    mark: bool


Row = tuple[Piece, ...]


def draw_rows(view: DamageView, width: int, *, ascii_only: bool) -> tuple[tuple[str, Row], ...]:
    """Rows of both views, each with a word to stand before it or none.

    Nothing where the aircraft has no outline.
    """
    drawing = view.drawing
    if drawing is None:
        return ()
    per_mm = _scale(drawing, max(width, LEAST_COLUMNS))
    rows: list[tuple[str, Row]] = []
    first = min(box[0] for box in (drawing.plan_box, drawing.side_box) if box is not None)
    for name, told, box, shapes in (
        ("plan", "from above: nose left, right wing up", drawing.plan_box, drawing.plan),
        ("side", "from the left", drawing.side_box, drawing.side),
    ):
        if box is None:
            continue
        marks = [mark for mark in view.marks if mark.where is not None and mark.where.view == name]
        rows.append((told, ()))
        drawn = _draw(shapes, box, first, per_mm, marks, ascii_only=ascii_only)
        rows.extend(("", row) for row in drawn)
    return tuple(rows)


def _scale(drawing: Drawing, width: int) -> float:
    """Dots for each millimetre, so that both views fit."""
    boxes = [box for box in (drawing.plan_box, drawing.side_box) if box is not None]
    length = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    high = max(box[3] - box[1] for box in boxes)
    return min((width * ACROSS - 2) / max(length, 1.0), (MOST_ROWS * DOWN - 2) / max(high, 1.0))


def _draw(
    shapes: tuple[Polygon, ...],
    box: Box,
    first: float,
    per_mm: float,
    marks: list[Mark],
    *,
    ascii_only: bool,
) -> list[Row]:
    columns = int((box[2] - first) * per_mm / ACROSS) + 2
    rows = int((box[3] - box[1]) * per_mm / DOWN) + 1
    dots = Dots(columns, rows)
    for shape in shapes:
        dots.outline([((x - first) * per_mm, (box[3] - v) * per_mm) for x, v in shape])
    cells = dots.render(ascii_only=ascii_only)
    taken: dict[tuple[int, int], Piece] = {}
    for mark in marks:
        if mark.where is not None:
            column = int((mark.where.x - first) * per_mm / ACROSS)
            row = int((box[3] - mark.where.v) * per_mm / DOWN)
            _write(taken, str(mark.number), row, column, (rows, columns))
    return [_row(row, number, taken) for number, row in enumerate(cells)]


def _write(
    taken: dict[tuple[int, int], Piece], text: str, row: int, column: int, size: tuple[int, int]
) -> None:
    """Put a number at the free place nearest to its own, with a cell free on either side.

    A drawing too full for one more leaves it out: the list below names it all the same.
    """
    rows, columns = size
    places = sorted(
        ((r, c) for r in range(rows) for c in range(max(columns - len(text) + 1, 1))),
        key=lambda place: (4 * (place[0] - row) ** 2 + (place[1] - column) ** 2, place),
    )
    for at_row, at_column in places:
        wanted = [(at_row, at_column + n) for n in range(-1, len(text) + 1)]
        if not any(cell in taken for cell in wanted):
            for n, sign in enumerate(text):
                taken[at_row, at_column + n] = Piece(sign, True)
            return


def _row(cells: list[str], number: int, taken: dict[tuple[int, int], Piece]) -> Row:
    pieces: list[Piece] = []
    for column, sign in enumerate(cells):
        piece = taken.get((number, column), Piece(sign, False))
        if pieces and pieces[-1].mark == piece.mark:
            pieces[-1] = Piece(pieces[-1].text + piece.text, piece.mark)
        else:
            pieces.append(piece)
    if pieces and not pieces[-1].mark:
        pieces[-1] = Piece(pieces[-1].text.rstrip(), False)
    return tuple(pieces)
