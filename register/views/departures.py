"""Departures from the manual: those on trial or curing first, then what was kept, then undone."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from register.findings.departures import Departure, fold_departures
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Measured
from register.records.values import Span

_ORDER = ("trial", "curing", "fixed", "undone")


class Pair(Struct, frozen=True):
    """One reading before and after the work; None where it was not taken."""

    name: str
    before: Measured | None
    after: Measured | None

    @property
    def unit(self) -> str:
        """The unit of either; nothing where the two differ."""
        units = {item.unit for item in (self.before, self.after) if item is not None}
        return units.pop() if len(units) == 1 else ""


class DepartureLine(Struct, frozen=True):
    """One departure, how many days it is in its state, and the flights since."""

    departure: Departure
    days: int
    flights: Span | None
    pairs: tuple[Pair, ...]


class DeparturesView(Struct, frozen=True):
    """The answer to `modify`. With `one`, a single departure wholly."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    subject: Subject | None
    lines: tuple[DepartureLine, ...]
    one: bool


def view_departures(
    ledger: Ledger,
    day: date,
    unread: tuple[str, ...],
    subject: Subject | None = None,
    id_: str | None = None,
) -> DeparturesView:
    """Departures of all, of one aircraft with the parts in it now, of one part, or one alone."""
    found = [
        departure
        for departure in fold_departures(ledger).values()
        if (id_ is None or departure.id == id_) and _is_about(ledger, departure, subject)
    ]
    found.sort(key=lambda item: (item.aircraft or "", _ORDER.index(item.state)))
    return DeparturesView(
        day,
        not unread,
        unread,
        subject,
        tuple(_line(ledger, departure, day) for departure in found),
        id_ is not None,
    )


def _is_about(ledger: Ledger, departure: Departure, subject: Subject | None) -> bool:
    if subject is None:
        return True
    if subject[0] == "part":
        return departure.part == subject[1]
    return departure.aircraft == subject[1]


def _line(ledger: Ledger, departure: Departure, day: date) -> DepartureLine:
    subject: Subject | None = None
    if departure.part is not None:
        subject = ("part", departure.part)
    elif departure.aircraft is not None:
        subject = ("aircraft", departure.aircraft)
    flights = None
    if subject is not None:
        since = ledger.orders.last_point(departure.state_event.id)
        flights = ledger.gained(subject, "flights", since)
    before = {item.name: item for item in departure.before}
    after = {item.name: item for item in departure.after}
    pairs = tuple(
        Pair(name, before.get(name), after.get(name)) for name in dict.fromkeys((*before, *after))
    )
    days = (day - departure.state_event.moment.day).days
    return DepartureLine(departure, days, flights, pairs)
