"""The checks of a card as answered: which were done, and what was measured."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from register.entry.clerk import Clerk
from register.entry.dones import check_one_subject
from register.entry.measures import read_taken
from register.entry.missing_readings import want_words
from register.entry.naming import match_name
from register.entry.task_names import Aim, find_aims, find_list, tasks_of
from register.trouble import RegisterError

#: Readings as typed, by task: the part they are of (or None), and NAME=VALUE.
Given = dict[str, list[tuple[str | None, str]]]


class CheckLine(Struct, frozen=True):
    """Checks that were done, with the readings given of them."""

    aims: tuple[Aim, ...]
    given: Given = field(default_factory=dict)

    @property
    def unread(self) -> tuple[Aim, ...]:
        """Those that ask for a reading and got none."""
        return tuple(
            aim for aim in self.aims if aim.task.readings and aim.task.id not in self.given
        )


def day_aims(clerk: Clerk, aircraft: str) -> tuple[Aim, ...]:
    """The first-of-day checks of an aircraft."""
    where = ("aircraft", aircraft)
    listed = find_list(tasks_of(clerk, where), "day")
    tasks = listed[1] if listed else ()
    return tuple(aim for task in tasks for aim in find_aims(clerk, task, where, None))


def each_flight_aims(clerk: Clerk, aircraft: str) -> tuple[Aim, ...]:
    """Checks before each flight that ask for a reading: only then is one recorded."""
    where = ("aircraft", aircraft)
    return tuple(
        aim
        for task in tasks_of(clerk, where).values()
        if task.readings and any(start.when == "each-flight" for start in task.starts)
        for aim in find_aims(clerk, task, where, None)
    )


def want_readings(aims: Sequence[Aim]) -> str:
    """What is asked for, in one line: redundant-supply: supply (V, at least 5); brakes: …"""
    tasks = {aim.task.id: aim.task for aim in aims if aim.task.readings}
    return "; ".join(f"{task.id}: {want_words(task.readings)}" for task in tasks.values())


def parse_checks(clerk: Clerk, aims: Sequence[Aim], text: str) -> CheckLine | None:
    """`y`, `n`, `y except NAME`, or readings, which say yes by themselves; None is no.

    Raises RegisterError (USAGE) on anything else.
    """
    words = text.replace(",", " ").split()
    if not words or words[0].lower() in ("n", "no"):
        return None
    says_yes = words[0].lower() in ("y", "yes")
    rest = words[1:] if says_yes else words
    first = next((n for n, word in enumerate(rest) if "=" in word), len(rest))
    names = rest[:first]
    if names and names[0].lower() == "except" and len(names) > 1:
        ids = [aim.task.id for aim in aims]
        out = {match_name(word, ids, "first-of-day check") for word in names[1:]}
        aims = [aim for aim in aims if aim.task.id not in out]
    elif names or not (says_yes or rest):
        raise RegisterError(
            f"{text[:40]!r} is neither yes nor no",
            mend="y, n, y except NAME, or NAME=VALUE",
            code="usage",
        )
    if not aims:
        return None
    return parse_readings(clerk, CheckLine(tuple(aims)), " ".join(rest[first:]))


def parse_readings(clerk: Clerk, line: CheckLine, text: str) -> CheckLine:
    """Readings of these checks: `NAME=VALUE …`, a bare value where only one can be meant.

    NAME is a task, a reading, or TASK:READING, with @PART where it is done part by part.
    Raises RegisterError (USAGE) on a name, unit or value that cannot be.
    """
    keys: dict[str, tuple[str, str]] = {}
    for aim in line.aims:
        for wanted in aim.task.readings:
            keys.setdefault(wanted.name, (aim.task.id, wanted.name))
            keys[f"{aim.task.id}:{wanted.name}"] = (aim.task.id, wanted.name)
        if len(aim.task.readings) == 1:
            keys[aim.task.id] = (aim.task.id, aim.task.readings[0].name)
    only = next(iter(set(keys.values()))) if len(set(keys.values())) == 1 else None
    given: Given = {task: list(texts) for task, texts in line.given.items()}
    for item in _pairs(text):
        name, equals, value = item.partition("=")
        if not equals and only is not None:
            (task, reading), part, value = only, "", item
        elif not equals:
            raise RegisterError(
                f"{item[:40]!r} does not say which reading it is",
                mend=f"write NAME=VALUE: {want_readings(line.aims)}",
                code="reading-nameless",
            )
        else:
            name, _, part = name.partition("@")
            task, reading = keys[match_name(name, keys, "reading")]
        whose = match_name(part, clerk.ledger.records.parts, "part") if part else None
        given.setdefault(task, []).append((whose, f"{reading}={value}"))
    found = CheckLine(line.aims, given)
    _try(clerk, found)
    return found


def _pairs(text: str) -> list[str]:
    """`a=1 V b=2` is two readings: a word without = belongs to the one before it."""
    found: list[str] = []
    for word in text.split():
        if found and "=" not in word and not word[0].isdigit():
            found[-1] += word
        else:
            found.append(word)
    return found


def _try(clerk: Clerk, line: CheckLine) -> None:
    """Read them once, so that a wrong one is refused at its own question."""
    for aim in line.aims:
        check_one_subject(aim, line.aims, line.given)
        texts = [
            text for part, text in line.given.get(aim.task.id, ()) if part in (None, aim.subject[1])
        ]
        read_taken(clerk.ledger, aim.task, aim.subject, texts)
