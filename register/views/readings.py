"""Every reading ever taken, as series: one physical thing, one name, one unit, in order.

From tasks done, readings of their own, sizes of marks, throws, and leak-downs (their true loss).
What was read on an aircraft at a position belongs to the part that stood there then, and goes
with it. Two units of one name are two series, and each names the other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from functools import cached_property

from msgspec import Struct

from register.findings.snags import fold_snags
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.as_built import read_section
from register.records.bodies import Measured, Reading, Snag, TaskDone
from register.records.events import Event
from register.records.programmes import Task
from register.records.values import Basis
from register.records.workshop_bodies import ThrowSheet
from register.views.leaks import SystemLine, view_leaks

Source = str
"""Where a series comes from: a task's id behind "task:", or reading, throws, leak, damage."""

LEAK_UNIT = "bar/h"


class Key(Struct, frozen=True):
    """What makes readings one series. `place` is a position, surface, air system or snag."""

    subject: Subject
    place: str
    source: Source
    name: str
    unit: str


class Read(Struct, frozen=True):
    """One reading. `spell` counts the steps before it; `out` is what a done said of itself."""

    event: Event
    value: float
    spell: int = 0
    out: bool = False


class Bounds(Struct, frozen=True):
    """The least and the most that is allowed, and where that comes from."""

    low: float | None
    high: float | None
    basis: Basis
    rule: str

    def is_out(self, value: float) -> bool:
        """Whether a value lies beyond."""
        return (self.high is not None and value > self.high) or (
            self.low is not None and value < self.low
        )


class Gathered(Struct, frozen=True):
    """A series before its steps are known."""

    key: Key
    reads: tuple[Read, ...]
    unknown: int
    other_units: tuple[tuple[str, int], ...]


