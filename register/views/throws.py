"""Throws of an aircraft: asked, measured, left against right, drift since set-up."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.as_built import read_section
from register.records.bodies import Measured
from register.records.events import Event
from register.records.linkages import Linkage
from register.records.surfaces import WAYS, Surface, WantedThrows
from register.records.workshop_bodies import ThrowSheet
from register.trouble import Place, Problem
from register.views.linkage import (
    LinkageState,
    PairState,
    throws_of,
    view_linkage,
    view_pair,
)
from register.workshop.throws import (
    Deflection,
    Difference,
    chord_of,
    compare_sheets,
    compare_wanted,
    deflect,
    sheet_degrees,
    wanted_degrees,
)


class Sheet(Struct, frozen=True):
    """One record of throws, and its event."""

    event: Event
    body: ThrowSheet


class WayLine(Struct, frozen=True):
    """One way of a surface at one rate. None is not recorded, or cannot be told.

    `asked` and `now` in every measure; `off` from what is asked, `side` from the other side,
    `drift` from the set-up.
    """

    way: str
    asked: Deflection | None
    now: Deflection | None
    off: Difference | None
    side: Difference | None
    drift: Difference | None


class RateLines(Struct, frozen=True):
    """A surface at one rate: the sheets behind its lines. `measure` is that of the figures."""

    rate: str
    measure: str
    wanted: WantedThrows | None
    latest: Sheet | None
    set_up: Sheet | None
    other: Sheet | None
    lines: tuple[WayLine, ...]


class ReadingLine(Struct, frozen=True):
    """One reading taken with the throws: as set up (or first), and last. Never computed."""

    name: str
    first: Measured
    first_on: date
    last: Measured
    last_on: date


class SurfaceState(Struct, frozen=True):
    """One surface: its throws, readings, linkages; `listed` is false when the file has it not.

    `carried` says what is known of the surface that carries it.
    """

    surface: Surface
    listed: bool
    rates: tuple[RateLines, ...]
    readings: tuple[ReadingLine, ...]
    linkages: tuple[LinkageState, ...]
    carried: tuple[str, ...]

    @property
    def open_items(self) -> int:
        """Throws that are more off than allowed, and what a linkage must not do."""
        found = sum(
            difference is not None and difference.within is False
            for rate in self.rates
            for line in rate.lines
            for difference in (line.off, line.side, line.drift)
        )
        return found + sum(linkage.open_items for linkage in self.linkages)


class ThrowsView(Struct, frozen=True):
    """The answer to `throws`. `one` is the surface asked for."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: str
    one: str | None
    surfaces: tuple[SurfaceState, ...]
    pairs: tuple[PairState, ...]
    problems: tuple[Problem, ...]

    @property
    def open_items(self) -> int:
        """What is out, over all surfaces."""
        pairs = sum(pair.found is not None and not pair.found.both for pair in self.pairs)
        return pairs + sum(state.open_items for state in self.surfaces)


class AsBuilt(Struct, frozen=True):
    """The two sections that throws are about, and what is wrong in them."""

    surfaces: dict[str, Surface]
    linkages: dict[str, Linkage]
    problems: tuple[Problem, ...]


def read_as_built(ledger: Ledger, aircraft: str) -> AsBuilt:
    """Surfaces and linkages of an aircraft, its own file laid over its kit's."""
    surfaces, wrong = read_section(ledger.records, aircraft, "surfaces")
    linkages, worse = read_section(ledger.records, aircraft, "linkages")
    return AsBuilt(surfaces, linkages, tuple(dict.fromkeys((*wrong, *worse))))


