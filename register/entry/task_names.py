"""Which task on what is meant: a word for it, and an aircraft or part."""

from __future__ import annotations

import shlex
from collections.abc import Sequence

from msgspec import Struct

from register.entry.clerk import Clerk
from register.entry.drafting import join_names, with_article
from register.entry.naming import match_name
from register.entry.subjects import hosts_of
from register.ledger.counters import Subject
from register.ledger.places import Spell
from register.records.programmes import Task
from register.tasks.items import find_subjects
from register.trouble import RegisterError

#: Lists named after what opens them.
START_LISTS = ("day", "season", "gap", "layup")


class Aim(Struct, frozen=True):
    """One task on one subject; `position` where the part stands."""

    task: Task
    subject: Subject
    position: str | None
    aircraft: str | None


def tasks_of(clerk: Clerk, subject: Subject) -> dict[str, Task]:
    """Tasks that can be done on a subject: of its aircraft; of all for a part on the shelf."""
    ledger = clerk.ledger
    kind, name = subject
    hosts = (name,) if kind == "aircraft" else hosts_of(clerk, name)
    found: dict[str, Task] = {}
    for host in hosts:
        for task in ledger.tasks(host):
            found.setdefault(task.id, task)
    if kind == "part" and not hosts:
        part_kind = ledger.records.parts[name].kind
        for programme in ledger.records.programmes.values():
            for task in programme.tasks:
                if task.on == "part_kind" and task.on_name == part_kind:
                    found.setdefault(task.id, task)
    return found


def find_list(tasks: dict[str, Task], typed: str) -> tuple[str, tuple[Task, ...]] | None:
    """A list or group of tasks by name; None when the word is no such name."""
    word = typed.strip().lower()
    listed = [task for task in tasks.values() if task.list_name == word]
    if not listed:
        listed = [task for task in tasks.values() if task.group == word]
    if not listed and word in START_LISTS:
        listed = [
            task for task in tasks.values() if any(start.when == word for start in task.starts)
        ]
    return (word, tuple(listed)) if listed else None


def find_task(clerk: Clerk, typed: str, tasks: dict[str, Task], whose: str) -> Task:
    """A task by an unambiguous beginning of its name, or the nearest names."""
    add = "" if tasks else f"tailsheaf aircraft {whose} --programme NAME   gives it tasks"
    word = typed.strip().lower()
    if word not in tasks and word in _notice_names(clerk):
        raise RegisterError(
            f"{word} is a notice, which is answered in words of its own",
            mend=f'tailsheaf notices {word} {whose} --clear "…"   or --found, --repaired',
            code="task-is-notice",
        )
    return tasks[match_name(typed, tasks, f"task of {whose}", add=add)]


def _notice_names(clerk: Clerk) -> set[str]:
    records = clerk.ledger.records
    names = {name for file in records.kits.values() for name in file.notices}
    return names | {name for file in records.aircraft.values() for name in file.notices}


def find_aims(clerk: Clerk, task: Task, subject: Subject, position: str | None) -> tuple[Aim, ...]:
    """Everything a task is on for the subject named; more than one only for part kinds."""
    ledger = clerk.ledger
    kind, name = subject
    if kind == "part":
        return (_aim_at_part(clerk, task, name),)
    found = [
        Aim(task, on, where, name)
        for on, where in find_subjects(ledger, name, task)
        if position is None or where == position
    ]
    return tuple(found)


def find_aim(
    clerk: Clerk,
    task: Task,
    subject: Subject,
    position: str | None,
    readings: Sequence[str] = (),
    rest: str = "",
) -> Aim:
    """The one thing meant. Raises RegisterError (USAGE) where there is none, or several.

    `readings` and the `rest` of the line as typed stand in the line that mends it, too.
    """
    typed = "".join(f" -r {shlex.quote(text)}" for text in readings) + rest
    if subject[0] == "part":
        return _aim_at_part(clerk, task, subject[1], readings, rest)
    aims = find_aims(clerk, task, subject, position)
    if len(aims) == 1:
        return aims[0]
    name = subject[1]
    if not aims and task.on == "aircraft":
        raise RegisterError(
            f"{task.id} is on the whole aircraft, not on what is at {position}",
            mend=f"tailsheaf done {task.id} {name}{typed}"
            + _say_reading(clerk, clerk.ledger.places.at_position(name, position or ""), readings),
            code="task-subject-wrong",
        )
    if not aims and task.on == "position" and position not in (None, task.on_name):
        raise RegisterError(
            f"{task.id} is on what stands at {task.on_name}, not at {position}",
            mend=f"tailsheaf done {task.id} {name}{typed}"
            + _say_reading(clerk, clerk.ledger.places.at_position(name, position or ""), readings),
            code="task-subject-wrong",
        )
    if not aims:
        what = task.on_name.replace("-", " ")
        where = f" at {position}" if position else ""
        raise RegisterError(
            f"{task.id} is on {what}, and {name} has none recorded{where}",
            mend=f"tailsheaf install PART {name} POSITION   records where it is",
            code="task-subject-none",
        )
    parts = [aim.subject[1] for aim in aims]
    raise RegisterError(
        f"{task.id} is done part by part; {name} has {join_names(parts[:8])}",
        mend=f"name the part:  tailsheaf done {task.id} {parts[0]}{typed}",
        code="task-subject-many",
    )


def _say_reading(clerk: Clerk, spell: Spell | None, readings: Sequence[str]) -> str:
    """How a reading of one part alone is kept: it goes where the part goes."""
    if spell is None or not readings:
        return ""
    texts = " ".join(shlex.quote(text) for text in readings)
    return f"   or, of {spell.part} alone:  tailsheaf reading {spell.part} {texts}"


def _aim_at_part(
    clerk: Clerk, task: Task, part: str, readings: Sequence[str] = (), rest: str = ""
) -> Aim:
    ledger = clerk.ledger
    hosts = hosts_of(clerk, part)
    for host in hosts:
        for on, position in find_subjects(ledger, host, task):
            if on == ("part", part):
                return Aim(task, on, position, host)
    kind = ledger.records.parts[part].kind
    if task.on == "part_kind" and task.on_name == kind:
        return Aim(task, ("part", part), None, None)
    aim = {
        "aircraft": "the aircraft",
        "position": f"what stands at {task.on_name}",
        "part_kind": f"parts of kind {task.on_name}",
    }[task.on]
    host = hosts[0] if hosts else "AIRCRAFT"
    typed = "".join(f" -r {shlex.quote(text)}" for text in readings) + rest
    raise RegisterError(
        f"{task.id} is on {aim}; {part} is {with_article(kind)}",
        mend=f"tailsheaf done {task.id} {host}{typed}"
        + _say_reading(clerk, clerk.ledger.places.current(part), readings),
        code="task-subject-wrong",
    )
