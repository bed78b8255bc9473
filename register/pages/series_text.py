"""A series of readings drawn with signs, for a terminal: points, work, limit and drift."""

from __future__ import annotations

from datetime import date
from statistics import median

from msgspec import Struct

from register.views.trend import Placed, TrendLine

#: The drift is drawn on to its limit, if that is no further off than this many times the watch.
FURTHEST = 2.0
ROWS = 11


class Signs(Struct, frozen=True):
    """What stands for what."""

    point: str
    out: str
    limit: str
    step: str
    fit: str
    meets: str
    corner: str
    axis: str
    side: str


UNICODE = Signs("●", "✕", "─", "┊", "·", "◆", "└", "─", "│")
ASCII = Signs("o", "x", "-", ":", ".", "X", "+", "-", "|")


class Frame(Struct, frozen=True):
    """The piece of the plane that is drawn."""

    left: float
    right: float
    low: float
    high: float

    def column(self, at: float, columns: int) -> int:
        """The column of a place."""
        return round((at - self.left) / ((self.right - self.left) or 1) * (columns - 1))

    def row(self, value: float, rows: int) -> int:
        """The row of a value, from the top."""
        return round((self.high - value) / ((self.high - self.low) or 1) * (rows - 1))


class Fit(Struct, frozen=True):
    """A straight piece of the drift, through the middle of one spell."""

    start: tuple[float, float]
    end: tuple[float, float]


def figure_words(value: float) -> str:
    """A figure with four significant digits, without needless zeros."""
    return f"{value:.4g}"


def place_words(at: float, axis: str) -> str:
    """A place on the axis: a day, or a count."""
    return date.fromordinal(int(at)).isoformat() if axis == "days" else f"{at:.0f}"


def find_fits(line: TrendLine) -> tuple[Fit, ...]:
    """The drift in each spell; in the last one on to the limit, if that is not far off."""
    slope = line.drift.slope.value if line.drift is not None else None
    if slope is None or not line.placed:
        return ()
    spells: dict[int, list[Placed]] = {}
    for one in line.placed:
        spells.setdefault(one.spell, []).append(one)
    found = []
    last = max(spells)
    for number, spell in spells.items():
        height = median(one.value - slope * one.at for one in spell)
        start, end = spell[0].at, spell[-1].at
        if number == last:
            end = max(end, meeting_of(line) or end)
        if end > start:
            found.append(Fit((start, height + slope * start), (end, height + slope * end)))
    return tuple(found)


def meeting_of(line: TrendLine) -> float | None:
    """Where the limit is met, if it is to be drawn."""
    if line.verdict != "approaching" or line.crossing is None or line.crossing.at.value is None:
        return None
    first, last = line.placed[0].at, line.placed[-1].at
    at = line.crossing.at.value
    return at if last <= at <= last + FURTHEST * ((last - first) or 1) else None


def find_frame(line: TrendLine) -> Frame:
    """What has to be seen: readings, limit, and where the two meet."""
    values = [one.value for one in line.placed]
    ats = [one.at for one in line.placed]
    if line.limit is not None:
        values.append(line.limit)
    for fit in find_fits(line):
        values.extend((fit.start[1], fit.end[1]))
        ats.extend((fit.start[0], fit.end[0]))
    room = (max(values) - min(values)) * 0.05 or abs(values[0]) * 0.05 or 1.0
    return Frame(min(ats), max(ats), min(values) - room, max(values) + room)


def draw_series(line: TrendLine, width: int, *, ascii_only: bool) -> tuple[str, ...]:
    """Rows of signs no wider than `width`."""
    signs = ASCII if ascii_only else UNICODE
    frame = find_frame(line)
    labels = {0: figure_words(frame.high), ROWS - 1: figure_words(frame.low)}
    if line.limit is not None:
        at = min(max(frame.row(line.limit, ROWS), 0), ROWS - 1)
        labels[at] = f"limit {figure_words(line.limit)}"
    wide = max(len(text) for text in labels.values())
    columns = max(width - wide - 2, 10)
    cells = [[" "] * columns for _ in range(ROWS)]
    _draw(cells, line, frame, signs)
    rows = [
        f"{labels.get(n, ''):>{wide}} {signs.side}{''.join(row)}".rstrip()
        for n, row in enumerate(cells)
    ]
    rows.append(f"{'':>{wide}} {signs.corner}{signs.axis * columns}")
    left, right = place_words(frame.left, line.axis), place_words(frame.right, line.axis)
    unit = "" if line.axis == "days" else f" {line.axis}"
    gap = columns - len(left) - len(right) - len(unit)
    rows.append(f"{'':>{wide}}  {left}{' ' * max(gap, 1)}{right}{unit}")
    return tuple(rows)


def _draw(cells: list[list[str]], line: TrendLine, frame: Frame, signs: Signs) -> None:
    columns, rows = len(cells[0]), len(cells)

    def put(at: float, value: float, sign: str) -> None:
        x, y = frame.column(at, columns), frame.row(value, rows)
        if 0 <= x < columns and 0 <= y < rows:
            cells[y][x] = sign

    if line.limit is not None:
        cells[min(max(frame.row(line.limit, rows), 0), rows - 1)] = [signs.limit] * columns
    for at in step_places(line):
        for row in cells:
            row[min(max(frame.column(at, columns), 0), columns - 1)] = signs.step
    for fit in find_fits(line):
        (x1, y1), (x2, y2) = fit.start, fit.end
        for n in range(columns + 1):
            put(x1 + (x2 - x1) * n / columns, y1 + (y2 - y1) * n / columns, signs.fit)
    meeting = meeting_of(line)
    if meeting is not None and line.limit is not None:
        put(meeting, line.limit, signs.meets)
    for one in line.placed:
        put(one.at, one.value, signs.out if one.out else signs.point)


def step_places(line: TrendLine) -> tuple[float, ...]:
    """Where work parts the readings: on the day of it, else between the readings it parts."""
    found = []
    for n, mark in enumerate(line.series.steps):
        before = [one.at for one in line.placed if one.spell == n]
        after = [one.at for one in line.placed if one.spell == n + 1]
        if line.axis == "days":
            found.append(float(mark.event.moment.day.toordinal()))
        elif before and after:
            found.append((before[-1] + after[0]) / 2)
    return tuple(found)


def legend(line: TrendLine, *, ascii_only: bool) -> str:
    """What the signs of this drawing mean."""
    signs = ASCII if ascii_only else UNICODE
    words = [f"{signs.point} reading"]
    if any(one.out for one in line.placed):
        words.append(f"{signs.out} reading that was out")
    if find_fits(line):
        words.append(f"{signs.fit} drift")
    if line.series.steps:
        words.append(f"{signs.step} work: what is before and after is not compared")
    if meeting_of(line) is not None:
        words.append(f"{signs.meets} meets its limit")
    return "   ".join(words)
