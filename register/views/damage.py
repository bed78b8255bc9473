"""The damage of one aircraft: marks by zone, and the shapes to draw them on."""

from __future__ import annotations

from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from register.findings.snags import fold_snags
from register.ledger.ledger import Ledger
from register.records.colours import Paint
from register.records.polygons import Box, Polygon, box_of
from register.records.values import format_amount
from register.records.zones import Zone
from register.trouble import RegisterError
from register.workshop.damage import (
    Body,
    Mark,
    draw_silhouette,
    find_damage,
    is_damage,
    read_body,
)
from register.workshop.spots import default_directions, tell_measure


class ZoneMarks(Struct, frozen=True):
    """The marks of one zone; `zone` None for those that name none, or one unknown."""

    name: str | None
    zone: Zone | None
    marks: tuple[Mark, ...]


class Drawing(Struct, frozen=True):
    """Shapes in millimetres: x aft; y to the right from above, z up from the left."""

    plan: tuple[Polygon, ...]
    side: tuple[Polygon, ...]
    plan_zones: tuple[Polygon, ...]
    side_zones: tuple[Polygon, ...]

    @property
    def plan_box(self) -> Box | None:
        """Extent seen from above."""
        return box_of((*self.plan, *self.plan_zones))

    @property
    def side_box(self) -> Box | None:
        """Extent seen from the left."""
        return box_of((*self.side, *self.side_zones))


class DamageView(Struct, frozen=True):
    """The answer to `damage`. `drawing` None: the aircraft has no outline.

    `faults` are problems in its outline, zones or colours, each told in one line.
    """

    on: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: str
    title: str
    zones: tuple[ZoneMarks, ...]
    drawing: Drawing | None
    colours: tuple[Paint, ...]
    closed: int
    faults: tuple[str, ...]
    file: str

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All marks by number."""
        return tuple(mark for zone in self.zones for mark in zone.marks)


def view_damage(
    ledger: Ledger, aircraft: str, day: date, unread: tuple[str, ...], *, every: bool = False
) -> DamageView:
    """Marks of an aircraft on a day; with `every`, those mended too."""
    body = read_body(ledger, aircraft)
    marks = find_damage(ledger, aircraft, day, body, every=every)
    file = ledger.records.aircraft[aircraft]
    closed = [
        state
        for state in fold_snags(ledger).values()
        if not state.is_open and is_damage(state) and aircraft in (state.found_on, *state.hosts)
    ]
    kit = ledger.records.find_kit(file.kit)
    return DamageView(
        day,
        not unread and not any(problem.level == "error" for problem in body.problems),
        unread,
        aircraft,
        file.title,
        _by_zone(marks),
        _drawing(body) if body.is_drawn else None,
        tuple(body.colours.values()),
        len(closed),
        tuple(
            f"{problem.place.file}:{problem.place.line}: {problem.says}"
            for problem in body.problems
        ),
        kit.path if kit is not None else file.path,
    )


def choose_mark(view: DamageView, typed: str) -> DamageView:
    """The view of one mark. Raises RegisterError (USAGE) where no mark is meant, or several."""
    word = typed.strip().lower()
    found = [mark for mark in view.marks if word and mark.state.id.startswith(word)]
    if len(found) != 1:
        listed = ", ".join(f"{mark.state.id[:6]} {mark.state.text[:30]}" for mark in view.marks[:4])
        raise RegisterError(
            f"{len(found)} marks of {view.aircraft} have an id beginning with {typed[:40]!r}",
            mend=listed or f"no damage of {view.aircraft} is recorded",
            code="snag-unknown",
        )
    return replace(view, zones=_by_zone(tuple(found)))


def _by_zone(marks: tuple[Mark, ...]) -> tuple[ZoneMarks, ...]:
    names = dict.fromkeys(mark.zone_name for mark in marks)
    return tuple(
        ZoneMarks(name, held[0].zone, held)
        for name in names
        if (held := tuple(mark for mark in marks if mark.zone_name == name))
    )


def _drawing(body: Body) -> Drawing:
    plan, side = draw_silhouette(body)
    zones = body.zones.values()
    return Drawing(
        plan,
        side,
        tuple(zone.plan for zone in zones if zone.plan),
        tuple(zone.side for zone in zones if zone.side),
    )


def tell_place(mark: Mark) -> str:
    """The place as written: "120 from leading edge, 340 from root"."""
    spot = mark.snag.spot
    if spot is None:
        return ""
    bare = default_directions(mark.zone) if mark.zone is not None else ("", "")
    pairs = ((spot.along, spot.along_from), (spot.across, spot.across_from))
    return ", ".join(
        tell_measure(format_amount(value), words or default)
        for (value, words), default in zip(pairs, bare, strict=True)
        if value is not None
    )


def tell_size(mark: Mark) -> str:
    """The size by now and how it grew: "18 mm (12 on 2026-03-02: +6 in 40 days)"."""
    if mark.size is None:
        return ""
    now = f"{format_amount(mark.size)} mm"
    if mark.growth is None:
        return now
    first, last = mark.sizes[0], mark.sizes[-1]
    days = (last.day - first.day).days
    if mark.growth == 0:
        return f"{now} (the same after {_days(days)})"
    sign = "+" if mark.growth > 0 else "-"
    change = f"{sign}{format_amount(abs(mark.growth))} in {_days(days)}"
    return f"{now} ({format_amount(first.size)} on {first.day.isoformat()}: {change})"


def _days(count: int) -> str:
    return f"{count} day{'' if count == 1 else 's'}"


def tell_age(mark: Mark) -> str:
    """Days since it was found, and flights flown since."""
    flights = mark.flights
    if mark.age_days == 0 and flights.high == 0:
        return "found that day"
    if flights.high is None:
        flown = f"{flights.low} flights or more"
    elif flights.low != flights.high:
        flown = f"{flights.low}-{flights.high} flights"
    else:
        flown = f"{flights.low} flight{'' if flights.low == 1 else 's'}"
    return f"{_days(mark.age_days)} old, {flown} since"
