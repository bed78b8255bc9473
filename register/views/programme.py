"""Programmes: which there are, and one with its tasks, their limits and where these come from."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.programmes import (
    CalendarInterval,
    Interval,
    ProgrammeFile,
    ReadingWanted,
    Start,
    Task,
)
from register.records.values import format_amount


class ProgrammeSummary(Struct, frozen=True):
    """One programme or starter in one line."""

    name: str
    title: str
    tasks: int
    groups: tuple[tuple[str, str], ...]
    in_fleet: bool
    followed_by: tuple[str, ...]


class ProgrammesView(Struct, frozen=True):
    """The answer to `programme`: the fleet's own, then the starters not copied yet."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    own: tuple[ProgrammeSummary, ...]
    starters: tuple[ProgrammeSummary, ...]


class Unset(Struct, frozen=True):
    """A figure that only the owner can give: what it is, and the line to write it in."""

    task: str
    what: str
    path: str
    line: int


class TaskLine(Struct, frozen=True):
    """One task: what it is on, when it comes, what it reads, and the basis of each."""

    task: Task
    on: str
    every: tuple[str, ...]
    first: tuple[str, ...]
    starts: tuple[str, ...]
    readings: tuple[str, ...]
    common_practice: bool
    unset: tuple[Unset, ...]


class TaskGroup(Struct, frozen=True):
    """Tasks of one group, in the file's order."""

    name: str
    title: str
    tasks: tuple[TaskLine, ...]


class ProgrammeView(Struct, frozen=True):
    """The answer to `programme NAME`. `in_fleet` false: a starter, shown as it is."""

    on: date
    file: ProgrammeFile
    in_fleet: bool
    followed_by: tuple[str, ...]
    groups: tuple[TaskGroup, ...]

    @property
    def tasks(self) -> tuple[TaskLine, ...]:
        """All tasks."""
        return tuple(task for group in self.groups for task in group.tasks)

    @property
    def unset(self) -> tuple[Unset, ...]:
        """All figures not set."""
        return tuple(item for task in self.tasks for item in task.unset)


def view_programmes(
    ledger: Ledger, day: date, unread: tuple[str, ...], starters: Iterable[ProgrammeSummary]
) -> ProgrammesView:
    """The fleet's programmes, and the starters it has not copied under their own name."""
    own = tuple(
        ProgrammeSummary(
            name, file.title, len(file.tasks), file.groups, True, followers(ledger, file)
        )
        for name, file in sorted(ledger.records.programmes.items())
    )
    names = {item.name for item in own}
    rest = tuple(item for item in starters if item.name not in names)
    return ProgrammesView(day, not unread, unread, own, rest)


def followers(ledger: Ledger, file: ProgrammeFile) -> tuple[str, ...]:
    """The aircraft that follow a programme, whole or a group of it."""
    return tuple(
        name
        for name, aircraft in sorted(ledger.records.aircraft.items())
        if any(ledger.programme(use.ref) is file for use in aircraft.programmes)
    )


def view_programme(
    file: ProgrammeFile, day: date, followed_by: tuple[str, ...], *, in_fleet: bool
) -> ProgrammeView:
    """One programme, its tasks by group, by the terms in force on a day."""
    titles = dict(file.groups)
    names = [*titles, *dict.fromkeys(t.group or "" for t in file.tasks if t.group not in titles)]
    groups = []
    for name in names:
        tasks = tuple(_view_task(task, day) for task in file.tasks if (task.group or "") == name)
        if tasks:
            groups.append(TaskGroup(name, titles.get(name) or name or "other", tasks))
    return ProgrammeView(day, file, in_fleet, followed_by, tuple(groups))


def _view_task(task: Task, day: date) -> TaskLine:
    terms = task.in_force(day)
    return TaskLine(
        task,
        _tell_on(task),
        tuple(tell_interval(item) for item in terms.every),
        tuple(tell_interval(item) for item in terms.first),
        tuple(_tell_start(item) for item in task.starts),
        tuple(tell_reading(item) for item in task.readings),
        _is_habit(task),
        tuple(_find_unset(task, terms.every)),
    )


