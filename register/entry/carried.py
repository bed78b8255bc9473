"""What an entry of flights takes from the one before it, and how its note says so for good."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from register.entry.clerk import Clerk
from register.records.bodies import Flights
from register.records.events import Event

#: More than this for one flight, or in one day, is a slip more often than a fact: it is
#: recorded and pointed out, and nothing is taken from it (own choice, no source).
LONG_FLIGHT = Decimal(60)
MANY_FLIGHTS = 20
CARRIED = "minutes taken from the entry before"
CARRIED_ENGINE = "engine minutes taken from the entry before"


def last_flights(clerk: Clerk, aircraft: str, day: date) -> Event | None:
    """The last flights entry of an aircraft up to a day that is not absurd."""
    found = [
        event
        for event in clerk.ledger.flights(aircraft)
        if event.moment.day <= day and not is_absurd(event)
    ]
    return found[-1] if found else None


def is_absurd(event: Event) -> bool:
    """Whether an entry was pointed out as unlikely when it was made."""
    body = event.body
    if not isinstance(body, Flights):
        return False
    longest = max(body.each, default=Decimal(0))
    for total in (body.minutes, body.engine_minutes):
        if total is not None:
            longest = max(longest, total / max(body.count, 1))
    return longest > LONG_FLIGHT or body.count > MANY_FLIGHTS


def per_flight_minutes(event: Event | None) -> Decimal | None:
    """Average minutes per flight of an entry, to a tenth; None if it states none."""
    body = event.body if event is not None else None
    return _average(body.minutes, body.count) if isinstance(body, Flights) else None


def per_flight_engine(event: Event | None) -> Decimal | None:
    """Average engine minutes per flight of an entry, to a tenth; None if it states none."""
    body = event.body if event is not None else None
    return _average(body.engine_minutes, body.count) if isinstance(body, Flights) else None


def _average(total: Decimal | None, count: int) -> Decimal | None:
    if total is None:
        return None
    average = (total / count).quantize(Decimal("0.1"))
    whole = average.to_integral_value()
    return whole.quantize(Decimal(1)) if average == whole else average


def is_carried(note: str | None) -> bool:
    """Whether a note says that something was taken from the entry before."""
    return any(_is_mark(piece) for piece in (note or "").split("; "))


def strip_carried(note: str | None, *marks: str) -> str | None:
    """The note without what it says was carried (`marks`), once that is given after all."""
    kept = [
        piece
        for piece in (note or "").split("; ")
        if not any(piece.startswith(f"{mark}:") for mark in marks)
    ]
    return "; ".join(kept).strip() or None


def _is_mark(piece: str) -> bool:
    return piece.startswith((f"{CARRIED}:", f"{CARRIED_ENGINE}:"))
