"""What somebody who is offered an aircraft wants to know before its records are taken in."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from register.findings.snags import fold_snags
from register.ledger.ledger import Ledger
from register.records.bodies import Incident


class Gist(Struct, frozen=True):
    """The records of an aircraft that comes, in a line: their days, what is open, incidents.

    `deferred` are those of the `open` snags that somebody decided to fly on with; `incidents`
    are days and kinds.
    """

    first: date | None
    last: date | None
    open: int
    deferred: int
    incidents: tuple[tuple[date, str], ...]


def view_gist(ledger: Ledger, aircraft: str) -> Gist:
    """The gist of one aircraft, from a ledger that holds it and its parts."""
    days = sorted(event.moment.day for event in ledger.events)
    still = [
        snag for snag in fold_snags(ledger).values() if snag.is_open and aircraft in snag.hosts
    ]
    incidents = tuple(
        (event.moment.day, event.body.what)
        for event in ledger.events
        if isinstance(event.body, Incident)
        and ledger.names.aircraft_name(event.body.aircraft) == aircraft
    )
    return Gist(
        days[0] if days else None,
        days[-1] if days else None,
        len(still),
        sum(snag.deferral is not None for snag in still),
        incidents,
    )
