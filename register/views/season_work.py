"""Tasks done, on time or late, and how long they stood past their last points, from the folds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import TaskDone
from register.records.events import Event
from register.records.programmes import Task
from register.tasks.calendar_dues import fold_calendar
from register.tasks.counter_dues import fold_counter
from register.tasks.intervals import SideDue
from register.tasks.items import Dones, find_opening
from register.views.season_missed import Overdue, find_stretches


class Side(Struct, frozen=True):
    """By how much one done came after its last permitted point, on one side."""

    side: str
    beyond: Decimal


class DoneLine(Struct, frozen=True):
    """One done: whose it was, whether it failed, and how late."""

    event: Event
    aircraft: str
    task: str
    subject: Subject
    failed: bool
    late: tuple[Side, ...]


def list_upkeep(
    ledger: Ledger, today: date
) -> tuple[tuple[DoneLine, ...], dict[str, list[Overdue]]]:
    """Every done in order, of the aircraft a part was in then; what stood past, by aircraft."""
    late: dict[str, dict[str, Side]] = defaultdict(dict)
    stood: dict[str, list[Overdue]] = defaultdict(list)
    dones = Dones(ledger)
    for aircraft in sorted(ledger.records.aircraft):
        for task in ledger.tasks(aircraft):
            for subject, position in _subjects(ledger, aircraft, task):
                passed = [
                    event
                    for event in dones.of(task, subject, position)
                    if isinstance(event.body, TaskDone) and event.body.result != "fail"
                ]
                for folded in _folds(ledger, aircraft, task, subject, passed):
                    for found in folded.lateness:
                        if found.beyond > 0:
                            late[found.event.id][folded.side] = Side(folded.side, found.beyond)
                    stood[aircraft].extend(
                        Overdue(aircraft, task.id, subject, position, first, done)
                        for first, done in find_stretches(ledger, subject, task, folded, today)
                    )
    return tuple(_lines(ledger, late)), stood


def _folds(
    ledger: Ledger, aircraft: str, task: Task, subject: Subject, passed: list[Event]
) -> Iterator[SideDue]:
    opening = find_opening(ledger, aircraft, task, subject)
    sides = {interval.side for terms in task.terms for interval in (*terms.every, *terms.first)}
    for side in sorted(sides):
        yield (
            fold_calendar(ledger, subject, task, passed, opening, told=False)
            if side == "calendar"
            else fold_counter(ledger, subject, task, side, passed, opening, told=False)
        )


def _subjects(ledger: Ledger, aircraft: str, task: Task) -> Iterator[tuple[Subject, str | None]]:
    """All that a task was ever on: the aircraft, or each part that stood where it is."""
    if task.on == "aircraft":
        yield ("aircraft", aircraft), None
    elif task.on == "position":
        spells = ledger.places.history_at(aircraft, task.on_name)
        for part in dict.fromkeys(spell.part for spell in spells):
            yield ("part", part), task.on_name
    else:
        for name, file in sorted(ledger.records.parts.items()):
            if file.kind == task.on_name and _was_with(ledger, name, aircraft):
                yield ("part", name), None


def _was_with(ledger: Ledger, part: str, aircraft: str) -> bool:
    if aircraft in ledger.places.used_since(part):
        return True
    return any(spell.aircraft == aircraft for spell in ledger.places.spells.get(part, ()))


def _lines(ledger: Ledger, late: dict[str, dict[str, Side]]) -> Iterator[DoneLine]:
    for event in ledger.events:
        body = event.body
        subject = ledger.subject_of(body.subject) if isinstance(body, TaskDone) else None
        if subject is None or not isinstance(body, TaskDone):
            continue
        aircraft = aircraft_then(ledger, subject, event.moment.day)
        if aircraft is not None:
            sides = tuple(late.get(event.id, {}).values())
            failed = body.result == "fail"
            yield DoneLine(event, aircraft, body.task, subject, failed, sides)


def aircraft_then(ledger: Ledger, subject: Subject, day: date) -> str | None:
    """The aircraft a thing belonged with on a day: it was in it, or it was last, or came next."""
    kind, name = subject
    if kind == "aircraft":
        return name
    before: tuple[date, str] | None = None
    after: tuple[date, str] | None = None
    for spell in ledger.places.spells.get(name, ()):
        host = spell.aircraft
        if host is None and spell.into is not None and spell.into != name:
            host = _host_of(ledger, spell.into)
        if host is None:
            continue
        first = ledger.orders.events[spell.start.earliest.event].moment.day
        if first <= day and (before is None or first >= before[0]):
            before = (first, host)
        elif first > day and (after is None or first < after[0]):
            after = (first, host)
    for host, since in ledger.places.used_since(name).items():
        if since <= day and (before is None or since > before[0]):
            before = (since, host)
        elif since > day and (after is None or since < after[0]):
            after = (since, host)
    found = before or after
    return found[1] if found else None


def _host_of(ledger: Ledger, part: str) -> str | None:
    spells = [spell for spell in ledger.places.spells.get(part, ()) if spell.aircraft]
    return spells[-1].aircraft if spells else None
