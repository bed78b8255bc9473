"""Damage on an aircraft: snags with a place on it, how they grew, and the paint for each.

A snag counts as damage when it names a zone, a place, a size or a finish, or is cosmetic.
How large it is by now is a `reading` of its size that names the snag; the snag's own size
is the first of the series. Growth is told as measured, never guessed ahead.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.findings.snags import SnagState, fold_snags
from register.ledger.ledger import Ledger
from register.records.as_built import read_section
from register.records.bodies import Other, Reading, Snag
from register.records.colours import Paint
from register.records.events import Event
from register.records.outlines import Outline
from register.records.polygons import Polygon, mirror_plan
from register.records.scalars import nearest
from register.records.values import Span
from register.records.zones import Zone
from register.trouble import Problem
from register.workshop.spots import Located, locate_spot

#: The name of a reading that says how large a mark is.
SIZE = "size"
#: Millimetres in one of a unit a size may be written in.
UNITS: dict[str, Decimal] = {
    "mm": Decimal(1),
    "": Decimal(1),
    "cm": Decimal(10),
    "in": Decimal("25.4"),
}


class Body(Struct, frozen=True):
    """An aircraft as drawn: outline, zones and colours, and what is wrong with their words."""

    outline: Outline | None
    zones: dict[str, Zone]
    colours: dict[str, Paint]
    problems: tuple[Problem, ...]

    @property
    def is_drawn(self) -> bool:
        """Whether there is anything to draw."""
        shapes = self.outline is not None and (self.outline.plan or self.outline.side)
        return bool(shapes) or any(zone.plan or zone.side for zone in self.zones.values())


class Sized(Struct, frozen=True):
    """How large a mark was on a day, in millimetres, by which record."""

    day: date
    size: Decimal
    event: Event


class Touch(Struct, frozen=True):
    """The paint to touch a mark up with, and where that is said. `sure` false: choose one."""

    text: str
    source: str
    sure: bool


class Mark(Struct, frozen=True):
    """One piece of damage. `where` None: it cannot be drawn, and `remark` says why."""

    number: int
    state: SnagState
    snag: Snag
    zone: Zone | None
    zone_name: str | None
    where: Located | None
    remark: str | None
    sizes: tuple[Sized, ...]
    touch: Touch | None
    age_days: int
    flights: Span
    files: tuple[str, ...]

    @property
    def size(self) -> Decimal | None:
        """The last size, in millimetres."""
        return self.sizes[-1].size if self.sizes else None

    @property
    def growth(self) -> Decimal | None:
        """Millimetres from the first size to the last; None with fewer than two."""
        return self.sizes[-1].size - self.sizes[0].size if len(self.sizes) > 1 else None


def read_body(ledger: Ledger, aircraft: str) -> Body:
    """Outline, zones and colours of an aircraft, its own laid over its kit's."""
    records = ledger.records
    outline, first = read_section(records, aircraft, "outline")
    zones, second = read_section(records, aircraft, "zones")
    colours, third = read_section(records, aircraft, "colours")
    return Body(outline, zones, colours, (*first, *second, *third))


def draw_silhouette(body: Body) -> tuple[tuple[Polygon, ...], tuple[Polygon, ...]]:
    """The shapes seen from above and from the left; zones where the outline has none."""
    outline = body.outline
    plan = [
        piece
        for shape in (outline.plan if outline is not None else ())
        for piece in mirror_plan(shape.points)
    ]
    side = [shape.points for shape in (outline.side if outline is not None else ())]
    zones = body.zones.values()
    return (
        tuple(plan or [zone.plan for zone in zones if zone.plan]),
        tuple(side or [zone.side for zone in zones if zone.side]),
    )


def zone_of(snag: Snag, zones: Mapping[str, Zone]) -> str | None:
    """The zone a snag names, or the one that holds its position."""
    if snag.zone:
        return snag.zone.strip().lower().replace(" ", "-")
    for zone in zones.values():
        if snag.position is not None and snag.position in zone.holds:
            return zone.name
    return None


def is_damage(state: SnagState) -> bool:
    """Whether a snag is about a mark on the aircraft rather than about how it works."""
    snag = state.event.body
    if not isinstance(snag, Snag):
        return False
    placed = snag.zone is not None or snag.spot is not None
    return placed or snag.size is not None or bool(snag.finish) or state.severity == "cosmetic"


