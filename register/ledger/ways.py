"""How an event reaches a part: by which stays, one in another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from register.ledger.admissible import Doubt
from register.ledger.order import Point
from register.ledger.places import Names, Spell, Whereabouts
from register.records.bodies import Flights
from register.records.events import Event


class Ways:
    """Finds them. `own` are the events that name a part itself, by part."""

    def __init__(self, names: Names, places: Whereabouts, own: Mapping[str, list[Event]]):
        self.names = names
        self.places = places
        self.own = own

    def doubt(self, subject: tuple[str, str], event: Event, point: Point) -> Doubt:
        """A point that may count for a subject or not, and what decides it."""
        if subject[0] == "aircraft":
            return Doubt(point, ((),))
        ways = tuple(self.find(subject[1], event, ()))
        return Doubt(point, ways, free=not ways)

    def find(self, part: str, event: Event, path: tuple[str, ...]) -> Iterator[tuple[Spell, ...]]:
        """Every way from an event to a part."""
        if event in self.own.get(part, ()):
            yield ()
            return
        body = event.body
        if not isinstance(body, Flights):
            return
        if any(self.names.part_name(ref) == part for ref in body.uses or ()):
            yield ()
        aircraft = self.names.aircraft_name(body.aircraft)
        for spell in self.places.spells.get(part, ()):
            if spell.assigned or part in path:
                continue
            if spell.into is not None:
                for way in self.find(spell.into, event, (*path, part)):
                    yield (spell, *way)
            elif spell.aircraft == aircraft:
                yield (spell,)
