"""Stretches in which a task stood past its last permitted point, and the seasons that count them.

One rule with late: a done beyond its last permitted point is late, and a season at whose end it
was not yet done has missed it. Both come from the folds that `due` and `why` show.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from msgspec import Struct

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.programmes import Task
from register.tasks.intervals import SideDue
from register.tasks.limits import calendar_limit, counter_limit


class Overdue(Struct, frozen=True):
    """A task past its last permitted point from a day on, until it was done, if it was."""

    aircraft: str
    task: str
    subject: Subject
    position: str | None
    first: date
    done: date | None

    def stands_on(self, day: date) -> bool:
        """Was it past on a day, with nothing done by the end of that day?"""
        return self.first <= day and (self.done is None or self.done > day)


def find_stretches(
    ledger: Ledger, subject: Subject, task: Task, folded: SideDue, day: date
) -> Iterator[tuple[date, date | None]]:
    """First day past the last permitted point, and the day it was done, for one side."""
    for one in folded.lateness:
        if one.beyond > 0:
            done = one.event.moment.day
            yield _first_past(ledger, subject, folded.side, one.beyond, one.event) or done, done
    soon = ledger.records.fleet.soon
    if folded.side == "calendar":
        limit = calendar_limit(task, folded, day, soon)
        if limit.state == "overdue" and limit.permits_to is not None:
            yield limit.permits_to + timedelta(days=1), None
        return
    limit = counter_limit(ledger, subject, task, folded, day, soon)
    if limit.state == "overdue" and limit.left is not None:
        least = limit.left.high if limit.left.low is None else limit.left.low
        beyond = -(least + limit.late)
        yield _first_past(ledger, subject, folded.side, beyond, None) or day, None


def _first_past(
    ledger: Ledger, subject: Subject, side: str, beyond: Decimal, done: Event | None
) -> date | None:
    """The day on which it went past, by how far past it was when it was done, or is now."""
    if side == "calendar":
        return done.moment.day - timedelta(days=int(beyond) - 1) if done is not None else None
    for item in reversed(ledger.counters.contributions(subject)):
        if done is not None and ledger.rank[item.event.id] > ledger.rank[done.id]:
            continue
        gained = ledger.counters.amount(item.event, side, item.pieces)
        beyond -= gained.low if gained.high is None else gained.high
        if beyond <= 0:
            return item.event.moment.day
    return None


def list_missed(
    ledger: Ledger, stretches: Sequence[Overdue], first: date, last: date, flown: Collection[date]
) -> tuple[Overdue, ...]:
    """What a season of one aircraft missed, once for each task and part.

    It went past in the season, or before it and the aircraft was flown so; and it was not done by
    the last day. A part counts while it is there.
    """
    found: dict[tuple[str, Subject], Overdue] = {}
    for one in sorted(stretches, key=lambda item: item.first):
        flew = any(first <= day <= last and day >= one.first for day in flown)
        if one.stands_on(last) and (one.first >= first or flew) and _is_there(ledger, one, last):
            found.setdefault((one.task, one.subject), one)
    return tuple(found.values())


def _is_there(ledger: Ledger, one: Overdue, day: date) -> bool:
    """Does the part still stand in its place on a day?"""
    if one.position is None:
        return True
    return any(
        spell.part == one.subject[1]
        and _day_of(ledger, spell.start.earliest.event) <= day
        and (spell.end is None or _day_of(ledger, spell.end.latest.event) > day)
        for spell in ledger.places.history_at(one.aircraft, one.position)
    )


def _day_of(ledger: Ledger, event: str) -> date:
    return ledger.orders.events[event].moment.day
