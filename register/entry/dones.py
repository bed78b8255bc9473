"""A task done, with its readings; or a whole list in one entry."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Stamp, Written
from register.entry.drafting import Draft, count_words
from register.entry.measures import Taken, read_taken
from register.entry.missing_readings import (
    is_left_out,
    missing_readings,
    say_line,
    want_words,
)
from register.entry.naming import match_name
from register.entry.order_within_day import say_unordered
from register.entry.subjects import find_subject, folder_of, is_subject
from register.entry.task_names import Aim, find_aim, find_aims, find_list, find_task, tasks_of
from register.ledger.counters import Subject
from register.records.programmes import Interval, Task
from register.text.nodes import Plain
from register.trouble import RegisterError


class DoneWords(Struct, frozen=True):
    """A done as typed. `each` is TASK=VALUE or TASK:NAME=VALUE, for a list."""

    readings: Sequence[str] = ()
    each: Sequence[str] = ()
    leave_out: Sequence[str] = ()
    position: str | None = None
    fail: bool = False
    no_readings: bool = False


def plan_done(clerk: Clerk, task: str, subject: str, words: DoneWords, stamp: Stamp) -> Plan:
    """One task done on an aircraft or part, or every task of a named list.

    Raises RegisterError (USAGE) on unknown names, readings and units. A reading out of
    bounds is recorded as a fail.
    """
    draft = Draft(clerk, stamp)
    if not is_subject(clerk, subject) and is_subject(clerk, task):
        task, subject = subject, task
    where = find_subject(clerk, subject)
    tasks = tasks_of(clerk, where)
    listed = None if task.strip().lower() in tasks else find_list(tasks, task)
    if listed is not None:
        return _plan_list(draft, where, listed[0], listed[1], words)
    if words.each or words.leave_out:
        raise RegisterError(
            "--each and --except belong to a list of tasks",
            mend=f"tailsheaf done season {where[1]} --each TASK=VALUE",
            code="usage",
        )
    found = find_task(clerk, task, tasks, where[1])
    day = f" --at {stamp.at}" if stamp.at else ""
    rest = f"{' --fail' if words.fail else ''}{day}"
    aim = find_aim(clerk, found, where, words.position, words.readings, rest)
    taken = read_taken(clerk.ledger, found, aim.subject, words.readings)
    written, result = write_done(draft, aim, taken, fail=words.fail)
    draft.say(say_done(draft, aim, taken, result))
    if aim.aircraft is not None and any(side.side != "calendar" for side in _sides(found, draft)):
        say_unordered(draft, aim.aircraft, written.id, ())
    verb = "Record a failed" if result == "fail" else "Record"
    return draft.plan(f"{verb} {found.id} on {aim.subject[1]}")


def _sides(task: Task, draft: Draft) -> tuple[Interval, ...]:
    return task.in_force(draft.when.day).every


def write_done(
    draft: Draft, aim: Aim, taken: Sequence[Taken], *, fail: bool = False
) -> tuple[Written, str]:
    """Add one done to a draft; the record and its result."""
    clerk = draft.clerk
    if fail or any(item.is_out for item in taken):
        result = "fail"
    elif taken and all(item.is_baseline for item in taken):
        result = "recorded"
    else:
        result = "pass"
    body: dict[str, Plain] = {
        "task": aim.task.id,
        "subject": clerk.ref(aim.subject),
        "position": aim.position,
        "result": result,
        "readings": [item.plain for item in taken] or None,
    }
    written = draft.write(folder_of(clerk, aim.subject), "task-done", body)
    draft.done.add(aim.task.id)
    draft.touch(aim.subject)
    if aim.aircraft is not None:
        draft.touch(("aircraft", aim.aircraft))
    return written, result


def say_done(draft: Draft, aim: Aim, taken: Sequence[Taken], result: str) -> str:
    """What was recorded, in one line."""
    where = aim.subject[1]
    if aim.position and aim.aircraft:
        where += f" ({aim.aircraft}, {aim.position})"
    verb = {"pass": "done", "fail": "FAILED", "recorded": "recorded"}[result]
    text = f"{aim.task.id} on {where} {verb}{draft.day}"
    if taken:
        text += ": " + "; ".join(item.says for item in taken)
    missing = missing_readings(aim.task, taken)
    if missing and result != "fail":
        text += f"; no reading was given of {want_words(missing)}"
    if result == "fail" and aim.task.if_out:
        text += f" -- if out: {aim.task.if_out}"
    return text


def _plan_list(
    draft: Draft, where: Subject, name: str, tasks: tuple[Task, ...], words: DoneWords
) -> Plan:
    if words.readings or words.position:
        raise RegisterError(
            f"{name} is a list of {count_words(len(tasks), 'task')}; readings belong to its tasks",
            mend=f"tailsheaf done {name} {where[1]} --each {tasks[0].id}=VALUE",
            code="usage",
        )
    clerk = draft.clerk
    ids = [task.id for task in tasks]
    left_out = {match_name(word, ids, f"task of {name}") for word in _split(words.leave_out)}
    given = _sort_readings(clerk, name, ids, words.each)
    aims = [
        aim for task in tasks if task.id not in left_out for aim in _aims_of(draft, task, where)
    ]
    if not aims:
        raise RegisterError(
            f"nothing of {name} is left to record on {where[1]}",
            mend=f"tailsheaf due {where[1]} --all   shows its tasks",
            code="list-empty",
        )
    counted = record_list(
        draft, name, where, aims, given, fail=words.fail, all_of_them=words.no_readings
    )
    if not counted:
        raise RegisterError(
            f"nothing was recorded: {'; '.join(draft.says[1:])}",
            mend="give the readings, or --no-readings if they were not taken",
            code="readings-none",
        )
    return draft.plan(f"Record {name} on {where[1]}: {count_words(counted, 'check')}")


def _split(words: Sequence[str]) -> list[str]:
    return [item for word in words for item in word.replace(",", " ").split()]


def _aims_of(draft: Draft, task: Task, where: Subject) -> tuple[Aim, ...]:
    """Every subject of one task of a list; a part named must be one of them."""
    if where[0] == "aircraft":
        return find_aims(draft.clerk, task, where, None)
    try:
        return find_aims(draft.clerk, task, where, None)
    except RegisterError:
        return ()


def _sort_readings(
    clerk: Clerk, name: str, ids: list[str], each: Sequence[str]
) -> dict[str, list[tuple[str | None, str]]]:
    """TASK[@PART][:READING]=VALUE, sorted by task: part (or None) and reading text."""
    found: dict[str, list[tuple[str | None, str]]] = {}
    for text in each:
        head, equals, value = text.partition("=")
        if not equals:
            raise RegisterError(
                f"--each {text[:40]!r} has no value",
                mend="--each TASK=VALUE  or  --each TASK:READING=VALUE",
                code="usage",
            )
        task_word, _, reading = head.partition(":")
        task_word, _, part = task_word.partition("@")
        task = match_name(task_word, ids, f"task of {name}")
        part_name = match_name(part, clerk.ledger.records.parts, "part") if part else None
        found.setdefault(task, []).append((part_name, f"{reading}={value}" if reading else value))
    return found


def record_list(
    draft: Draft,
    name: str,
    where: Subject,
    aims: list[Aim],
    given: dict[str, list[tuple[str | None, str]]],
    *,
    fail: bool = False,
    all_of_them: bool = False,
) -> int:
    """Add one done for each aim to a draft; `given` are the readings, sorted by task.

    A grounding task whose reading has a limit is left out without it, unless
    `all_of_them`: it would stand as passed. How many were recorded.
    """
    told = _Told([], [], [], [])
    for aim in aims:
        texts = [
            text for part, text in given.get(aim.task.id, ()) if part in (None, aim.subject[1])
        ]
        check_one_subject(aim, aims, given)
        taken = read_taken(draft.clerk.ledger, aim.task, aim.subject, texts)
        label = aim.task.id if aim.subject == where else f"{aim.task.id} ({aim.subject[1]})"
        missing = missing_readings(aim.task, taken)
        failed = fail or any(item.is_out for item in taken)
        if not failed and not all_of_them and is_left_out(aim.task, missing):
            line = say_line(draft, aim.task, aim.subject, texts, missing)
            told.left.append(f"left out: {label} wants {want_words(missing)}: {line}")
            continue
        _, result = write_done(draft, aim, taken, fail=fail)
        if result == "fail":
            told.failed.append(label)
        told.readings.extend(f"{label}: {item.says}" for item in taken)
        if missing and not failed:
            told.silent.append(f"{label}, {want_words(missing)}")
    counted = len(aims) - len(told.left)
    _say_list(draft, f"{name} on {where[1]}{draft.day}", counted, told)
    return counted


class _Told(Struct, frozen=True):
    """What is to be said of a list, task by task."""

    readings: list[str]
    failed: list[str]
    silent: list[str]
    left: list[str]


def _say_list(draft: Draft, what: str, counted: int, told: _Told) -> None:
    left = len(told.left)
    whose = "its readings" if left == 1 else "their readings"
    more = f", {left} left for {whose}" if left else ""
    draft.say(f"{what}: {count_words(counted, 'check')} recorded{more}")
    for text in told.readings:
        draft.say(text)
    if told.failed:
        draft.say(f"FAILED: {', '.join(told.failed)}")
    for text in told.silent:
        draft.say(f"recorded without a reading: {text}")
    for text in told.left:
        draft.say(text)


def check_one_subject(
    aim: Aim, aims: Sequence[Aim], given: dict[str, list[tuple[str | None, str]]]
) -> None:
    """One value cannot be meant for several parts."""
    same = [other.subject[1] for other in aims if other.task.id == aim.task.id]
    if len(same) > 1 and any(part is None for part, _ in given.get(aim.task.id, ())):
        raise RegisterError(
            f"{aim.task.id} is done part by part here: {', '.join(same[:6])}",
            mend=f"--each {aim.task.id}@{same[0]}=VALUE",
            code="task-subject-many",
        )
