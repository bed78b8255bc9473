"""Departures from the manual, each with what became of it: on trial, curing, fixed, undone."""

from __future__ import annotations

from weakref import WeakKeyDictionary

from msgspec import Struct

from register.findings.snags import host_aircraft
from register.ledger.ledger import Ledger
from register.records.bodies import Measured
from register.records.events import Event
from register.records.workshop_bodies import Modification

#: These are not settled yet: they are shown until they are.
UNSETTLED = ("trial", "curing")


class Departure(Struct, frozen=True):
    """One departure as it stands now.

    `aircraft` is whom it touches now: that of its part, where it was done on a part; None when
    the part is on the shelf. `before` and `after` are readings, the latest of each name.
    """

    id: str
    event: Event
    body: Modification
    state: str
    state_event: Event
    follows: tuple[Event, ...]
    aircraft: str | None
    part: str | None
    before: tuple[Measured, ...]
    after: tuple[Measured, ...]

    @property
    def is_unsettled(self) -> bool:
        """On trial or curing."""
        return self.state in UNSETTLED

    @property
    def events(self) -> tuple[Event, ...]:
        """The record, and those that follow it."""
        return (self.event, *self.follows)


#: Folded once for a ledger, which never changes; as long as anything holds the ledger.
_FOLDED: WeakKeyDictionary[Ledger, dict[str, Departure]] = WeakKeyDictionary()


def fold_departures(ledger: Ledger) -> dict[str, Departure]:
    """Every departure by id, in order."""
    found = _FOLDED.get(ledger)
    if found is None:
        found = _FOLDED[ledger] = _fold_all(ledger)
    return dict(found)


def _fold_all(ledger: Ledger) -> dict[str, Departure]:
    bodies = {
        event.id: (event, event.body)
        for event in ledger.events
        if isinstance(event.body, Modification)
    }
    follows: dict[str, list[Event]] = {}
    for id_, (event, body) in bodies.items():
        first = find_first(id_, {key: item[1].follows for key, item in bodies.items()})
        if first != id_ and body.follows is not None:
            follows.setdefault(first, []).append(event)
    later = {event.id for events in follows.values() for event in events}
    return {
        id_: _fold(ledger, event, body, follows.get(id_, []))
        for id_, (event, body) in bodies.items()
        if id_ not in later
    }


def find_first(id_: str, links: dict[str, str | None]) -> str:
    """The record at the beginning of a chain; itself where the chain leads nowhere or round."""
    seen = [id_]
    while (named := links.get(seen[-1])) is not None:
        found = [key for key in links if key == named]
        if not found and len(named) >= 4:
            found = [key for key in links if key.startswith(named)]
        if len(found) != 1 or found[0] in seen:
            return seen[-1] if len(found) != 1 else id_
        seen.append(found[0])
    return seen[-1]


def _fold(ledger: Ledger, event: Event, body: Modification, follows: list[Event]) -> Departure:
    part = ledger.names.part_name(body.part)
    aircraft = ledger.names.aircraft_name(body.aircraft)
    if part is not None:
        hosts = host_aircraft(ledger, part)
        aircraft = hosts[0] if hosts else None
    follows.sort(key=lambda item: ledger.rank[item.id])
    before, after = dict(_named(body.before)), dict(_named(body.after))
    state, state_event = body.state, event
    for item in follows:
        if isinstance(item.body, Modification):
            state, state_event = item.body.state, item
            before.update(_named(item.body.before))
            after.update(_named(item.body.after))
    return Departure(
        event.id,
        event,
        body,
        state,
        state_event,
        tuple(follows),
        aircraft,
        part,
        tuple(before.values()),
        tuple(after.values()),
    )


def _named(readings: tuple[Measured, ...]) -> list[tuple[str, Measured]]:
    return [(item.name, item) for item in readings]
