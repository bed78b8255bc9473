"""The screens of `programme`."""

from __future__ import annotations

from cli.render.marks import GROUNDS_MARK, day_words, note_unread, unread_words
from cli.render.screen import Column, Screen, Span, Words
from cli.render.shapes import Shape, basis_shape
from cli.session import Session
from register.trouble import RegisterError
from register.views.programme import (
    ProgrammeSummary,
    ProgrammesView,
    ProgrammeView,
    TaskLine,
)

STARTER = "starter, not in this fleet"
HABIT_MARK = "~"
_MOST_UNSET = 12


def render_programmes(session: Session, view: ProgrammesView) -> None:
    """The fleet's programmes, then the starters."""
    note_unread(session, view.unread)
    screen = Screen()
    screen.title("Programmes", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.gap()
    screen.table(
        (
            Column("programme"),
            Column("tasks", right=True),
            Column("groups", flexible=True),
            Column("followed by", flexible=True),
        ),
        [_summary_row(item) for item in (*view.own, *view.starters)],
    )
    screen.gap()
    screen.line(
        Span("A starter is a place to begin: its limits are yours to confirm or change.", "faint")
    )
    for words in (
        "tailsheaf programme turbine-jet            shows its tasks",
        "tailsheaf aircraft NAME --programme NAME   copies a starter and follows it",
    ):
        screen.line(Span(words, "command"), 2)
    data = {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "programmes": [_summary_shape(item) for item in (*view.own, *view.starters)],
    }
    session.show(screen, data)


def _summary_row(item: ProgrammeSummary) -> tuple[Words, ...]:
    followed = ", ".join(item.followed_by) or "no aircraft"
    groups = ", ".join(name for name, _ in item.groups)
    return (
        Span(item.name, "strong"),
        str(item.tasks),
        groups,
        followed if item.in_fleet else Span(STARTER, "faint"),
    )


def _summary_shape(item: ProgrammeSummary) -> Shape:
    return {
        "programme": item.name,
        "title": item.title,
        "tasks": item.tasks,
        "groups": [{"name": name, "title": title} for name, title in item.groups],
        "in_fleet": item.in_fleet,
        "followed_by": list(item.followed_by),
    }


def render_programme(session: Session, view: ProgrammeView) -> None:
    """Tasks by group, with what each rests on; then what only the owner can set."""
    session.show(_screen(view), _shape(view))


def _screen(view: ProgrammeView) -> Screen:
    file = view.file
    screen = Screen()
    screen.title(f"Programme {file.name}", day_words(view.on))
    count = len(view.tasks)
    where = file.path if view.in_fleet else STARTER
    screen.line(f"{file.title}: {count} tasks ({where})")
    if view.in_fleet:
        screen.line(f"followed by {', '.join(view.followed_by) or 'no aircraft'}")
    else:
        screen.line(Span(f"tailsheaf programme {file.name} --copy", "command"), 2)
    for group in view.groups:
        screen.gap()
        screen.line([Span(group.title, "strong"), f"  {file.name}/{group.name}"])
        screen.table(
            (
                Column(""),
                Column("task"),
                Column("when, and what is read", flexible=True),
                Column("basis"),
            ),
            [_task_row(line) for line in group.tasks],
            heads=group is view.groups[0],
        )
    _counted(screen, view)
    return screen


def _task_row(line: TaskLine) -> tuple[Words, ...]:
    on = "" if line.on == "aircraft" else f"{line.on}: "
    reads = f"; reads {', '.join(line.readings)}" if line.readings else ""
    habit = f"{HABIT_MARK} " if line.common_practice else "  "
    basis = line.task.basis.kind.replace("common-practice", "practice")
    return (
        GROUNDS_MARK if line.task.grounds else "",
        line.task.id,
        f"{on}{_when(line)}{reads}",
        f"{habit}{basis}",
    )


def _when(line: TaskLine) -> str:
    parts = []
    if line.every:
        parts.append("every " + " or ".join(line.every))
    if line.first:
        parts.append("first " + " or ".join(line.first))
    reset = line.task.terms[0].reset
    if line.every and reset != "from-done":
        parts.append(reset.replace("-", " "))
    parts.extend(line.starts)
    return "; ".join(parts) or "no interval set"


def _counted(screen: Screen, view: ProgrammeView) -> None:
    habit = sum(line.common_practice for line in view.tasks)
    screen.gap()
    screen.line(f"{GROUNDS_MARK} grounds the aircraft when past its limit")
    screen.line(
        f"{HABIT_MARK} {habit} of {len(view.tasks)} tasks rest on common practice: no published "
        "source, yours to confirm"
    )
    unset = view.unset
    if not unset:
        return
    screen.line(f"{len(unset)} figures are not set, for only a maker or you can give them:")
    for item in unset[:_MOST_UNSET]:
        place = f"{item.path}:{item.line}" if view.in_fleet else "copy it first"
        screen.line(f"{item.task}, {item.what}: {place}", 2)
    if len(unset) > _MOST_UNSET:
        screen.line(f"and {len(unset) - _MOST_UNSET} more (--json lists all)", 2)


def _shape(view: ProgrammeView) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "programme": view.file.name,
        "id": view.file.id,
        "title": view.file.title,
        "path": view.file.path if view.in_fleet else None,
        "in_fleet": view.in_fleet,
        "starter": view.file.starter,
        "followed_by": list(view.followed_by),
        "groups": [
            {
                "name": group.name,
                "title": group.title,
                "tasks": [_task_shape(line, view) for line in group.tasks],
            }
            for group in view.groups
        ],
    }


