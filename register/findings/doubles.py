"""Flights that were perhaps entered twice: on two machines, by two people, or by one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.bodies import Flights
from register.records.events import Event

#: Two entries of one aircraft this near in time are one flight (common practice, no source).
NEAR = timedelta(minutes=5)
_LONGEST = Decimal(24 * 60)
FIRST = datetime(1950, 1, 1, tzinfo=UTC)


class Twins(Struct, frozen=True):
    """Two records that look like the same flights of an aircraft; both are counted."""

    aircraft: str
    first: Event
    later: Event


def find_twins(ledger: Ledger, aircraft: Iterable[str]) -> Iterator[Twins]:
    """Every such pair, by aircraft and day; a record stands as the later one of one pair only."""
    for name in aircraft:
        days: dict[date, list[Event]] = defaultdict(list)
        for event in ledger.flights(name):
            days[event.moment.day].append(event)
        for day in sorted(day for day, events in days.items() if len(events) > 1):
            events = sorted(days[day], key=_entered)
            for n, later in enumerate(events):
                first = next((one for one in events[:n] if _are_twins(one, later)), None)
                if first is not None:
                    yield Twins(name, first, later)


def _entered(event: Event) -> tuple[datetime, str]:
    """In the order of writing, so that the answer does not depend on the order of merging."""
    return (event.typed or event.moment.instant or FIRST, event.id)


def _are_twins(one: Event, other: Event) -> bool:
    if not isinstance(one.body, Flights) or not isinstance(other.body, Flights):
        return False
    if _follows(one, other) or _follows(other, one):
        # Put in order by hand: both were flown.
        return False
    start, begin = one.moment.instant, other.moment.instant
    if start is not None and begin is not None:
        if abs(start - begin) <= NEAR:
            return True
        first, last = (one, other) if start < begin else (other, one)
        return find_end(first, timedelta(0)) > (last.moment.instant or begin)
    same = (one.body.count, one.body.minutes) == (other.body.count, other.body.minutes)
    if one.machine != other.machine:
        return same
    # Single flights typed as they are flown are alike by nature; a whole day's sum is not.
    return (
        one.body.count > 1 and start is None and begin is None and _figures(one) == _figures(other)
    )


def _figures(event: Event) -> tuple[object, ...]:
    """All that a flights record says in figures: alike in every one, it was typed twice."""
    body = event.body
    if not isinstance(body, Flights):
        return ()
    uses = None if body.uses is None else tuple(sorted(ref.name for ref in body.uses))
    return (body.count, body.minutes, body.each, body.landings, body.engine_minutes, uses)


def _follows(event: Event, other: Event) -> bool:
    return event.after is not None and other.id.startswith(event.after.event)


def find_end(event: Event, unknown: timedelta) -> datetime:
    """When the flights of a timed record were over, at the earliest."""
    start = event.moment.instant or FIRST
    minutes = event.body.minutes if isinstance(event.body, Flights) else None
    if minutes is None:
        return start + unknown
    return start + timedelta(minutes=float(min(minutes, _LONGEST)))
