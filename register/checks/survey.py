"""What several rules share: the ledger on a day, short ids, and what a point in time falls in."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.ledger.order import Point
from register.ledger.places import Spell
from register.records.bodies import Flights
from register.records.events import Event
from register.records.programmes import Task
from register.records.scalars import nearest
from register.tasks.items import Dones, Item, view_items
from register.trouble import Place, Problem

#: Ids are typed by at least so many characters.
SHORTEST = 4
#: So many other places are named with a problem that concerns many records.
MOST_RELATED = 5


class Survey:
    """A ledger as surveyed on a day. Every rule reads it, none changes it."""

    def __init__(self, ledger: Ledger, today: date, sources: Mapping[str, bytes] | None = None):
        self.ledger = ledger
        self.today = today
        #: The bytes of the files, for rules about what one says now.
        self.sources: Mapping[str, bytes] = sources or {}

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """Every task of every aircraft, as it stands on the day."""
        return view_items(self.ledger, self.today)

    @cached_property
    def dones(self) -> Dones:
        """Every done, by task."""
        return Dones(self.ledger)

    @cached_property
    def task_names(self) -> frozenset[str]:
        """Ids of the tasks of all programmes."""
        return frozenset(
            task.id for file in self.ledger.records.programmes.values() for task in file.tasks
        )

    @cached_property
    def aircraft(self) -> tuple[str, ...]:
        """Names of all aircraft."""
        return tuple(sorted(self.ledger.records.aircraft))

    def is_lost(self, subject: Subject | None) -> bool:
        """Is nothing but the name known of an aircraft or part: its file cannot be read?"""
        records = self.ledger.records
        return subject is not None and self.ledger.file_of(subject).path in records.lost

    def has_lost(self, top: str) -> bool:
        """Is any file of this folder lost: a name that no file bears may be that one's?"""
        return any(path.startswith(f"{top}/") for path in self.ledger.records.lost)

    def is_lost_id(self, typed: str) -> bool:
        """Does an id, or its beginning, mean an event whose file cannot be read?"""
        return len(typed) >= SHORTEST and any(id_.startswith(typed) for id_ in self._lost_ids)

    @cached_property
    def _lost_ids(self) -> frozenset[str]:
        return self.ledger.records.lost_ids

    @cached_property
    def _ids(self) -> list[str]:
        return sorted(self.ledger.settled.originals)

    def short(self, event: Event) -> str:
        """The shortest beginning of an event's id that no other id has."""
        id_ = event.id
        at = bisect_left(self._ids, id_)
        length = SHORTEST
        for other in (*self._ids[max(at - 1, 0) : at], *self._ids[at + 1 : at + 2]):
            length = max(length, _shared(id_, other) + 1)
        return id_[:length]

    def tasks_named(self, name: str) -> tuple[Task, ...]:
        """Tasks of any programme with this id."""
        programmes = self.ledger.records.programmes
        return tuple(
            task
            for file in sorted(programmes)
            for task in programmes[file].tasks
            if task.id == name
        )

    def flights_of(self, subject: Subject) -> list[Event]:
        """Flights records that surely count for an aircraft or part, in order."""
        return [
            found.event
            for found in self.ledger.counters.contributions(subject)
            if isinstance(found.event.body, Flights) and any(p.sure for p in found.pieces)
        ]

    def last_day_within(self, subject: Subject, counter: str, permitted: Decimal) -> date | None:
        """The last day on which a counter was not yet past a value; None: it is not past it."""
        flights = self.flights_of(subject)
        ledger = self.ledger

        def is_past(n: int) -> bool:
            after = flights[n + 1] if n + 1 < len(flights) else None
            until = ledger.orders.segments(after.id)[0] if after is not None else None
            value = ledger.value(subject, counter, until)
            return (value.low if value.high is None else value.high) > permitted

        first = bisect_left(range(len(flights)), True, key=is_past)
        return flights[first].moment.day - timedelta(days=1) if first < len(flights) else None

    def is_inside(self, spell: Spell, point: Point) -> bool | None:
        """Does a point lie in a stay: True surely, None perhaps, False surely not?"""
        compare = self.ledger.orders.compare
        if compare(spell.start.earliest, point) == "after":
            return False
        if spell.end is not None and compare(spell.end.latest, point) == "before":
            return False
        sure = compare(spell.start.latest, point) == "before"
        if spell.end is not None:
            sure = sure and compare(point, spell.end.earliest) == "before"
        return True if sure else None


def _shared(one: str, other: str) -> int:
    """How many first characters two ids have in common."""
    length = 0
    for a, b in zip(one, other, strict=False):
        if a != b:
            break
        length += 1
    return length


def warn(place: Place, code: str, says: str, mend: str, related: Iterable[Place] = ()) -> Problem:
    """An unlikely fact: recorded and counted, and pointed out."""
    return Problem(place, code, says, mend, "warning", tuple(related)[:MOST_RELATED])


def record_done(task: Task, subject: str, day: date) -> str:
    """The line that records a check that was done by a day, with the readings it asks for."""
    readings = "".join(f" -r {item.name}=VALUE{item.unit}" for item in task.readings)
    return (
        f"tailsheaf done {task.id} {subject} --at {day.isoformat()}{readings}"
        "   (if it was done by then and not recorded)"
    )


def name_known(word: str, known: Iterable[str], key: str, make: str) -> str:
    """The mend of a name that nothing has: the nearest, else how to make one."""
    guess = nearest(word, known)
    return f'write  {key}: "{guess}"' if guess else make


def count_flights(events: Iterable[Event]) -> int:
    """Flights in several records."""
    return sum(event.body.count for event in events if isinstance(event.body, Flights))


def number_of(count: int, word: str) -> str:
    """With its plural: 1 flight, 3 flights."""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