def _task_shape(line: TaskLine, view: ProgrammeView) -> Shape:
    task = line.task
    return {
        "task": task.id,
        "title": task.title,
        "group": task.group,
        "on": line.on,
        "every": list(line.every),
        "first": list(line.first),
        "start": list(line.starts),
        "reset": task.terms[0].reset,
        "grounds": task.grounds,
        "readings": list(line.readings),
        "basis": basis_shape(task.basis),
        "common_practice": line.common_practice,
        "not_set": [
            {"what": item.what, "place": f"{item.path}:{item.line}" if view.in_fleet else None}
            for item in line.unset
        ],
        "list": task.list_name,
        "if_out": task.if_out,
        "caution": task.caution,
        "place": f"{task.place.file}:{task.place.line}" if view.in_fleet else None,
    }


def render_task(session: Session, view: ProgrammeView, task: str) -> None:
    """One task in full."""
    line = next((line for line in view.tasks if line.task.id == task), None)
    if line is None:
        raise RegisterError(f"no task is called {task}", mend="tailsheaf programme NAME")
    found = line.task
    screen = Screen()
    screen.title(f"{view.file.name}: {found.id}", day_words(view.on))
    screen.line(Span(found.title, "strong"))
    screen.line(f"on: {line.on}; group: {found.group or 'none'}")
    screen.line(f"when: {_when(line)}")
    screen.line(f"counted {found.terms[0].reset.replace('-', ' ')}")
    screen.line(
        "grounds the aircraft when past its limit"
        if found.grounds
        else "does not ground the aircraft"
    )
    screen.line(f"basis: {found.basis.text}")
    for words, wanted in zip(line.readings, found.readings, strict=True):
        screen.line(f"reading: {words}")
        screen.line(f"basis: {wanted.basis.text}", 2)
    for label, text in (("if out", found.if_out), ("caution", found.caution)):
        if text:
            screen.line(f"{label}: {text}")
    for item in line.unset:
        place = f"{item.path}:{item.line}" if view.in_fleet else "copy the programme first"
        screen.line([Span("not set", "attend"), f" {item.what}: {place}"])
    if view.in_fleet:
        screen.line(Span(f"{found.place.file}:{found.place.line}", "faint"))
    session.show(screen, {"version": 1, "on": view.on, **_task_shape(line, view)})
