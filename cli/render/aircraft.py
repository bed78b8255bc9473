"""The screens of `aircraft`."""

from __future__ import annotations

from cli.render.counters import KNOWN_WORDS, plain_words, title_words, value_words
from cli.render.marks import amount_words, day_words, note_unread, unread_words
from cli.render.screen import Column, Screen, Span, Words
from cli.render.shapes import Shape, basis_shape, full_span_shape
from cli.session import Session
from register.records.values import UNSTATED, Known
from register.views.aircraft import (
    AircraftListView,
    AircraftView,
    CounterLine,
    PositionLine,
    ProgrammeLine,
)

_SEVERAL = 4


def render_aircraft_list(session: Session, view: AircraftListView) -> None:
    """Every aircraft in one line."""
    note_unread(session, view.unread)
    screen = Screen()
    screen.title("Aircraft", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.gap()
    screen.table(
        (
            Column("aircraft"),
            Column("what it is", flexible=True),
            Column("stage"),
            Column("programme", flexible=True),
            Column("kit", flexible=True),
            Column("flights", right=True),
        ),
        [
            (
                Span(line.name, "strong"),
                line.title,
                line.stage.replace("-", " "),
                ", ".join(line.programmes) or "none",
                line.kit or "",
                amount_words(line.flights),
            )
            for line in view.lines
        ],
    )
    if not view.lines:
        screen.line("no aircraft is recorded yet")
        screen.line(Span("tailsheaf aircraft NAME --programme turbine-jet", "command"), 2)
    data = {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "aircraft": [
            {
                "aircraft": line.name,
                "title": line.title,
                "stage": line.stage,
                "kit": line.kit,
                "programmes": list(line.programmes),
                "flights": full_span_shape(line.flights),
            }
            for line in view.lines
        ],
    }
    session.show(screen, data)


def render_aircraft(session: Session, view: AircraftView) -> None:
    """One aircraft, wholly."""
    note_unread(session, view.unread)
    session.show(_screen(view), _shape(view))


def _screen(view: AircraftView) -> Screen:
    file = view.file
    screen = Screen()
    screen.title(f"Aircraft {file.name}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    if file.title != file.name:
        screen.line(Span(file.title, "strong"))
    since = f" since {view.stage_by.moment.day.isoformat()}" if view.stage_by else ""
    if view.gone is not None:
        since = f": went to another owner on {view.gone.isoformat()}"
    screen.line(["stage: ", Span(view.stage.replace("-", " "), "strong"), since])
    if file.kit is not None:
        known = "" if view.kit_title else "  (this fleet has no such kit)"
        screen.line(f"kit: {file.kit.name}{known}")
    for line in view.programmes:
        screen.line(["programme: ", *_programme_words(line)])
    if not view.programmes and not view.is_lost:
        screen.line(
            ["programme: none  ", Span(f"tailsheaf aircraft {file.name} --programme …", "command")]
        )
    _counters(screen, view)
    _positions(screen, view)
    _work(screen, view)
    _opening(screen, view)
    screen.gap()
    screen.line(Span(f"{file.path}   open items: tailsheaf due {file.name}", "faint"))
    return screen


def _programme_words(line: ProgrammeLine) -> list[str | Span]:
    name = f"{line.name}/{line.group}" if line.group else line.name
    if line.tasks is None:
        return [name, "  ", Span(line.title or "this fleet has no such programme", "attend")]
    return [f"{name}, {line.tasks} task{'' if line.tasks == 1 else 's'}"]


def _counters(screen: Screen, view: AircraftView) -> None:
    screen.gap()
    screen.table(
        (
            Column("counter"),
            Column("now", right=True),
            Column("before the register", right=True),
            Column("each flight adds", flexible=True),
        ),
        [_counter_row(line, view) for line in view.counters],
        indent=1,
    )


def _counter_row(line: CounterLine, view: AircraftView) -> tuple[Words, ...]:
    allowance = view.per_flight.get(line.counter)
    adds = ""
    if allowance is not None:
        basis = allowance.basis
        source = "basis unknown" if basis == UNSTATED else basis.text
        adds = f"{plain_words(allowance.amount, line.counter)} ({source})"
    given = line.counter in view.file.opening.counters
    told = given or line.opening.high is None
    before = value_words(line.opening, line.counter) if told else "none"
    return (title_words(line.counter), value_words(line.value, line.counter), before, adds)


def _positions(screen: Screen, view: AircraftView) -> None:
    if view.positions:
        screen.gap()
        screen.table(
            (
                Column("position", flexible=True),
                Column("kind"),
                Column("part", flexible=True),
                Column("since"),
            ),
            [_position_row(line) for line in view.positions],
            indent=1,
        )
    if view.assigned:
        screen.line(f"used with it: {', '.join(view.assigned)}", 1)


def _position_row(line: PositionLine) -> tuple[Words, ...]:
    part: Words = Span(line.part, "strong") if line.part else "empty"
    if line.part is None and line.required:
        part = Span("EMPTY, and must be filled", "stop")
    kind = line.kind or ("not listed" if not line.listed else "")
    return (line.name, kind, part, line.since.isoformat() if line.since else "")


def _work(screen: Screen, view: AircraftView) -> None:
    """Open jobs, and departures from the manual that are not settled yet."""
    name = view.file.name
    if view.jobs or view.unsettled or view.departures:
        screen.gap()
    if view.jobs:
        count = len(view.jobs)
        waits = "" if view.stage == "in-service" else ", none may be open before it is accepted"
        screen.line(f"{count} open job{'' if count == 1 else 's'}{waits} (jobs {name})")
        for job in view.jobs[:_SEVERAL]:
            at = f"{job.body.at}: " if job.body.at else ""
            screen.line(f"{at}{job.body.text}", 2, 2)
        if count > _SEVERAL:
            screen.line(f"and {count - _SEVERAL} more", 2)
    for departure in view.unsettled:
        state = "ON TRIAL" if departure.state == "trial" else departure.state.upper()
        since = departure.state_event.moment.day.isoformat()
        words: list[str | Span] = [Span(state, "attend"), f" since {since}: {departure.body.text}"]
        screen.line(words, 0, 2)
    if view.departures:
        several = "" if view.departures == 1 else "s"
        screen.line(f"{view.departures} departure{several} from the manual kept (modify {name})")


def _opening(screen: Screen, view: AircraftView) -> None:
    opening = view.file.opening
    if opening.as_of is None and not view.last_dones:
        return
    screen.gap()
    if opening.as_of is not None:
        screen.line(f"opening figures are of {opening.as_of.isoformat()}")
    groups: dict[Known, list[str]] = {}
    for done in view.last_dones:
        groups.setdefault(done.known, []).append(done.task)
    for known, tasks in groups.items():
        shown = ", ".join(tasks[:_SEVERAL])
        more = f" and {len(tasks) - _SEVERAL} more" if len(tasks) > _SEVERAL else ""
        screen.line(f"last done before the register, {KNOWN_WORDS[known]}: {shown}{more}")


def _shape(view: AircraftView) -> Shape:
    file = view.file
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "aircraft": file.name,
        "id": file.id,
        "title": file.title,
        "path": file.path,
        "stage": view.stage,
        "stage_record": view.stage_by.path if view.stage_by else None,
        "kit": file.kit.name if file.kit else None,
        "programmes": [
            {"programme": line.name, "group": line.group, "tasks": line.tasks}
            for line in view.programmes
        ],
        "positions": [
            {
                "position": line.name,
                "kind": line.kind,
                "required": line.required,
                "part": line.part,
                "since": line.since,
                "listed": line.listed,
            }
            for line in view.positions
        ],
        "assigned": list(view.assigned),
        **_work_shape(view),
        "counters": {line.counter: full_span_shape(line.value) for line in view.counters},
        "per_flight": {
            counter: {"value": item.amount, "basis": basis_shape(item.basis)}
            for counter, item in view.per_flight.items()
        },
        "opening": {
            "as_of": file.opening.as_of,
            "counters": {
                line.counter: full_span_shape(line.opening)
                for line in view.counters
                if line.counter in file.opening.counters
            },
            "tasks": [
                {
                    "task": done.task,
                    "subject": done.subject.name if done.subject else None,
                    "when": done.when,
                    "at": done.at,
                    "known": done.known,
                }
                for done in view.last_dones
            ],
        },
    }


def _work_shape(view: AircraftView) -> Shape:
    """Open jobs, and departures from the manual."""
    return {
        "open_jobs": [
            {"id": job.id, "text": job.body.text, "where": job.body.at, "hand": job.body.hand}
            for job in view.jobs
        ],
        "unsettled": [
            {"id": item.id, "text": item.body.text, "state": item.state} for item in view.unsettled
        ],
        "departures_kept": view.departures,
    }
