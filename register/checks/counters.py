"""Counters that limits and entries name, and that nothing counts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from register.checks.survey import Survey, warn
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Charge, EngineRun, Flights, MeterReading
from register.records.events import Event
from register.records.kinds import gains_counter
from register.records.opening import Opening
from register.records.programmes import CounterInterval, Task
from register.records.scalars import nearest
from register.records.standing_files import PartFile, PerFlight
from register.trouble import Level, Place, Problem


def check_counters_known(survey: Survey) -> Iterator[Problem]:
    """Counters that the fleet does not have. Under a limit it is an error: it never comes."""
    records = survey.ledger.records
    for place, counter, level in _named_counters(survey.ledger):
        if counter in records.fleet.counters:
            continue
        limit = "; this limit never comes" if level == "error" else ""
        guess = nearest(counter, records.fleet.counters)
        make = f'add it to fleet.yaml under counters:  - "{counter}"'
        yield Problem(
            place,
            "counter-unknown",
            f"the fleet has no counter {counter!r}{limit}",
            f'write  "{guess}"  in its place' if guess else make,
            level,
        )


def _named_counters(ledger: Ledger) -> Iterator[tuple[Place, str, Level]]:
    records = ledger.records
    for programme in records.programmes.values():
        for task in programme.tasks:
            yield from ((place, counter, "error") for place, counter in _task_counters(task))
    for part in records.parts.values():
        yield from _part_counters(part)
    for file in records.aircraft.values():
        yield from _opening_counters(file.opening, file.path)
        yield from _figure_counters(file.per_flight)
    for kit in records.kits.values():
        yield from _figure_counters(kit.per_flight)
    for counters in records.fleet.part_kinds.values():
        yield from ((records.fleet.place, counter, "warning") for counter in counters)
    for event in ledger.events:
        yield from _event_counters(event)


def _part_counters(part: PartFile) -> Iterator[tuple[Place, str, Level]]:
    for life in part.life:
        if life.counter is not None:
            yield life.place, life.counter, "error"
    yield from ((Place(part.path), counter, "warning") for counter in part.counters or ())
    yield from _opening_counters(part.opening, part.path)


def _figure_counters(figures: Mapping[str, PerFlight]) -> Iterator[tuple[Place, str, Level]]:
    for counter, figure in figures.items():
        yield figure.place, counter, "warning"


def _event_counters(event: Event) -> Iterator[tuple[Place, str, Level]]:
    if isinstance(event.body, MeterReading):
        yield event.place("counter"), event.body.counter, "warning"
    elif isinstance(event.body, Flights):
        for counter, _ in event.body.gained:
            yield event.place("counters"), counter, "warning"


def _task_counters(task: Task) -> Iterator[tuple[Place, str]]:
    for terms in task.terms:
        for interval in (*terms.every, *terms.first):
            if isinstance(interval, CounterInterval):
                yield interval.place, interval.counter
    for start in task.starts:
        if start.after_counter is not None:
            yield start.place, start.after_counter


def _opening_counters(opening: Opening, path: str) -> Iterator[tuple[Place, str, Level]]:
    for counter in opening.counters:
        yield opening.places.get(counter, Place(path)), counter, "warning"
    for item in opening.tasks:
        yield from ((item.place, counter, "warning") for counter in item.at)


def check_limits_count(survey: Survey) -> Iterator[Problem]:
    """A limit in a counter that its subject never gains: it would never come."""
    ledger = survey.ledger
    counters = ledger.records.fleet.counters
    for part in ledger.records.parts.values():
        for life in part.life:
            if life.counter in counters and not _gains(ledger, ("part", part.name), life.counter):
                yield _idle(life.place, f"{part.name} is a {part.kind}", life.counter or "")
    kinds = ledger.records.fleet.part_kinds
    for programme in ledger.records.programmes.values():
        for task in programme.tasks:
            for place, counter in _task_counters(task):
                if counter in counters and not _task_gains(task, counter, kinds):
                    yield _idle(place, _on_words(task), counter)


def _gains(ledger: Ledger, subject: Subject, counter: str | None) -> bool:
    return counter is not None and ledger.counters.gains(subject, counter)


def _task_gains(task: Task, counter: str, kinds: Mapping[str, tuple[str, ...]]) -> bool:
    if task.on == "aircraft":
        return counter != "charges"
    if task.on == "part_kind":
        return gains_counter(task.on_name, counter, kinds.get(task.on_name))
    # What will stand at a position is not known here.
    return True


def _on_words(task: Task) -> str:
    return (
        f"it is on parts of kind {task.on_name}"
        if task.on == "part_kind"
        else "it is on the aircraft"
    )


def _idle(place: Place, says: str, counter: str) -> Problem:
    return warn(
        place,
        "limit-idle",
        f"this limit in {counter} never comes: {says}, which gains none",
        "write another counter, or list it:  counters: "
        f'["{counter}"] in part.yaml, or in fleet.yaml under part_kinds',
    )


def check_entries_count(survey: Survey) -> Iterator[Problem]:
    """Charges, engine runs and uses that name a part which gains nothing from them."""
    ledger = survey.ledger
    for event in ledger.events:
        body = event.body
        if isinstance(body, Charge):
            refs, counter = body.parts, "charges"
        elif isinstance(body, EngineRun):
            refs, counter = ((body.part,) if body.part else ()), "engine-minutes"
        else:
            if isinstance(body, Flights):
                yield from _check_uses(survey, event, body)
            continue
        for ref in refs:
            part = ledger.names.part_name(ref)
            if part is not None and not ledger.counters.gains(("part", part), counter):
                kind = ledger.records.parts[part].kind
                yield warn(
                    ref.place,
                    "entry-idle",
                    f"{part} is a {kind} and gains no {counter}; this counts nothing for it",
                    f"tailsheaf withdraw {survey.short(event)}   if another part was meant",
                )


def _check_uses(survey: Survey, event: Event, body: Flights) -> Iterator[Problem]:
    ledger = survey.ledger
    for ref in body.uses or ():
        part = ledger.names.part_name(ref)
        file = ledger.records.parts[part] if part is not None else None
        if file is not None and file.use != "assigned":
            yield warn(
                ref.place,
                "entry-idle",
                f"uses: {file.name} counts where it is installed; naming it here adds nothing",
                f'take it out of uses, or write  use: "assigned"  in {file.path}',
            )
