"""A deferral on a day: until when, for how many flights, and whether it has run out.

The day of discovery is not counted (the full-size minimum-equipment practice of
excluding it); the first date is kept through every extension; either limit ends it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.findings.snags import SnagState
from register.ledger.ledger import Ledger
from register.records.bodies import Deferral
from register.records.events import Event
from register.records.values import NOTHING, Span


class DeferralState(Struct, frozen=True):
    """How a deferral stands. `flights_left` is the least that may be left; None: no limit."""

    event: Event
    body: Deferral
    first_day: date
    age_days: int
    until: date | None
    flights_used: Span
    flights_left: Decimal | None
    expired: bool
    says: str


def view_deferral(ledger: Ledger, snag: SnagState, day: date) -> DeferralState | None:
    """The deferral in force on a snag, judged on a day."""
    event = snag.deferral
    if event is None or not isinstance(event.body, Deferral):
        return None
    body = event.body
    used = _flights_used(ledger, snag, event)
    most = used.low if used.high is None else used.high
    left = None if body.flights is None else Decimal(body.flights) - most
    by_date = body.until is not None and day > body.until
    by_flights = left is not None and left <= 0
    return DeferralState(
        event,
        body,
        snag.first_day,
        (day - snag.first_day).days,
        body.until,
        used,
        left,
        by_date or by_flights,
        _words(body, day, left, by_date=by_date, by_flights=by_flights),
    )


def _flights_used(ledger: Ledger, snag: SnagState, event: Event) -> Span:
    """Flights since the decision, those of the day of discovery not counted."""
    return sum((flown for _, flown in list_deferred_flights(ledger, snag, event)), NOTHING)


def list_deferred_flights(
    ledger: Ledger, snag: SnagState, event: Event
) -> Iterator[tuple[date, Span]]:
    """What counts against the flights of a deferral, in order, each with its day."""
    aircraft = snag.aircraft or snag.found_on
    point = ledger.orders.last_point(event.id)
    for flown in ledger.flights(aircraft) if aircraft is not None else ():
        if flown.moment.day <= snag.first_day:
            continue
        for segment in ledger.orders.segments(flown.id):
            order = ledger.orders.compare(point, segment)
            count = Decimal(segment.high - segment.low + 1)
            if order == "before":
                yield flown.moment.day, Span(count, count)
            elif order == "unknown":
                yield flown.moment.day, Span(Decimal(0), count)


def _words(
    body: Deferral, day: date, left: Decimal | None, *, by_date: bool, by_flights: bool
) -> str:
    if by_date and body.until is not None:
        return f"deferral ran out {body.until.isoformat()}"
    if by_flights:
        flown = "flight is" if body.flights == 1 else f"{body.flights} flights are"
        return f"deferral ran out: its {flown} flown"
    parts = []
    if body.until is not None:
        days = (body.until - day).days
        parts.append(f"until {body.until.isoformat()} (in {days} day{'' if days == 1 else 's'})")
    if left is not None:
        parts.append(f"{left} flight{'' if left == 1 else 's'} more")
    limit = f"{body.limit}, " if body.limit else "deferred "
    return f"{limit}{' or '.join(parts)}"
