"""Where each part was, and when: spells in an aircraft, in another part, or assigned."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date

from msgspec import Struct

from register.ledger.order import Orders, Point
from register.records.bodies import Charge, EngineRun, Flights, Install, Remove, TaskDone
from register.records.events import Event
from register.records.standing_files import AircraftFile, PartFile
from register.records.values import Ref
from register.trouble import Problem

#: The machine that a handover gives as the writer of the records it makes itself.
HANDOVER = "handover"


class Edge(Struct, frozen=True):
    """An end of a spell: the two points between which it lies; one point when known."""

    earliest: Point
    latest: Point


class UseSpell(Struct, frozen=True):
    """A part in use with an aircraft since a day it was named; `end` is its removal."""

    since: date
    end: Point | None


class Spell(Struct, frozen=True):
    """One stay of a part. `aircraft` or `into` names the host; `end` None means still there."""

    part: str
    aircraft: str | None
    into: str | None
    position: str | None
    start: Edge
    end: Edge | None
    assigned: bool
    install: Event
    removal: Event | None

    @property
    def is_current(self) -> bool:
        """Still there at the end of what is known."""
        return self.end is None


class Names:
    """Resolves references: the id decides, else the name."""

    def __init__(self, aircraft: dict[str, AircraftFile], parts: dict[str, PartFile]):
        self.aircraft = aircraft
        self.parts = parts
        self._aircraft_ids = {item.id: name for name, item in aircraft.items() if item.id}
        self._part_ids = {item.id: name for name, item in parts.items() if item.id}
        self._aircraft_aliases = _aliases(aircraft)
        self._part_aliases = _aliases(parts)

    def aircraft_name(self, ref: Ref | None) -> str | None:
        """The local name of the aircraft meant, or None."""
        if ref is None:
            return None
        if ref.id and ref.id in self._aircraft_ids:
            return self._aircraft_ids[ref.id]
        return ref.name if ref.name in self.aircraft else self._aircraft_aliases.get(ref.name)

    def part_name(self, ref: Ref | None) -> str | None:
        """The local name of the part meant, or None."""
        if ref is None:
            return None
        if ref.id and ref.id in self._part_ids:
            return self._part_ids[ref.id]
        return ref.name if ref.name in self.parts else self._part_aliases.get(ref.name)


def _aliases(files: Mapping[str, AircraftFile] | Mapping[str, PartFile]) -> dict[str, str]:
    """Names that things had with owners before; one that two had means neither."""
    found: dict[str, str] = {}
    twice: set[str] = set()
    for name, file in files.items():
        for alias in file.aliases:
            twice.update((alias,) if found.setdefault(alias, name) != name else ())
    return {alias: name for alias, name in found.items() if alias not in twice}


class Whereabouts:
    """All spells of all parts, folded from installs, removals and uses."""

    def __init__(self, orders: Orders, names: Names):
        self.orders = orders
        self.names = names
        self.spells: dict[str, list[Spell]] = defaultdict(list)
        self.problems: list[Problem] = []
        self._uses: dict[tuple[str, str], list[UseSpell]] = defaultdict(list)
        self._evidence = _last_named(orders, names)
        #: What stands where in the end; not known while the records are being folded.
        self._fitted: dict[str, tuple[Spell, ...]] | None = None
        for event in orders.sequence:
            if isinstance(event.body, Install):
                self._install(event, event.body)
            elif isinstance(event.body, Remove):
                self._remove(event, event.body)
            elif isinstance(event.body, Flights):
                self._use(event, event.body)
        self._used_by: dict[str, list[tuple[str, list[UseSpell]]]] = defaultdict(list)
        for (part, aircraft), uses in self._uses.items():
            self._used_by[part].append((aircraft, uses))
        self._fitted = self._find_fitted()
        self._moves = self._find_moves()
        self._assigned = self._find_assigned()

    def current(self, part: str) -> Spell | None:
        """Where an installed part is now, or None."""
        found = [spell for spell in self.spells.get(part, ()) if spell.is_current]
        return found[-1] if found else None

    def current_all(self, part: str) -> tuple[Spell, ...]:
        """Every current stay; an assigned part may have several."""
        return tuple(spell for spell in self.spells.get(part, ()) if spell.is_current)

    def fitted(self, aircraft: str) -> tuple[Spell, ...]:
        """What is installed in or assigned to an aircraft now."""
        if self._fitted is not None:
            return self._fitted.get(aircraft, ())
        return tuple(
            spell
            for part in sorted(self.spells)
            for spell in self.spells[part]
            if spell.is_current and spell.aircraft == aircraft
        )

    def moves(self, aircraft: str) -> tuple[Event, ...]:
        """Installs in an aircraft and removals from it, in order."""
        return self._moves.get(aircraft, ())

    def _find_fitted(self) -> dict[str, tuple[Spell, ...]]:
        found: dict[str, list[Spell]] = defaultdict(list)
        for part in sorted(self.spells):
            for spell in self.spells[part]:
                if spell.is_current and spell.aircraft is not None:
                    found[spell.aircraft].append(spell)
        return {aircraft: tuple(spells) for aircraft, spells in found.items()}

    def _find_moves(self) -> dict[str, tuple[Event, ...]]:
        found: dict[str, dict[str, Event]] = defaultdict(dict)
        for spell in (spell for spells in self.spells.values() for spell in spells):
            if spell.aircraft is not None:
                for event in (spell.install, spell.removal):
                    if event is not None:
                        found[spell.aircraft][event.id] = event
        rank = self.orders.rank
        return {
            aircraft: tuple(sorted(events.values(), key=lambda event: rank[event.id]))
            for aircraft, events in found.items()
        }

    def at_position(self, aircraft: str, position: str) -> Spell | None:
        """The part now at a position."""
        for spell in self.fitted(aircraft):
            if spell.position == position and not spell.assigned:
                return spell
        return None

    def history_at(self, aircraft: str, position: str) -> tuple[Spell, ...]:
        """Every stay at a position, first to last."""
        found = [
            spell
            for spells in self.spells.values()
            for spell in spells
            if spell.aircraft == aircraft and spell.position == position
        ]
        return tuple(sorted(found, key=lambda spell: self.orders.rank[spell.install.id]))

    def assigned_to(self, part: str) -> tuple[str, ...]:
        """Aircraft that an assigned part belongs with: by install or by use."""
        installed = {
            spell.aircraft
            for spell in self.current_all(part)
            if spell.assigned and spell.aircraft is not None
        }
        used = {
            aircraft
            for aircraft, spells in self._used_by.get(part, ())
            if any(spell.end is None for spell in spells)
        }
        return tuple(sorted(installed | used))

    def assigned_parts(self, aircraft: str) -> tuple[str, ...]:
        """Assigned parts that belong with an aircraft."""
        return self._assigned.get(aircraft, ())

    def _find_assigned(self) -> dict[str, tuple[str, ...]]:
        found: dict[str, list[str]] = defaultdict(list)
        for name in sorted(self.names.parts):
            if self.names.parts[name].use == "assigned":
                for aircraft in self.assigned_to(name):
                    found[aircraft].append(name)
        return {aircraft: tuple(parts) for aircraft, parts in found.items()}

    def may_be_used(self, part: str, aircraft: str, point: Point) -> bool:
        """May flights that name no part have used this one: named before, not yet taken off?"""
        day = self.orders.events[point.event].moment.day
        return any(
            spell.since <= day
            and (spell.end is None or self.orders.compare(point, spell.end) != "after")
            for spell in self._uses.get((part, aircraft), ())
        )

    def used_since(self, part: str) -> dict[str, date]:
        """Aircraft that flew with an assigned part or had it assigned, and since which day."""
        found: dict[str, date] = {}
        days = [
            (spell.aircraft, self.orders.events[spell.start.earliest.event].moment.day)
            for spell in self.spells.get(part, ())
            if spell.assigned and spell.aircraft is not None
        ]
        days.extend((aircraft, spells[0].since) for aircraft, spells in self._used_by.get(part, ()))
        for aircraft, day in days:
            found[aircraft] = min(day, found.get(aircraft, day))
        return found

    # --- folding ----------------------------------------------------------

    def _install(self, event: Event, body: Install) -> None:
        part = self.names.part_name(body.part)
        if part is None:
            return
        assigned = self.names.parts[part].use == "assigned"
        aircraft = self.names.aircraft_name(body.aircraft)
        into = self.names.part_name(body.into)
        if aircraft is None and into is None:
            return
        point = self.orders.segments(event.id)[0]
        if not assigned:
            self._end_elsewhere(part, event, point)
            if aircraft is not None and body.position is not None:
                self._end_occupant(aircraft, body.position, event, point)
        edge = Edge(point, point)
        self.spells[part].append(
            Spell(part, aircraft, into, body.position, edge, None, assigned, event, None)
        )

    def _end_elsewhere(self, part: str, event: Event, point: Point) -> None:
        spell = self.current(part)
        if spell is None:
            return
        earliest = self._last_evidence(part, spell, event)
        self._close(spell, Edge(earliest, point), None)
        where = f"{spell.aircraft or spell.into}"
        self.problems.append(
            Problem(
                event.place("part"),
                "install-elsewhere",
                f"{part} was still recorded in {where}; its removal is implied, the day unknown",
                f"tailsheaf remove {part} --at DATE   (the day it came off {where})",
                "warning",
                related=(spell.install.place("part"),),
            )
        )

    def _last_evidence(self, part: str, spell: Spell, event: Event) -> Point:
        """The last record that names the part while it was there."""
        best = spell.start.latest
        for point in self._evidence.get(part, ()):
            if self.orders.compare(point, self.orders.segments(event.id)[0]) == "before" and (
                self.orders.compare(best, point) == "before"
            ):
                best = point
        return best

    def _end_occupant(self, aircraft: str, position: str, event: Event, point: Point) -> None:
        spell = self.at_position(aircraft, position)
        if spell is None:
            return
        self._close(spell, Edge(point, point), None)
        self.problems.append(
            Problem(
                event.place("position"),
                "position-occupied",
                f"{spell.part} was still recorded at {position} of {aircraft}; "
                "it counts as taken off then",
                f"tailsheaf remove {spell.part} --at {event.moment.day.isoformat()}",
                "warning",
                related=(spell.install.place("position"),),
            )
        )

    def _remove(self, event: Event, body: Remove) -> None:
        part = self.names.part_name(body.part)
        if part is None:
            return
        aircraft = self.names.aircraft_name(body.aircraft)
        point = self.orders.segments(event.id)[0]
        ended = False
        for spell in self.current_all(part):
            if aircraft is None or spell.aircraft == aircraft:
                self._close(spell, Edge(point, point), event)
                ended = True
        for (name, host), uses in self._uses.items():
            if name == part and aircraft in (None, host) and uses and uses[-1].end is None:
                uses[-1] = UseSpell(uses[-1].since, point)
                ended = True
        if not ended and event.machine != HANDOVER:
            self.problems.append(
                Problem(
                    event.place("part"),
                    "remove-not-there",
                    f"{part} is removed here but was not recorded as installed anywhere",
                    f"tailsheaf install {part} AIRCRAFT POSITION --at DATE   (when it went in)",
                    "warning",
                )
            )

    def _use(self, event: Event, body: Flights) -> None:
        aircraft = self.names.aircraft_name(body.aircraft)
        if aircraft is None:
            return
        for ref in body.uses or ():
            part = self.names.part_name(ref)
            if part is not None:
                uses = self._uses[part, aircraft]
                if not uses or uses[-1].end is not None:
                    uses.append(UseSpell(event.moment.day, None))

    def _close(self, spell: Spell, end: Edge, removal: Event | None) -> None:
        spells = self.spells[spell.part]
        spells[spells.index(spell)] = Spell(
            spell.part,
            spell.aircraft,
            spell.into,
            spell.position,
            spell.start,
            end,
            spell.assigned,
            spell.install,
            removal,
        )


def _last_named(orders: Orders, names: Names) -> dict[str, list[Point]]:
    """Points of records that name a part as being where it was (done, engine run, use)."""
    found: dict[str, list[Point]] = defaultdict(list)
    for event in orders.sequence:
        body = event.body
        refs: tuple[Ref | None, ...] = ()
        if isinstance(body, EngineRun):
            refs = (body.part,)
        elif isinstance(body, TaskDone):
            refs = (body.subject,)
        elif isinstance(body, Charge):
            refs = body.parts
        elif isinstance(body, Flights):
            refs = body.uses or ()
        for ref in refs:
            name = names.part_name(ref)
            if name is not None:
                found[name].append(orders.last_point(event.id))
    return found
