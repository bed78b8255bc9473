"""Readings that a task asks for and did not get: named, with the line that gives them."""

from __future__ import annotations

from collections.abc import Sequence

from register.entry.drafting import Draft
from register.entry.measures import Taken
from register.ledger.counters import Subject
from register.records.programmes import ReadingWanted, Task
from register.records.values import format_amount


def missing_readings(task: Task, taken: Sequence[Taken]) -> tuple[ReadingWanted, ...]:
    """What the task asks for and is not among what was taken."""
    names = {item.measured.name for item in taken}
    return tuple(wanted for wanted in task.readings if wanted.name not in names)


def is_left_out(task: Task, missing: Sequence[ReadingWanted]) -> bool:
    """Whether a done without these would pass a grounding task whose limit nobody looked at."""
    return task.grounds and any(has_limit(wanted) for wanted in missing)


def has_limit(wanted: ReadingWanted) -> bool:
    """Whether a value of this reading could be out."""
    bounds = (wanted.low, wanted.high, wanted.ratio_low, wanted.ratio_high, wanted.within)
    return any(bound is not None for bound in bounds)


def want_words(wanted: Sequence[ReadingWanted]) -> str:
    """play-mm (mm, at most 1.6), thread (diameters)."""
    return ", ".join(f"{item.name} ({_bound_words(item)})" for item in wanted)


def _bound_words(wanted: ReadingWanted) -> str:
    words = [wanted.unit or "number"]
    if wanted.low is not None:
        words.append(f"at least {format_amount(wanted.low)}")
    if wanted.high is not None:
        words.append(f"at most {format_amount(wanted.high)}")
    return ", ".join(words)


def say_line(
    draft: Draft,
    task: Task,
    subject: Subject,
    given: Sequence[str],
    missing: Sequence[ReadingWanted],
) -> str:
    """The line that records the task with its readings, those already given among them."""
    day = "" if draft.when.day == draft.clerk.today else f" --at {draft.when.day.isoformat()}"
    readings = [
        *given,
        *(f"{item.name}=…{item.unit if item.unit.isalpha() else ''}" for item in missing),
    ]
    return f"tailsheaf done {task.id} {subject[1]}{day} " + " ".join(
        f"-r {text}" for text in readings
    )