def find_damage(
    ledger: Ledger, aircraft: str, day: date, body: Body, *, every: bool = False
) -> tuple[Mark, ...]:
    """Marks on an aircraft, numbered by zone in the order written, then oldest first."""
    order = {name: n for n, name in enumerate(body.zones)}
    found = [
        state
        for state in fold_snags(ledger).values()
        if is_damage(state)
        and (aircraft in state.hosts or (every and state.found_on == aircraft))
        and (every or state.is_open)
    ]

    def place(state: SnagState) -> tuple[int, date, int, str]:
        snag = state.event.body
        name = zone_of(snag, body.zones) if isinstance(snag, Snag) else None
        rank = order.get(name or "", len(order) + (name is None))
        return rank, state.first_day, ledger.rank[state.id], state.id

    sizes, files = _sizes(ledger), _files(ledger)
    return tuple(
        _mark(ledger, aircraft, body, state, n, day, sizes, files)
        for n, state in enumerate(sorted(found, key=place), start=1)
    )


def sizes_of(
    ledger: Ledger, state: SnagState, readings: list[tuple[str, Sized]] | None = None
) -> tuple[Sized, ...]:
    """Every size of a snag, its own first, then those read later in order."""
    snag = state.event.body
    found = []
    if isinstance(snag, Snag) and snag.size is not None:
        found.append(Sized(state.first_day, snag.size, state.event))
    for id_, sized in _sizes(ledger) if readings is None else readings:
        if state.id.startswith(id_) and len(id_) >= 4:
            found.append(sized)
    return tuple(found)


def _sizes(ledger: Ledger) -> list[tuple[str, Sized]]:
    """Readings of sizes, with the snag each names."""
    found = []
    for event in ledger.events:
        reading = event.body
        if not isinstance(reading, Reading) or reading.snag is None:
            continue
        measured = reading.measured
        factor = UNITS.get(measured.unit.strip().lower())
        if measured.name == SIZE and measured.value is not None and factor is not None:
            found.append((reading.snag, Sized(event.moment.day, measured.value * factor, event)))
    return found


def _files(ledger: Ledger) -> list[tuple[str, str]]:
    """Attached files, with the event each is of."""
    return [
        (event.body.about, event.body.attachment)
        for event in ledger.events
        if isinstance(event.body, Other) and event.body.about and event.body.attachment
    ]


def _mark(
    ledger: Ledger,
    aircraft: str,
    body: Body,
    state: SnagState,
    number: int,
    day: date,
    sizes: list[tuple[str, Sized]],
    files: list[tuple[str, str]],
) -> Mark:
    snag = state.event.body
    if not isinstance(snag, Snag):
        raise TypeError(state.event.kind)
    name = zone_of(snag, body.zones)
    zone = body.zones.get(name) if name else None
    where, remark = _locate(snag, name, zone, body)
    return Mark(
        number,
        state,
        snag,
        zone,
        name,
        where,
        remark,
        sizes_of(ledger, state, sizes),
        _touch(snag, zone, body.colours),
        (day - state.first_day).days,
        ledger.gained(("aircraft", aircraft), "flights", ledger.orders.last_point(state.event.id)),
        tuple(path for id_, path in files if state.id.startswith(id_) and len(id_) >= 4),
    )


def _locate(
    snag: Snag, name: str | None, zone: Zone | None, body: Body
) -> tuple[Located | None, str | None]:
    """Where a mark is drawn, and what to say of that."""
    if name is None:
        return None, "no zone is named"
    if zone is None:
        guess = nearest(name, body.zones)
        meant = f"; did you mean {guess}?" if guess else ""
        return None, f"no zone is called {name!r}{meant}"
    found = locate_spot(zone, snag.spot, body.outline)
    if isinstance(found, Located):
        return found, _remark(found)
    middle = locate_spot(zone, None, body.outline)
    return (middle if isinstance(middle, Located) else None), found.reason


def _remark(where: Located) -> str | None:
    if not where.inside:
        return "the place lies beyond the zone's outline"
    return None if where.exact else "no exact place: drawn in the middle of what is known"


def _touch(snag: Snag, zone: Zone | None, colours: Mapping[str, Paint]) -> Touch | None:
    """The snag's own finish, the zone's colour, the only colour, or the choice of several."""
    if snag.finish:
        paint = colours.get(snag.finish.strip().lower())
        text = paint.text if paint is not None else snag.finish
        return Touch(text, "the snag", True)
    if zone is not None and zone.colour is not None:
        paint = colours.get(zone.colour)
        if paint is None:
            return Touch(f"{zone.colour}, which colours: does not list", f"zone {zone.name}", False)
        return Touch(paint.text, f"colours: {paint.name}", True)
    if len(colours) == 1:
        paint = next(iter(colours.values()))
        return Touch(paint.text, f"colours: {paint.name}", True)
    if colours:
        listed = ", ".join(colours)
        return Touch(f"not stated which of {listed}", "colours", False)
    return None
