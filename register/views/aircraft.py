"""Aircraft as they stand: the list of them, and one with its positions and counters."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from msgspec import Struct

from register.findings.departures import Departure, fold_departures
from register.findings.jobs import JobState, open_jobs
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.opening import OpeningTask
from register.records.owner_bodies import ChangeOfOwner
from register.records.standing_files import AircraftFile, PerFlight, ProgrammeUse
from register.records.values import Span


class AircraftLine(Struct, frozen=True):
    """One aircraft in one line."""

    name: str
    title: str
    stage: str
    kit: str | None
    programmes: tuple[str, ...]
    flights: Span


class AircraftListView(Struct, frozen=True):
    """The answer to `aircraft`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    lines: tuple[AircraftLine, ...]


class PositionLine(Struct, frozen=True):
    """A position and the part fitted there. `listed` false: no file names the position."""

    name: str
    kind: str | None
    required: bool
    part: str | None
    since: date | None
    listed: bool


class CounterLine(Struct, frozen=True):
    """A counter now, and what of it lies before the register began."""

    counter: str
    value: Span
    opening: Span


class ProgrammeLine(Struct, frozen=True):
    """A programme an aircraft follows; `tasks` None: the fleet has no such programme."""

    name: str
    group: str | None
    title: str
    tasks: int | None


class AircraftView(Struct, frozen=True):
    """The answer to `aircraft NAME`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    file: AircraftFile
    kit_title: str | None
    stage: str
    stage_by: Event | None
    positions: tuple[PositionLine, ...]
    assigned: tuple[str, ...]
    counters: tuple[CounterLine, ...]
    per_flight: dict[str, PerFlight]
    programmes: tuple[ProgrammeLine, ...]
    last_dones: tuple[OpeningTask, ...]
    #: Jobs still to do; those of an aircraft not accepted yet stand before its next stage.
    jobs: tuple[JobState, ...] = ()
    #: Departures on trial or curing, and how many were kept.
    unsettled: tuple[Departure, ...] = ()
    departures: int = 0
    #: Nothing but the name is known: the file cannot be read.
    is_lost: bool = False

    @property
    def gone(self) -> date | None:
        """The day on which it went to another owner; None while it is here."""
        by = self.stage_by
        went = by is not None and isinstance(by.body, ChangeOfOwner) and by.body.way == "out"
        return by.moment.day if went and by is not None else None


def view_aircraft_list(ledger: Ledger, day: date, unread: tuple[str, ...]) -> AircraftListView:
    """Every aircraft: stage, kit, programmes, flights."""
    lines = tuple(
        AircraftLine(
            name,
            file.title,
            _tell_stage(ledger, name)[0],
            file.kit.name if file.kit else None,
            tuple(tell_use(ledger, use) for use in file.programmes),
            ledger.value(("aircraft", name), "flights"),
        )
        for name, file in sorted(ledger.records.aircraft.items())
    )
    return AircraftListView(day, not unread, unread, lines)


def _tell_stage(ledger: Ledger, name: str) -> tuple[str, Event | None]:
    """The stage; not known where neither a record nor a file that can be read says it."""
    stage, by = ledger.stage(name)
    lost = by is None and ledger.records.aircraft[name].path in ledger.records.lost
    return ("not-known" if lost else stage), by


def tell_use(ledger: Ledger, use: ProgrammeUse) -> str:
    """A programme as a person types it, under its name in this fleet."""
    programme = ledger.programme(use.ref)
    name = programme.name if programme else use.ref.name
    return f"{name}/{use.group}" if use.group else name


def view_aircraft(ledger: Ledger, name: str, day: date, unread: tuple[str, ...]) -> AircraftView:
    """One aircraft, as its files and its records leave it."""
    file = ledger.records.aircraft[name]
    kit = ledger.records.find_kit(file.kit)
    stage, by = _tell_stage(ledger, name)
    departures = [item for item in fold_departures(ledger).values() if item.aircraft == name]
    return AircraftView(
        day,
        not unread,
        unread,
        file,
        kit.title if kit else None,
        stage,
        by,
        tuple(_view_positions(ledger, name)),
        ledger.places.assigned_parts(name),
        tuple(_view_counters(ledger, name)),
        ledger.per_flight(name),
        tuple(_view_programme(ledger, use) for use in file.programmes),
        file.opening.tasks,
        open_jobs(ledger, name),
        tuple(item for item in departures if item.is_unsettled),
        sum(item.state == "fixed" for item in departures),
        file.path in ledger.records.lost,
    )


def _view_positions(ledger: Ledger, name: str) -> Iterator[PositionLine]:
    fitted = {spell.position: spell for spell in ledger.places.fitted(name) if not spell.assigned}
    listed = ledger.positions(name)
    for position in listed.values():
        spell = fitted.get(position.name)
        yield PositionLine(
            position.name,
            position.kind,
            position.required,
            spell.part if spell else None,
            spell.install.moment.day if spell else None,
            True,
        )
    for found in ledger.places.fitted(name):
        if not found.assigned and found.position not in listed:
            yield PositionLine(
                found.position or "(no position)",
                None,
                False,
                found.part,
                found.install.moment.day,
                False,
            )


def _view_counters(ledger: Ledger, name: str) -> Iterator[CounterLine]:
    """Counters that moved, were given, or are not known."""
    file = ledger.records.aircraft[name]
    for counter in ledger.listed_counters(("aircraft", name)):
        value = ledger.value(("aircraft", name), counter)
        gained = ledger.gained(("aircraft", name), counter, None)
        moved = gained.high is None or gained.high > 0
        if counter == "flights" or counter in file.opening.counters or moved:
            yield CounterLine(counter, value, file.opening.value(counter))


def _view_programme(ledger: Ledger, use: ProgrammeUse) -> ProgrammeLine:
    programme = ledger.programme(use.ref)
    if programme is None:
        return ProgrammeLine(use.ref.name, use.group, "", None)
    if programme.path in ledger.records.lost:
        return ProgrammeLine(programme.name, use.group, "its file cannot be read", None)
    tasks = [task for task in programme.tasks if use.group in (None, task.group)]
    return ProgrammeLine(programme.name, use.group, programme.title, len(tasks))