def view_throws(
    ledger: Ledger,
    aircraft: str,
    day: date,
    unread: tuple[str, ...],
    *,
    surface: str | None = None,
    linkage: str | None = None,
    rate: str | None = None,
    speed: float | None = None,
) -> ThrowsView:
    """All surfaces of an aircraft, or one. `speed` in m/s asks for the moment about the hinge."""
    built = read_as_built(ledger, aircraft)
    sheets = sheets_of(ledger, aircraft)
    names = list(dict.fromkeys([*built.surfaces, *sheets]))
    chosen = [surface] if surface is not None else names
    states = tuple(
        _view_surface(built, sheets, name, linkage=linkage, rate=rate, speed=speed)
        for name in chosen
    )
    return ThrowsView(
        day,
        not unread and not built.problems,
        unread,
        aircraft,
        surface,
        states,
        tuple(_pairs_of(built, chosen)),
        built.problems,
    )


def sheets_of(ledger: Ledger, aircraft: str) -> dict[str, list[Sheet]]:
    """The throws recorded of each surface, in order."""
    found: dict[str, list[Sheet]] = {}
    for event in ledger.about(("aircraft", aircraft)):
        if isinstance(event.body, ThrowSheet):
            found.setdefault(event.body.surface, []).append(Sheet(event, event.body))
    return found


def unlisted(name: str) -> Surface:
    """A surface that records name and no file describes: everything is unknown."""
    return Surface(
        name=name,
        title=None,
        zone=None,
        hand="none",
        pair=None,
        kind="plain",
        one_way=False,
        on=None,
        chord=None,
        whole_chord=None,
        span=None,
        hinge_at=None,
        stops=(),
        wanted=(),
        place=Place(""),
    )


def _view_surface(
    built: AsBuilt,
    sheets: dict[str, list[Sheet]],
    name: str,
    *,
    linkage: str | None,
    rate: str | None,
    speed: float | None,
) -> SurfaceState:
    surface = built.surfaces.get(name) or unlisted(name)
    mine = sheets.get(name, [])
    rates = dict.fromkeys([*(item.rate for item in surface.wanted), *(s.body.rate for s in mine)])
    lines = tuple(
        _view_rate(built, sheets, surface, word) for word in rates if rate in (None, word)
    )
    # What is asked decides what the servo must do; without it, what was measured.
    throws = throws_of(surface, [sheet.body for sheet in mine], rate)
    linkages = tuple(
        view_linkage(item, surface, built.linkages, throws, speed)
        for item in built.linkages.values()
        if item.surface == name and linkage in (None, item.name)
    )
    return SurfaceState(
        surface,
        name in built.surfaces,
        lines,
        _view_readings(mine),
        linkages,
        _carried(built, surface),
    )


def _latest(sheets: Iterable[Sheet], rate: str, *, set_up: bool = False) -> Sheet | None:
    found = None
    for sheet in sheets:
        if sheet.body.rate == rate and (sheet.body.sets_up or not set_up):
            found = sheet
    return found


def _view_rate(
    built: AsBuilt, sheets: dict[str, list[Sheet]], surface: Surface, rate: str
) -> RateLines:
    wanted = surface.wanted_at(rate)
    mine = sheets.get(surface.name, [])
    latest, set_up = _latest(mine, rate), _latest(mine, rate, set_up=True)
    other = _latest(sheets.get(surface.pair or "", []), rate)
    tolerance = wanted.tolerance if wanted is not None else None
    off: tuple[Difference, ...] = ()
    side: tuple[Difference, ...] = ()
    drift: tuple[Difference, ...] = ()
    if latest is not None:
        own = (latest.body, surface)
        if wanted is not None:
            off = compare_wanted(latest.body, surface, wanted)
        if other is not None:
            theirs = built.surfaces.get(surface.pair or "")
            side = compare_sheets(own, (other.body, theirs), tolerance)
        if set_up is not None and set_up.event.id != latest.event.id:
            drift = compare_sheets(own, (set_up.body, surface), tolerance)
    measure = wanted.measure if wanted else latest.body.measure if latest else "not-stated"
    ways = [
        *(item.way for item in (wanted.throws if wanted else ())),
        *(item.way for item in (latest.body.throws if latest else ())),
    ]
    lines = tuple(
        WayLine(
            way,
            _asked(surface, wanted, way),
            _now(surface, latest, way),
            _of(off, way),
            _of(side, way),
            _of(drift, way),
        )
        for way in dict.fromkeys(ways)
    )
    return RateLines(rate, measure, wanted, latest, set_up, other, lines)


