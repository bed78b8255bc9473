"""The damage of an aircraft as one picture: from above, from the left, and a legend.

Self-contained SVG: no script, no font, nothing fetched. On a screen it is one column of 390
units, which is a telephone held upright; in print the same blocks flow into as many columns
as fill one A4 page. Its colours follow the reader's light or dark setting and are dark on
white in print. Numbers and shapes carry the meaning; colour only helps.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from msgspec import Struct

from register.pages.markup import clean_markup, wrap_widths
from register.pages.placing import Badge, Frame, place_badges
from register.records.polygons import Box, Point, Polygon
from register.views.damage import (
    DamageView,
    Drawing,
    ZoneMarks,
    tell_age,
    tell_place,
    tell_size,
)
from register.workshop.damage import Mark

WIDTH = 390.0
MARGIN = 14.0
#: Room round a view for badges.
_ROUND = 26.0
MOST_HIGH = 400.0
#: An A4 page less its margins, 186 by 272 mm, in units of 0.31 mm.
PAGE_WIDTH, PAGE_HEIGHT = 600.0, 877.0
RADIUS = 9.5
_DOT = 2.6
#: An ordinary letter of a wide sans-serif takes three fifths of an em; so many fit on a line.
_EM = 0.61
_WORDS, _FINE = 13 * _EM, 12 * _EM
_WHOLE = WIDTH - 2 * MARGIN
_BESIDE = _WHOLE - 28
_NO_BREAK = "\u00a0"
GROUNDING = ("grounding", "not-yet-rated")

_STYLE = """
svg{width:100%;height:auto;background:#ffffff;font-family:system-ui,-apple-system,"Segoe UI",\
"DejaVu Sans",Arial,sans-serif}
text{fill:#14181c;font-size:13px}.h{font-size:18px;font-weight:700}.z{font-size:13px;font-weight:700}
.f{fill:#4a535c;font-size:12px}.w{font-size:13px}
.b{fill:#dfe6ec;stroke:#3d4852;stroke-width:1.1;stroke-linejoin:round}
.o{fill:none;stroke:#7b8792;stroke-width:.7;stroke-dasharray:3 2.4}
.c{fill:none;stroke:#7b8792;stroke-width:.6;stroke-dasharray:9 3 2 3}
.l{stroke:#14181c;stroke-width:1}.p{fill:#b3121d;stroke:#ffffff;stroke-width:.6}
.r{fill:none;stroke:#b3121d;stroke-width:1.2;stroke-dasharray:2.2 1.8}
.s{fill:#b3121d;fill-opacity:.18;stroke:#b3121d;stroke-width:.9}
.n{fill:#ffffff;stroke:#14181c;stroke-width:1.5}.g{fill:#b3121d;stroke:#b3121d;stroke-width:1.5}
.k{fill:#14181c;font-size:12px;font-weight:700;text-anchor:middle}.kg{fill:#ffffff;font-size:12px;\
font-weight:700;text-anchor:middle}
@media (prefers-color-scheme:dark){svg{background:#12161a}.bg{fill:#12161a}\
text,.w,.h,.z{fill:#eef2f5}.f{fill:#b4bec8}.b{fill:#2b343d;stroke:#aab6c2}.o,.c{stroke:#8794a1}.l{stroke:#eef2f5}\
.p{fill:#ff8a80;stroke:#12161a}.r{stroke:#ff8a80}.s{fill:#ff8a80;stroke:#ff8a80}\
.n{fill:#12161a;stroke:#eef2f5}.k{fill:#eef2f5}.g{fill:#ff8a80;stroke:#ff8a80}.kg{fill:#12161a}}
@page{size:A4 portrait;margin:12mm}
@media print{svg{width:186mm;height:272mm;overflow:visible;background:#ffffff}.phone{display:none}\
.paper{display:inline}.bg{fill:#ffffff}\
text,.w,.h,.z{fill:#000000}.f{fill:#333333}.b{fill:#eef1f4;stroke:#000000}.o,.c{stroke:#555555}\
.l{stroke:#000000}.p{fill:#b3121d;stroke:#ffffff}.r{stroke:#b3121d}.s{fill:#b3121d;stroke:#b3121d}\
.n{fill:#ffffff;stroke:#000000}.k{fill:#000000}.g{fill:#b3121d;stroke:#b3121d}.kg{fill:#ffffff}}
"""
_MEANING = (
    "Dot: where it is, its size to scale where it shows. Dashed ring: only the zone or one "
    "measure is known. Square number: grounding, or not yet rated. Drawn from what was written "
    "down; look at the aircraft."
)


class _Sheet:
    """The picture while it is being drawn, from the top down."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.y = MARGIN

    def add(self, part: str) -> None:
        """One element."""
        self.parts.append(part)

    def text(self, x: float, y: float, words: str, style: str, *, anchor: str = "") -> None:
        """Words of a record or of ours, cleaned."""
        place = f' text-anchor="{anchor}"' if anchor else ""
        self.add(
            f'<text class="{style}" x="{x:.1f}" y="{y:.1f}"{place}>{clean_markup(words)}</text>'
        )


_Block = Callable[[_Sheet], None]


class _Scale(Struct, frozen=True):
    """From millimetres to the picture: x aft to the right, the second direction upward."""

    left: float
    middle: float
    per_mm: float
    x0: float
    v0: float

    def at(self, x: float, v: float) -> Point:
        """A point of the picture."""
        return self.left + (x - self.x0) * self.per_mm, self.middle - (v - self.v0) * self.per_mm


def draw_damage(view: DamageView) -> str:
    """The picture of a view that has a drawing.

    From above the nose points left, so that both views share one scale along the aircraft;
    the left wing is then the lower one.
    """
    blocks = _blocks(view)
    sheet = _Sheet()
    for block in blocks:
        block(sheet)
    high = sheet.y + MARGIN
    title = clean_markup(f"Damage and finish of {view.title}, {view.on.isoformat()}")
    told = clean_markup(f"{len(view.marks)} numbered marks, seen from above and from the left")
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {high:.0f}" '
        'preserveAspectRatio="xMidYMin meet" role="img" aria-labelledby="t d">',
        f'<title id="t">{title}</title>',
        f'<desc id="d">{told}</desc>',
        f"<style>{_STYLE}</style>",
        f'<rect class="bg" width="{WIDTH:.0f}" height="{high:.0f}" fill="#ffffff"/>',
        '<g class="phone">',
        *sheet.parts,
        "</g>",
        *_paper(blocks, high),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


class PageFigure(Struct, frozen=True):
    """Both views alone, for a page that has its own style and words: its height, its elements."""

    high: float
    parts: tuple[str, ...]


def draw_figure(view: DamageView, drawing: Drawing) -> PageFigure:
    """The two views with their numbers, WIDTH wide, without style, title and legend."""
    sheet = _Sheet()
    _views(sheet, view, drawing)
    return PageFigure(sheet.y + MARGIN, tuple(sheet.parts))


def _blocks(view: DamageView) -> list[_Block]:
    """What is drawn, top down, in pieces that are not torn apart."""
    blocks: list[_Block] = [partial(_top, view=view)]
    if not view.marks:
        blocks.append(_nothing)
    for zone in view.zones:
        for n, mark in enumerate(zone.marks):
            blocks.append(partial(_entry, mark=mark, zone=None if n else zone))
    return [*blocks, _note]


def _paper(blocks: list[_Block], high: float) -> list[str]:
    """The same blocks in columns over an A4 page; shown in print alone.

    The page is PAGE_WIDTH by PAGE_HEIGHT units. In print the picture is as high as the page,
    however high it is on a screen: the group is scaled by that.
    """
    drawn: list[tuple[float, list[str]]] = []
    for block in blocks:
        sheet = _Sheet()
        block(sheet)
        drawn.append((sheet.y - MARGIN, sheet.parts))
    columns = 1
    while (placed := _flow([tall for tall, _ in drawn], columns)) is None:
        columns += 1
    scale = PAGE_WIDTH / columns / WIDTH
    # Where the page is wider than the picture, its width sets the size of a unit.
    unit = max(high / PAGE_HEIGHT, WIDTH / PAGE_WIDTH)
    left = WIDTH / 2 - unit * PAGE_WIDTH / 2
    parts = [
        f'<g class="paper" display="none" transform="translate({left:.2f} 0) scale({unit:.4f})">'
    ]
    for (column, y), (_, block_parts) in zip(placed, drawn, strict=True):
        x = column * PAGE_WIDTH / columns
        parts.append(f'<g transform="translate({x:.2f} {y * scale:.2f}) scale({scale:.4f})">')
        parts.extend(block_parts)
        parts.append("</g>")
    return [*parts, "</g>"]


def _flow(heights: list[float], columns: int) -> list[tuple[int, float]] | None:
    """Column and height of each block, in order; None where they do not fit."""
    room = PAGE_HEIGHT / (PAGE_WIDTH / columns / WIDTH) - 2 * MARGIN
    column, y = 0, 0.0
    placed = []
    for tall in heights:
        if y + tall > room and y > 0:
            column, y = column + 1, 0.0
        # A block taller than a whole column asks for more and narrower ones.
        if column >= columns or tall > room:
            return None
        placed.append((column, y))
        y += tall
    return placed


def _top(sheet: _Sheet, view: DamageView) -> None:
    _head(sheet, view)
    if view.drawing is not None:
        _views(sheet, view, view.drawing)
    sheet.y += 12


def _head(sheet: _Sheet, view: DamageView) -> None:
    for line in wrap_widths(view.title, _WHOLE / (19 * _EM), 2):
        sheet.y += 16
        sheet.text(MARGIN, sheet.y, line, "h")
        sheet.y += 5
    sheet.y += 14
    count = len(view.marks)
    words = f"damage as recorded on {view.on.isoformat()}: "
    words += f"{count} mark{'' if count == 1 else 's'}"
    for line in wrap_widths(words, _WHOLE / _FINE, 2):
        sheet.text(MARGIN, sheet.y, line, "f")
        sheet.y += 15
    if not view.complete:
        sheet.text(MARGIN, sheet.y, "INCOMPLETE: a file or outline could not be read", "z")
        sheet.y += 15


def _views(sheet: _Sheet, view: DamageView, drawing: Drawing) -> None:
    plan, side = drawing.plan_box, drawing.side_box
    boxes = [box for box in (plan, side) if box is not None]
    first, last = min(box[0] for box in boxes), max(box[2] for box in boxes)
    across = plan[3] - plan[1] if plan is not None else 0.0
    per_mm = min(
        (WIDTH - 2 * MARGIN - 2 * _ROUND) / max(last - first, 1.0),
        MOST_HIGH / max(across, 1.0),
    )
    left = (WIDTH - (last - first) * per_mm) / 2
    scale = _Scale(left, 0.0, per_mm, first, 0.0)
    if plan is not None:
        _one_view(sheet, view, scale, plan, "plan", drawing.plan, drawing.plan_zones)
    if side is not None:
        _one_view(sheet, view, scale, side, "side", drawing.side, drawing.side_zones)
    _bar(sheet, per_mm)


def _one_view(
    sheet: _Sheet,
    view: DamageView,
    scale: _Scale,
    box: Box,
    name: str,
    shapes: tuple[Polygon, ...],
    zones: tuple[Polygon, ...],
) -> None:
    top = sheet.y + 4
    high = (box[3] - box[1]) * scale.per_mm
    here = _Scale(scale.left, top + _ROUND + high, scale.per_mm, scale.x0, box[1])
    told = "from above: nose left, right wing up" if name == "plan" else "from the left"
    sheet.text(MARGIN, top + 9, told, "f")
    for shape in shapes:
        sheet.add(_polygon(here, shape, "b"))
    for zone in zones:
        sheet.add(_polygon(here, zone, "o"))
    if name == "plan" and box[1] < 0 < box[3]:
        (x1, y), (x2, _) = here.at(box[0], 0), here.at(box[2], 0)
        sheet.add(f'<path class="c" d="M{x1 - 8:.1f} {y:.1f}H{x2 + 8:.1f}"/>')
    marks = [mark for mark in view.marks if mark.where is not None and mark.where.view == name]
    frame = Frame(
        MARGIN + RADIUS,
        top + 14 + RADIUS,
        WIDTH - MARGIN - RADIUS,
        top + 2 * _ROUND + high - RADIUS,
    )
    points = [_clamp(here.at(mark.where.x, mark.where.v), frame) for mark in marks if mark.where]
    badges, lowest = place_badges(points, RADIUS, frame, 8.0)
    for mark, badge in zip(marks, badges, strict=True):
        _point(sheet, mark, badge, scale.per_mm)
    for mark, badge in zip(marks, badges, strict=True):
        _badge(sheet, mark, badge.at)
    sheet.y = lowest + RADIUS + 4


def _clamp(point: Point, frame: Frame) -> Point:
    """A place far beyond its zone stays on the page."""
    return (
        min(max(point[0], frame.left - RADIUS), frame.right + RADIUS),
        min(max(point[1], frame.top), frame.bottom),
    )


def _polygon(scale: _Scale, points: Polygon, style: str) -> str:
    drawn = (scale.at(x, v) for x, v in points)
    words = " ".join(f"{x:.1f},{y:.1f}" for x, y in drawn)
    return f'<polygon class="{style}" points="{words}"/>'


def _point(sheet: _Sheet, mark: Mark, badge: Badge, per_mm: float) -> None:
    """The point itself, its size to scale where that shows, and the line to its badge."""
    x, y = badge.point
    to_x, to_y = badge.at
    sheet.add(f'<path class="l" d="M{x:.1f} {y:.1f}L{to_x:.1f} {to_y:.1f}"/>')
    radius = float(mark.size or 0) * per_mm / 2
    if radius > _DOT + 0.4:
        sheet.add(f'<circle class="s" cx="{x:.1f}" cy="{y:.1f}" r="{min(radius, 60):.1f}"/>')
    if mark.where is not None and not mark.where.exact:
        sheet.add(f'<circle class="r" cx="{x:.1f}" cy="{y:.1f}" r="5"/>')
    else:
        sheet.add(f'<circle class="p" cx="{x:.1f}" cy="{y:.1f}" r="{_DOT}"/>')


def _badge(sheet: _Sheet, mark: Mark, at: Point) -> None:
    """A ring with the number; a filled square for what grounds or is not rated."""
    x, y = at
    if mark.state.is_open and mark.state.severity in GROUNDING:
        low = RADIUS - 0.8
        sheet.add(
            f'<rect class="g" x="{x - low:.1f}" y="{y - low:.1f}" width="{2 * low:.1f}" '
            f'height="{2 * low:.1f}" rx="2"/>'
        )
        style = "kg"
    else:
        sheet.add(f'<circle class="n" cx="{x:.1f}" cy="{y:.1f}" r="{RADIUS}"/>')
        style = "k"
    sheet.text(x, y + 4.3, str(mark.number), style)


def _bar(sheet: _Sheet, per_mm: float) -> None:
    """A bar of a round number of millimetres."""
    length = next(mm for mm in (1000, 500, 200, 100, 50) if mm * per_mm < 130 or mm == 50)
    x, y = MARGIN, sheet.y + 6
    end = x + length * per_mm
    sheet.add(
        f'<path class="l" d="M{x:.1f} {y - 3:.1f}v6M{x:.1f} {y:.1f}H{end:.1f}v-3v6" fill="none"/>'
    )
    sheet.text(end + 6, y + 4, f"{length} mm", "f")
    sheet.y = y + 8


def _nothing(sheet: _Sheet) -> None:
    sheet.y += 12
    sheet.text(MARGIN, sheet.y, "no damage is recorded", "w")


def _note(sheet: _Sheet) -> None:
    """What the signs mean."""
    sheet.y += 14
    for line in wrap_widths(_MEANING, _WHOLE / _FINE, 6):
        sheet.text(MARGIN, sheet.y, line, "f")
        sheet.y += 14.5
    sheet.y -= 8


def _zone_head(sheet: _Sheet, zone: ZoneMarks) -> None:
    head = zone.zone.title if zone.zone is not None else zone.name or "no zone named"
    if zone.zone is not None and zone.zone.number:
        head = f"{zone.zone.number}  {head}"
    sheet.y += 16
    for line in wrap_widths(head, _WHOLE / (14 * _EM), 1):
        sheet.text(MARGIN, sheet.y, line, "z")
    sheet.y += 8


def _entry(sheet: _Sheet, mark: Mark, zone: ZoneMarks | None) -> None:
    """One mark of the legend: its words, where and how large, how to touch it up.

    The first of a zone stands under the zone's name.
    """
    if zone is not None:
        _zone_head(sheet, zone)
    state = mark.state
    _badge(sheet, mark, (MARGIN + RADIUS, sheet.y + 9))
    rated = state.severity.replace("-", " ") if state.is_open else "mended"
    facts = "; ".join(
        word for word in (rated, tell_place(mark), tell_size(mark), tell_age(mark)) if word
    )
    for unit in ("mm", "day", "flight"):
        facts = facts.replace(f" {unit}", f"{_NO_BREAK}{unit}")
    lines = [(line, "w") for line in wrap_widths(state.text, _BESIDE / _WORDS, 2)]
    lines += [(line, "f") for line in wrap_widths(facts, _BESIDE / _FINE, 3)]
    if mark.remark is not None:
        lines += [(line, "f") for line in wrap_widths(mark.remark, _BESIDE / _FINE, 2)]
    if mark.touch is not None:
        word = "touch up: "
        lines += [(line, "f") for line in wrap_widths(word + mark.touch.text, _BESIDE / _FINE, 2)]
    for words, style in lines:
        sheet.y += 14
        sheet.text(MARGIN + 28, sheet.y, words, style)
    sheet.y += 7
