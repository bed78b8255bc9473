"""Names that records mention and nothing has: aircraft, parts, snags, tasks, positions, files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from register.checks.survey import Survey, name_known, warn
from register.ledger.ledger import Ledger
from register.records.bodies import Deferral, Fix, Install, Severity, Snag, TaskDone
from register.records.events import Event
from register.records.kinds import PART_KINDS
from register.records.opening import Opening
from register.records.scalars import nearest
from register.records.standing_files import AircraftFile
from register.records.values import Ref
from register.trouble import Level, Place, Problem


def check_aircraft_known(survey: Survey) -> Iterator[Problem]:
    """A record about an aircraft that the fleet does not have counts for nothing."""
    names = survey.ledger.names
    for event in survey.ledger.events:
        ref = getattr(event.body, "aircraft", None)
        if isinstance(ref, Ref) and names.aircraft_name(ref) is None:
            if _may_be_lost(survey, "aircraft", ref):
                continue
            yield _unknown_thing(
                survey, event, "aircraft", ref, survey.aircraft, "aircraft-unknown"
            )
    for paper in survey.ledger.records.papers.values():
        for ref in paper.covers:
            if names.aircraft_name(ref) is None:
                yield Problem(
                    ref.place,
                    "aircraft-unknown",
                    f"covers: no aircraft is called {ref.name!r}; the paper covers nothing there",
                    name_known(ref.name, survey.aircraft, "covers", "take it out of covers"),
                )


def check_parts_known(survey: Survey) -> Iterator[Problem]:
    """A record about a part that the fleet does not have counts for nothing."""
    ledger = survey.ledger
    parts = tuple(ledger.records.parts)
    for event in ledger.events:
        for key, ref in _part_refs(event):
            if ledger.names.part_name(ref) is None and not _may_be_lost(survey, "parts", ref):
                yield _unknown_thing(survey, event, key, ref, parts, "part-unknown")
        subject = getattr(event.body, "subject", None)
        if isinstance(subject, Ref) and ledger.subject_of(subject) is None:
            if any(_may_be_lost(survey, top, subject) for top in ("aircraft", "parts")):
                continue
            yield _unknown_thing(
                survey, event, "subject", subject, (*survey.aircraft, *parts), "subject-unknown"
            )
    for opening in _openings(ledger):
        for task in opening.tasks:
            if task.subject is not None and ledger.subject_of(task.subject) is None:
                name = task.subject.name
                yield warn(
                    task.subject.place,
                    "subject-unknown",
                    f"subject: nothing is called {name!r}; this last-done counts for nothing",
                    name_known(name, (*survey.aircraft, *parts), "subject", "take the line out"),
                )


def _may_be_lost(survey: Survey, top: str, ref: Ref) -> bool:
    """May a name that nothing bears be an older one of a thing whose file cannot be read?

    Its id would tell, and stands in that file.
    """
    return ref.id is not None and survey.has_lost(top)


def _openings(ledger: Ledger) -> Iterator[Opening]:
    yield from (file.opening for file in ledger.records.aircraft.values())
    yield from (file.opening for file in ledger.records.parts.values())


def _part_refs(event: Event) -> Iterator[tuple[str, Ref]]:
    body = event.body
    for key in ("part", "into"):
        ref = getattr(body, key, None)
        if isinstance(ref, Ref):
            yield key, ref
    for key in ("parts", "uses"):
        for ref in getattr(body, key, None) or ():
            yield key, ref


def _unknown_thing(
    survey: Survey, event: Event, key: str, ref: Ref, known: Iterable[str], code: str
) -> Problem:
    what = {"aircraft": "aircraft", "subject": "aircraft or part"}.get(key, "part")
    guess = nearest(ref.name, known)
    line = f"tailsheaf amend {survey.short(event)} {key}={guess or 'NAME'}"
    if guess is None:
        add = (
            f"aircraft {ref.name} --add"
            if key == "aircraft"
            else f"parts {ref.name} --add --kind KIND"
        )
        line = f"tailsheaf {add}   or  {line}"
    return Problem(
        ref.place,
        code,
        f"{key}: no {what} is called {ref.name!r}; the record does not count there",
        line,
    )


def check_snags_known(survey: Survey) -> Iterator[Problem]:
    """A decision about a snag that nobody recorded. A rating lost so is an error: it may ground."""
    settled = survey.ledger.settled
    snags = [id_ for id_, event in settled.originals.items() if event.kind == "snag"]
    for event in survey.ledger.events:
        body = event.body
        if not isinstance(body, Severity | Deferral | Fix):
            continue
        named = body.snags if isinstance(body, Fix) else (body.snag,)
        for id_ in named:
            if survey.is_lost_id(id_):
                continue
            if id_ in snags or (len(id_) >= 4 and sum(s.startswith(id_) for s in snags) == 1):
                continue
            other = settled.originals.get(id_)
            says = (
                f"{id_!r} is a record of {other.kind.replace('-', ' ')}, not a snag"
                if other is not None
                else f"no snag has the id {id_!r}"
            )
            key = "snags" if isinstance(body, Fix) else "snag"
            near = nearest(id_, snags)
            meant = survey.short(settled.originals[near]) if near else "SNAG"
            level: Level = "error" if isinstance(body, Severity) else "warning"
            yield Problem(
                event.place(key),
                "snag-unknown",
                f"{key}: {says}; this {event.kind} counts for nothing",
                f"tailsheaf amend {survey.short(event)} {key}={meant}",
                level,
            )


def check_tasks_known(survey: Survey) -> Iterator[Problem]:
    """A task done, or last done before the register began, that no programme has."""
    names = survey.task_names
    if survey.has_lost("programmes"):
        # Any task may be one of those that cannot be read.
        return
    for event in survey.ledger.events:
        body = event.body
        if isinstance(body, TaskDone) and body.task not in names:
            guess = nearest(body.task, names)
            yield warn(
                event.place("task"),
                "task-unknown",
                f"task: no programme has a task {body.task!r}; nothing is reset by it",
                f"tailsheaf amend {survey.short(event)} task={guess or 'TASK'}",
            )
    for opening in _openings(survey.ledger):
        for task in opening.tasks:
            if task.task not in names:
                yield warn(
                    task.place,
                    "task-unknown",
                    f"task: no programme has a task {task.task!r}; its last-done is lost",
                    name_known(task.task, names, "task", "take these lines out"),
                )


def check_positions_known(survey: Survey) -> Iterator[Problem]:
    """A position that neither the aircraft nor its kit lists, where they list any."""
    ledger = survey.ledger
    for event in ledger.events:
        body = event.body
        if not isinstance(body, Install | Snag | TaskDone) or body.position is None:
            continue
        ref = body.subject if isinstance(body, TaskDone) else body.aircraft
        aircraft = ledger.names.aircraft_name(ref)
        positions = ledger.positions(aircraft) if aircraft is not None else {}
        if not positions or body.position in positions:
            continue
        guess = nearest(body.position, positions)
        amend = f"tailsheaf amend {survey.short(event)} position={guess}"
        yield warn(
            event.place("position"),
            "position-unknown",
            f"position: {aircraft} has no position {body.position!r}",
            amend if guess else f"add it to aircraft/{aircraft}/aircraft.yaml under positions:",
        )


def check_programmes_known(survey: Survey) -> Iterator[Problem]:
    """A programme or a group of one that is not there: its tasks would be missed silently."""
    records = survey.ledger.records
    for file in records.aircraft.values():
        for use in file.programmes:
            found = survey.ledger.programme(use.ref)
            if found is None:
                name = use.ref.name
                yield Problem(
                    use.ref.place,
                    "programme-unknown",
                    f"programmes: no programme is called {name!r}; "
                    f"none of its tasks counts for {file.name}",
                    _replace_programme(file, name, records.programmes),
                )
                continue
            if found.path in records.lost:
                continue
            groups = {task.group for task in found.tasks if task.group is not None}
            if use.group is not None and use.group not in groups:
                guess = nearest(use.group, groups)
                shown = f"{found.name}/{guess}" if guess else found.name
                yield Problem(
                    use.ref.place,
                    "group-unknown",
                    f"programmes: {found.name} has no tasks of a group {use.group!r}",
                    f'write  - "{shown}"',
                )


def _replace_programme(file: AircraftFile, name: str, known: Iterable[str]) -> str:
    guess = nearest(name, known)
    if guess is not None:
        return f'write  - "{guess}"'
    return f"write programmes/{name}.yaml, or take the line out of {file.path}"


def check_kits_known(survey: Survey) -> Iterator[Problem]:
    """A kit that is not there: its positions and figures would be missed."""
    kits = survey.ledger.records.kits
    for file in survey.ledger.records.aircraft.values():
        if file.kit is not None and file.kit.name not in kits:
            name = file.kit.name
            yield warn(
                file.kit.place,
                "kit-unknown",
                f"kit: no kit is called {name!r}; its positions and figures are missing",
                name_known(name, kits, "kit", f"tailsheaf kit {name} --add"),
            )


def check_part_kinds_known(survey: Survey) -> Iterator[Problem]:
    """A kind of part that looks mistyped, or that a required position asks for in vain."""
    records = survey.ledger.records
    known = {*PART_KINDS, *records.fleet.part_kinds, "other"}
    in_use = known | {part.kind for part in records.parts.values()}
    for part in records.parts.values():
        guess = nearest(part.kind, known) if part.kind not in known else None
        if guess is not None:
            yield _kind_problem(Place(part.path), part.kind, guess, "it counts as an unlisted kind")
    listed = [file.positions for file in records.aircraft.values()]
    listed.extend(kit.positions for kit in records.kits.values())
    for positions in listed:
        for position in positions.values():
            if position.kind is None or position.kind in in_use:
                continue
            guess = nearest(position.kind, known)
            if guess is not None or position.required:
                what = f"no part can be of it at {position.name}"
                yield _kind_problem(position.place, position.kind, guess, what)
    for programme in records.programmes.values():
        for task in programme.tasks:
            if task.on == "part_kind" and task.on_name not in in_use:
                guess = nearest(task.on_name, known)
                yield _kind_problem(task.place, task.on_name, guess, "the task is on nothing")


def _kind_problem(place: Place, kind: str, guess: str | None, says: str) -> Problem:
    return warn(
        place,
        "part-kind-unknown",
        f"no part kind is called {kind!r}; {says}",
        f'write  kind: "{guess}"'
        if guess
        else f'add it to fleet.yaml under part_kinds:  {kind}: ["flights", "minutes"]',
    )
