"""Where a series begins anew, and by what it is bounded.

A step is work after which the figure is another one: readings before and after are never
compared. On a part: a fix of one of its snags, and its overhaul; going to another aircraft is
no step, because it is the same thing. On an aircraft: a fix, installation or removal at the place
that is measured or that its task names; new throws set up; and, after a reading that was out, the
next fix or part on that aircraft, whatever place it names, and the next departure from the manual
at the place itself: one elsewhere, or without a place, is about something else.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from register.findings.snags import SnagState, fold_snags
from register.ledger.ledger import Ledger
from register.records.as_built import read_section
from register.records.bodies import Fix, Install, Remove, Snag, TaskDone
from register.records.events import Event
from register.records.programmes import ReadingWanted, Task
from register.records.surfaces import Surface
from register.records.values import Basis
from register.records.workshop_bodies import Modification, ThrowSheet
from register.tasks.starts import Asked, find_triggers
from register.views.readings import Bounds, Gathered, Gatherer, Read

_WORK = ("fix", "work", "install")


class StepMark(Struct, frozen=True):
    """Work after which a series begins anew."""

    event: Event
    says: str


class Series(Struct, frozen=True):
    """Readings of one thing in order, each in its spell, with the steps between spells."""

    gathered: Gathered
    reads: tuple[Read, ...]
    steps: tuple[StepMark, ...]
    bounds: Bounds | None

    @property
    def since_step(self) -> StepMark | None:
        """The last step, where nothing was read after it."""
        if self.steps and self.reads and self.reads[-1].spell < len(self.steps):
            return self.steps[-1]
        return None


class Stepper:
    """Finds steps and bounds of gathered series."""

    def __init__(self, ledger: Ledger, gatherer: Gatherer):
        self.ledger = ledger
        self.gatherer = gatherer
        self._fixes: dict[str, list[tuple[Event, SnagState]]] = {}
        for state in fold_snags(ledger).values():
            for fix in state.fixes:
                for name in {state.part, state.found_on, *state.hosts} - {None}:
                    self._fixes.setdefault(name or "", []).append((fix, state))

    def build(self, gathered: Gathered) -> Series:
        """A series with its steps; each reading gets the number of its spell."""
        task = self._task(gathered)
        bounds = self._bounds(gathered, task)
        reads = tuple(
            replace(read, out=read.out or (bounds is not None and bounds.is_out(read.value)))
            for read in gathered.reads
        )
        rank = self.ledger.rank
        marks = {mark.event.id: mark for mark in self._steps(gathered, task, reads)}
        steps = sorted(marks.values(), key=lambda mark: rank[mark.event.id])
        # Work before the first reading is no step of the series.
        first = rank[reads[0].event.id] if reads else 0
        steps = [mark for mark in steps if rank[mark.event.id] > first]
        steps = list(_thin(steps, reads, rank))
        counted = tuple(
            replace(read, spell=sum(rank[mark.event.id] <= rank[read.event.id] for mark in steps))
            for read in reads
        )
        return Series(gathered, counted, tuple(steps), bounds)

    def _task(self, gathered: Gathered) -> Task | None:
        key = gathered.key
        if not key.source.startswith("task:"):
            return None
        id_ = key.source.removeprefix("task:")
        return next((task for task in self.gatherer.tasks_of(key.subject) if task.id == id_), None)

    # --- steps --------------------------------------------------------------

    def _steps(
        self, gathered: Gathered, task: Task | None, reads: Sequence[Read]
    ) -> Iterator[StepMark]:
        subject, place = gathered.key.subject, gathered.key.place
        if subject[0] == "part":
            for fix, state in self._fixes.get(subject[1], ()):
                if state.part == subject[1]:
                    yield _fixed(fix)
            last = self._overhauls(subject[1])
            yield from (StepMark(event, "overhauled") for event in last)
            return
        places = {place, *(task.at if task else ())} - {""}
        for fix, state in self._fixes.get(subject[1], ()):
            snag = state.event.body
            zone = snag.zone if isinstance(snag, Snag) else None
            if places & {state.position, zone, state.id}:
                yield _fixed(fix)
        yield from self._moves(subject[1], places)
        if task is not None:
            yield from self._by_task(subject[1], task, gathered)
        if gathered.key.source == "throws":
            yield from self._set_up(subject[1], place)
        yield from self._after_out(subject[1], places, reads)

    def _overhauls(self, part: str) -> Iterator[Event]:
        tasks = {task.id for task in self.gatherer.tasks_of(("part", part)) if task.overhaul}
        for event in self.ledger.about(("part", part)) if tasks else ():
            body = event.body
            if isinstance(body, TaskDone) and body.task in tasks and body.result != "fail":
                yield event

    def _moves(self, aircraft: str, places: set[str]) -> Iterator[StepMark]:
        for place in places:
            for spell in self.ledger.places.history_at(aircraft, place):
                yield StepMark(spell.install, f"{spell.part} fitted")
                if spell.removal is not None:
                    yield StepMark(spell.removal, f"{spell.part} taken off")

    def _by_task(self, aircraft: str, task: Task, gathered: Gathered) -> Iterator[StepMark]:
        """Work that the task itself says it must be done after."""
        for start in task.starts:
            # A start that names no place is about any work: it opens the task, and is no step.
            if start.when in _WORK and (start.positions or start.kinds):
                day = gathered.reads[-1].event.moment.day
                subject = gathered.key.subject
                asked = Asked(self.ledger, aircraft, subject, None, task, day, ())
                yield from (_worked(event) for event in find_triggers(asked, start))

    def _set_up(self, aircraft: str, surface: str) -> Iterator[StepMark]:
        for event in self.ledger.about(("aircraft", aircraft)):
            body = event.body
            if isinstance(body, ThrowSheet) and body.surface == surface and body.sets_up:
                yield StepMark(event, "set up")

    def _after_out(
        self, aircraft: str, places: set[str], reads: Sequence[Read]
    ) -> Iterator[StepMark]:
        """What was done about a reading that was out: before the next reading, and after it."""
        rank = self.ledger.rank
        work = [
            *(event for event in self.ledger.happenings(aircraft) if _is_part_move(event)),
            *(fix for fix, _ in self._fixes.get(aircraft, ())),
            *(
                event
                for event in self.ledger.about(("aircraft", aircraft))
                if isinstance(event.body, Modification) and event.body.at in places
            ),
        ]
        ranked = {rank[event.id]: event for event in work}
        for n, read in enumerate(reads):
            if not read.out:
                continue
            begin = rank[read.event.id]
            end = rank[reads[n + 1].event.id] if n + 1 < len(reads) else len(rank)
            after = [event for at, event in ranked.items() if begin < at < end]
            yield from (_worked(event) for event in after)

    # --- bounds -------------------------------------------------------------

    def _bounds(self, gathered: Gathered, task: Task | None) -> Bounds | None:
        key = gathered.key
        if not gathered.reads:
            return None
        if key.source == "leak":
            return self._leak_bounds(key.subject[1], key.place)
        if key.source == "throws":
            return self._throw_bounds(gathered)
        wanted = (
            next((one for one in task.readings if one.name == key.name), None) if task else None
        )
        if task is None or wanted is None:
            return None
        if wanted.unit and wanted.unit.replace(" ", "").casefold() != key.unit.casefold():
            return None
        return _wanted_bounds(wanted, gathered.reads[0].value, task.id)

    def _leak_bounds(self, aircraft: str, system: str) -> Bounds | None:
        line = self.gatherer.leaks[aircraft, system]
        test = next((test for test in reversed(line.tests) if test.allowed is not None), None)
        if test is None or test.found is None or test.allowed is None:
            return None
        minutes = test.found.minutes
        losses = line.system.losses
        nearest = min(losses, key=lambda loss: abs(float(loss.minutes) - minutes))
        rule = f"what a leak-down of {minutes:.0f} min may lose"
        return Bounds(None, test.allowed / minutes * 60, nearest.basis, rule)

    def _throw_bounds(self, gathered: Gathered) -> Bounds | None:
        """The throw asked for, give or take what the owner states; as measured alike only."""
        key = gathered.key
        surfaces: dict[str, Surface] = read_section(
            self.ledger.records, key.subject[1], "surfaces"
        )[0]
        surface = surfaces.get(key.place)
        body = gathered.reads[-1].event.body
        if surface is None or not isinstance(body, ThrowSheet) or body.station is not None:
            return None
        wanted = surface.wanted_at(body.rate)
        way = key.name.removeprefix("throw ").partition(",")[0]
        value = wanted.way(way) if wanted is not None else None
        if wanted is None or value is None or wanted.tolerance is None:
            return None
        if wanted.measure != body.measure or not key.name.startswith("throw "):
            return None
        middle, room = float(value), float(wanted.tolerance)
        return Bounds(middle - room, middle + room, wanted.basis, f"throws of {surface.name}")


def _wanted_bounds(wanted: ReadingWanted, first: float, task: str) -> Bounds | None:
    lows = [] if wanted.low is None else [float(wanted.low)]
    highs = [] if wanted.high is None else [float(wanted.high)]
    if wanted.ratio_low is not None:
        lows.append(first * float(wanted.ratio_low))
    if wanted.ratio_high is not None:
        highs.append(first * float(wanted.ratio_high))
    if wanted.within is not None:
        lows.append(first - float(wanted.within))
        highs.append(first + float(wanted.within))
    if not lows and not highs:
        return None
    basis: Basis = wanted.basis
    return Bounds(max(lows, default=None), min(highs, default=None), basis, task)


def _thin(
    steps: Sequence[StepMark], reads: Sequence[Read], rank: dict[str, int]
) -> Iterator[StepMark]:
    """Of several steps with no reading between them, the last: they part the same readings."""
    for n, mark in enumerate(steps):
        later = steps[n + 1] if n + 1 < len(steps) else None
        if later is None or any(
            rank[mark.event.id] <= rank[read.event.id] < rank[later.event.id] for read in reads
        ):
            yield mark


def _is_part_move(event: Event) -> bool:
    return isinstance(event.body, Install | Remove)


def _fixed(event: Event) -> StepMark:
    action = event.body.action if isinstance(event.body, Fix) else ""
    return StepMark(event, f"fixed: {action}" if action else "fixed")


def _worked(event: Event) -> StepMark:
    body = event.body
    if isinstance(body, Fix):
        return _fixed(event)
    if isinstance(body, Install | Remove):
        part = body.part.name if body.part else "a part"
        return StepMark(event, f"{part} {'fitted' if isinstance(body, Install) else 'taken off'}")
    return StepMark(
        event, f"changed: {body.text}" if isinstance(body, Modification) else "worked on"
    )