class Gatherer:
    """All series of a ledger. Facts only: no limit, no step."""

    def __init__(self, ledger: Ledger):
        self.ledger = ledger
        self._reads: dict[Key, list[Read]] = defaultdict(list)
        self._unknown: dict[Key, int] = defaultdict(int)
        self._tasks: dict[Subject, tuple[Task, ...]] = {}
        self._systems: dict[str, frozenset[str]] = {}

    @cached_property
    def leaks(self) -> dict[tuple[str, str], SystemLine]:
        """Every air system that has a leak-down, by aircraft and system."""
        found: dict[tuple[str, str], SystemLine] = {}
        for aircraft in sorted(self.ledger.records.aircraft):
            if not self._air(aircraft):
                continue
            day = self.ledger.events[-1].moment.day if self.ledger.events else None
            if day is None:
                continue
            for line in view_leaks(self.ledger, aircraft, day, ()).systems:
                found[aircraft, line.system.name] = line
        return found

    def gather(self) -> tuple[Gathered, ...]:
        """Every series, by subject and name."""
        for event in self.ledger.events:
            body = event.body
            if isinstance(body, TaskDone):
                self._add_done(event, body)
            elif isinstance(body, Reading):
                self._add_reading(event, body)
            elif isinstance(body, ThrowSheet):
                self._add_sheet(event, body)
            elif isinstance(body, Snag) and body.size is not None:
                self._add_size(event, event.id, Measured("size", body.size, "mm"))
        self._add_leaks()
        return tuple(self._finish())

    def _finish(self) -> Iterator[Gathered]:
        units: dict[tuple[Subject, str, str, str], dict[str, int]] = defaultdict(dict)
        for key, reads in self._reads.items():
            same = (key.subject, key.place, key.source, key.name)
            units[same][key.unit] = len(reads)
        for key in sorted(self._reads, key=_order):
            same = (key.subject, key.place, key.source, key.name)
            others = tuple((unit, n) for unit, n in units[same].items() if unit != key.unit)
            rank = self.ledger.rank
            reads = sorted(self._reads[key], key=lambda read: rank[read.event.id])
            yield Gathered(key, tuple(reads), self._unknown[key], others)

    def _add(self, key: Key, event: Event, value: Decimal | float | None, *, out: bool) -> None:
        if value is None:
            self._unknown[key] += 1
        else:
            self._reads[key].append(Read(event, float(value), out=out))

    # --- sources ------------------------------------------------------------

    def _add_done(self, event: Event, body: TaskDone) -> None:
        if not body.readings:
            return
        subject = self.ledger.subject_of(body.subject)
        if subject is None:
            return
        subject, place = self._resolve(event, body, subject)
        for item in body.readings:
            key = Key(subject, place, f"task:{body.task}", item.name, _unit(item.unit))
            self._add(key, event, item.value, out=body.result == "fail")

    def _resolve(self, event: Event, body: TaskDone, subject: Subject) -> tuple[Subject, str]:
        """On a position of an aircraft: of the part that stood there then."""
        if subject[0] == "part":
            return subject, ""
        task = next((one for one in self.tasks_of(subject) if one.id == body.task), None)
        position = body.position or (task.on_name if task and task.on == "position" else None)
        if position is None:
            return subject, ""
        part = find_part_at(self.ledger, subject[1], position, event)
        return (subject, position) if part is None else (("part", part), "")

    def _add_reading(self, event: Event, body: Reading) -> None:
        if body.snag is not None:
            self._add_size(event, body.snag, body.measured)
            return
        subject = self.ledger.subject_of(body.subject)
        name = body.measured.name
        if subject is None or (subject[0] == "aircraft" and name in self._air(subject[1])):
            return
        asking = [
            task.id
            for task in self.tasks_of(subject)
            if any(wanted.name == name for wanted in task.readings)
        ]
        # One task asks for it: then it is of that task's series, though taken in between.
        source = f"task:{asking[0]}" if len(asking) == 1 else "reading"
        key = Key(subject, "", source, name, _unit(body.measured.unit))
        self._add(key, event, body.measured.value, out=False)

    def _add_size(self, event: Event, snag: str, measured: Measured) -> None:
        folded = fold_snags(self.ledger)
        state = folded.get(snag)
        if state is None:
            matching = [one for id_, one in folded.items() if id_.startswith(snag)]
            state = matching[0] if len(matching) == 1 and len(snag) >= 4 else None
        if state is None:
            return
        subject: Subject | None = ("part", state.part) if state.part else None
        if subject is None and state.found_on is not None:
            subject = ("aircraft", state.found_on)
        if subject is not None:
            key = Key(subject, state.id, "damage", measured.name, _unit(measured.unit))
            self._add(key, event, measured.value, out=False)

    def _add_sheet(self, event: Event, body: ThrowSheet) -> None:
        aircraft = self.ledger.names.aircraft_name(body.aircraft)
        if aircraft is None:
            return
        subject: Subject = ("aircraft", aircraft)
        unit = "°" if body.measure == "degrees" else "mm"
        station = f" at {body.station.normalize():f} mm" if body.station is not None else ""
        measure = "" if body.measure == "degrees" else f" {body.measure}"
        for throw in body.throws:
            name = f"throw {throw.way}, {body.rate}{measure}{station}"
            key = Key(subject, body.surface, "throws", name, unit)
            self._add(key, event, throw.value, out=False)
        for item in body.readings:
            key = Key(subject, body.surface, "throws", item.name, _unit(item.unit))
            self._add(key, event, item.value, out=False)

    def _add_leaks(self) -> None:
        for (aircraft, name), line in self.leaks.items():
            key = Key(("aircraft", aircraft), name, "leak", "true loss", LEAK_UNIT)
            for test in line.tests:
                found = test.found
                if found is None or found.true_loss is None or test.state == "rose":
                    continue
                rate = found.true_loss / found.minutes * 60
                self._add(key, test.taken[-1].event, rate, out=test.state == "out")

    # --- what is asked ------------------------------------------------------

    def _air(self, aircraft: str) -> frozenset[str]:
        found = self._systems.get(aircraft)
        if found is None:
            found = frozenset(read_section(self.ledger.records, aircraft, "air")[0])
            self._systems[aircraft] = found
        return found

    def tasks_of(self, subject: Subject) -> tuple[Task, ...]:
        """Tasks that are on a subject, or were while it stood where they are."""
        found = self._tasks.get(subject)
        if found is None:
            found = self._tasks[subject] = tuple(self._find_tasks(subject))
        return found

    def _find_tasks(self, subject: Subject) -> Iterator[Task]:
        if subject[0] == "aircraft":
            yield from self.ledger.tasks(subject[1])
            return
        part = self.ledger.records.parts[subject[1]]
        spells = self.ledger.places.spells.get(part.name, ())
        hosts = [spell.aircraft for spell in reversed(spells) if spell.aircraft]
        hosts.extend(self.ledger.places.used_since(part.name))
        places = {spell.position for spell in spells}
        seen: set[str] = set()
        for host in dict.fromkeys(hosts):
            for task in self.ledger.tasks(host):
                mine = (task.on == "part_kind" and task.on_name == part.kind) or (
                    task.on == "position" and task.on_name in places
                )
                if mine and task.id not in seen:
                    seen.add(task.id)
                    yield task


def _unit(written: str) -> str:
    """A unit as it is compared: spaces and a capital make no other one."""
    return written.strip() if written.strip().isupper() else written.strip().replace(" ", "")


def _order(key: Key) -> tuple[str, str, str, str, str, str]:
    return (*key.subject, key.place, key.source, key.name, key.unit)


def find_part_at(ledger: Ledger, aircraft: str, position: str, event: Event) -> str | None:
    """The part that stood at a position when something was recorded; the later one in doubt."""
    point = ledger.orders.last_point(event.id)
    chosen: str | None = None
    for spell in ledger.places.history_at(aircraft, position):
        if ledger.orders.compare(spell.start.earliest, point) == "after":
            break
        ended = spell.end is not None and (
            ledger.orders.compare(spell.end.latest, point) == "before"
        )
        chosen = None if ended else spell.part
    return chosen