def _is_habit(task: Task) -> bool:
    return any(
        basis.kind == "common-practice"
        for basis in (task.basis, *(reading.basis for reading in task.readings))
    )


def _find_unset(task: Task, every: tuple[Interval, ...]) -> Iterable[Unset]:
    place = task.place
    for item in every:
        if item.amount is None:
            what = "calendar" if isinstance(item, CalendarInterval) else item.counter
            yield Unset(task.id, f"interval in {what}", item.place.file, item.place.line)
    if not every and not task.starts:
        yield Unset(task.id, "interval", place.file, place.line)
    for reading in task.readings:
        bounds = (reading.low, reading.high, reading.ratio_low, reading.ratio_high, reading.within)
        if reading.basis.kind == "unknown" and all(bound is None for bound in bounds):
            yield Unset(task.id, f"bounds of {reading.name}", place.file, place.line)


def _tell_on(task: Task) -> str:
    if task.on == "aircraft":
        return "aircraft"
    return f"at {task.on_name}" if task.on == "position" else f"each {task.on_name}"


def tell_interval(item: Interval) -> str:
    """`25 flights, -2/+3`, `6 months`, `engine-minutes not set`."""
    if isinstance(item, CalendarInterval):
        unit = item.unit.replace("-", " ")
        early, late = Decimal(item.early_days or 0), Decimal(item.late_days or 0)
        words = f"{item.amount} {unit}" if item.amount is not None else f"{unit} not set"
        slide = " days"
    else:
        early, late = item.early or Decimal(0), item.late or Decimal(0)
        amount = "" if item.amount is None else format_amount(item.amount)
        words = f"{amount} {item.counter}" if amount else f"{item.counter} not set"
        slide = ""
    if early or late:
        words += f" (-{format_amount(early)}/+{format_amount(late)}{slide})"
    return words


_STARTS = {
    "each-flight": "each flight",
    "charge": "each charge",
    "fuel-mix": "each fuel mix",
    "day": "first of the day",
    "season": "start of season",
    "gap": "after a gap",
    "layup": "after a layup",
    "install": "after installing",
    "fix": "after a fix",
    "work": "after work on",
    "incident": "after",
    "paper": "before a paper expires",
}


def _tell_start(start: Start) -> str:
    """`start of season`, `after work on servo`, `after a layup of 30 days`."""
    words = _STARTS.get(start.when, start.when)
    named = ", ".join(word.replace("-", " ") for word in (*start.what, *start.kinds))
    named = ", ".join(part for part in (named, *start.positions) if part)
    if named:
        words += f" {named}"
    elif start.when in ("work", "install"):
        words += " anything"
    elif start.when == "incident":
        words += " an incident"
    if start.days is not None:
        words += f" of {start.days} days"
    if start.after_counter is not None and start.after_amount is not None:
        words = f"{format_amount(start.after_amount)} {start.after_counter} {words}"
    return words


def tell_reading(wanted: ReadingWanted) -> str:
    """`play-mm up to 1.6 mm`, `capacity 80 % or more`, `mass: baseline`."""
    unit = f" {wanted.unit}" if wanted.unit else ""
    low = None if wanted.low is None else format_amount(wanted.low)
    high = None if wanted.high is None else format_amount(wanted.high)
    if low is not None and high is not None:
        bound = f" {low} to {high}{unit}"
    elif high is not None:
        bound = f" up to {high}{unit}"
    elif low is not None:
        bound = f" {low}{unit} or more"
    else:
        bound = unit and f" in{unit}"
    relative = []
    if wanted.ratio_low is not None:
        relative.append(f"at least {format_amount(wanted.ratio_low)} times the first")
    if wanted.ratio_high is not None:
        relative.append(f"at most {format_amount(wanted.ratio_high)} times the first")
    if wanted.within is not None:
        relative.append(f"within {format_amount(wanted.within)} of the first")
    if wanted.baseline and not relative:
        relative.append("the first is the baseline")
    return wanted.name + bound + (f", {' and '.join(relative)}" if relative else "")