def _of(found: tuple[Difference, ...], way: str) -> Difference | None:
    return next((item for item in found if item.way == way), None)


def _asked(surface: Surface, wanted: WantedThrows | None, way: str) -> Deflection | None:
    value = wanted.way(way) if wanted is not None else None
    if wanted is None or value is None:
        return None
    chord = float(surface.chord) if surface.chord is not None else None
    return deflect(float(value), wanted.measure, chord)


def _now(surface: Surface, sheet: Sheet | None, way: str) -> Deflection | None:
    """What was measured, in every measure at the surface's own chord."""
    value = next((t.value for t in (sheet.body.throws if sheet else ()) if t.way == way), None)
    if sheet is None or value is None:
        return None
    angle = sheet_degrees(sheet.body, surface, way)
    chord = float(surface.chord) if surface.chord is not None else chord_of(sheet.body, surface)
    if angle is None or chord is None:
        return deflect(float(value), sheet.body.measure, None)
    return deflect(angle, "degrees", chord)


def _view_readings(sheets: list[Sheet]) -> tuple[ReadingLine, ...]:
    """Each reading from the set-up that is in force, or the first taken, to the last one."""
    found: dict[str, ReadingLine] = {}
    for sheet in sheets:
        day = sheet.event.moment.day
        for item in sheet.body.readings:
            old = found.get(item.name)
            if old is None or sheet.body.sets_up or old.first.unit != item.unit:
                found[item.name] = ReadingLine(item.name, item, day, item, day)
            else:
                found[item.name] = ReadingLine(item.name, old.first, old.first_on, item, day)
    return tuple(found.values())


def _carried(built: AsBuilt, surface: Surface) -> tuple[str, ...]:
    """What the surface that carries this one does to its throws and linkages."""
    if surface.on is None:
        return ()
    carrier = built.surfaces.get(surface.on)
    says = [f"sits on {surface.on}: throws are measured from {surface.on}"]
    moves = _degrees_asked(carrier) if carrier is not None else {}
    own = _degrees_asked(surface)
    if moves and own:
        both = [
            f"{way} {own.get(way, 0.0) + moves.get(way, 0.0):.1f}°"
            for way in dict.fromkeys([*own, *moves])
        ]
        says.append(f"from the fixed structure the two together reach {', '.join(both)}")
    else:
        says.append("how far the two reach together cannot be told: throws not stated")
    for linkage in built.linkages.values():
        if linkage.surface != surface.name or linkage.servo_on == surface.on:
            continue
        rides = "is not stated" if linkage.servo_on is None else "it does not"
        says.append(
            f"whether the servo of {linkage.name} rides on {surface.on}: {rides}; if it does "
            f"not, moving {surface.on} moves {surface.name} too, and its figures hold with "
            f"{surface.on} at neutral only"
        )
    return tuple(says)


def _degrees_asked(surface: Surface) -> dict[str, float]:
    found: dict[str, float] = {}
    for wanted in surface.wanted:
        for way in WAYS:
            degrees = wanted_degrees(wanted, surface, way)
            if degrees is not None:
                found[way] = max(found.get(way, 0.0), degrees)
    return found


def _pairs_of(built: AsBuilt, chosen: list[str]) -> list[PairState]:
    """One-way pairs on one servo, each pair once."""
    found = []
    told: set[frozenset[str]] = set()
    for one in built.linkages.values():
        surface = built.surfaces.get(one.surface)
        if surface is None or not surface.one_way or surface.pair is None or one.servo is None:
            continue
        for other in built.linkages.values():
            names = frozenset((one.name, other.name))
            if other.surface != surface.pair or other.servo != one.servo or names in told:
                continue
            told.add(names)
            theirs = built.surfaces.get(other.surface)
            if theirs is not None and {one.surface, other.surface} & set(chosen):
                found.append(view_pair((one, surface), (other, theirs)))
    return found
