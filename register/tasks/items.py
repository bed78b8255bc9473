"""Every task of every aircraft as an item: its state on a day, its limits, and why."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from msgspec import Struct

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.ledger.places import Spell
from register.records.bodies import TaskDone
from register.records.events import Event
from register.records.opening import OpeningTask
from register.records.programmes import Task
from register.tasks.calendar_dues import fold_calendar
from register.tasks.counter_dues import fold_counter
from register.tasks.limits import Limit, State, calendar_limit, counter_limit, worst_state
from register.tasks.reasons import Step, event_step
from register.tasks.starts import Asked, Opened, view_start


class Item(Struct, frozen=True):
    """One task on one subject of one aircraft, on a day."""

    aircraft: str
    subject: Subject
    position: str | None
    task: Task
    state: State
    limits: tuple[Limit, ...]
    opened: tuple[Opened, ...]
    last_done: Event | None
    opening: OpeningTask | None
    failed: Event | None
    steps: tuple[Step, ...]

    @property
    def grounds(self) -> bool:
        """Does this task ground when it is past its last permitted point?"""
        return self.task.grounds

    @property
    def is_day_check(self) -> bool:
        """Open only because the day has not been begun: on the card, never a standing."""
        return self._is_open_by("day")

    @property
    def is_for_shelf(self) -> bool:
        """Open only because it was not used: flying ends that, and does not ask for it."""
        unclear = any(item.state == "cannot-tell" for item in self.opened)
        return self._is_open_by("layup") and not (self.grounds or unclear)

    def _is_open_by(self, when: str) -> bool:
        """Whether starts of one kind alone hold it open, no interval and no failure."""
        due = [item for item in self.opened if item.state in ("due", "overdue")]
        quiet = ("ok", "soon", "no-baseline")
        return (
            self.failed is None
            and bool(due)
            and all(item.start.when == when for item in due)
            and worst_state([limit.state for limit in self.limits]) in quiet
        )

    def starts_in(self, *states: str) -> tuple[Opened, ...]:
        """What opened it and stands in one of these states, incidents first.

        That the day has not been begun is told only where nothing else opened it.
        """
        found = [one for one in self.opened if one.state in states]
        more = [one for one in found if one.start.when != "day"] or found
        return tuple(sorted(more, key=lambda one: one.start.when != "incident"))

    def tell_reasons(self, limit: str | None = None) -> str:
        """Everything that makes it due, in words: incidents, its interval, then all other starts.

        `limit` are the words for the interval, where that is due too. Whoever says why an item
        is due says it with this, so that no screen or page leaves out what another tells.
        """
        started = self.starts_in("due", "overdue")
        first = [one.says for one in started if one.start.when == "incident"]
        others = [one.says for one in started if one.start.when != "incident"]
        said = (*first, *((limit,) if limit else ()), *others)
        return "; ".join(dict.fromkeys(said))

    @property
    def was_never_done(self) -> bool:
        """No done since the register began, and none given from before."""
        return self.last_done is None and self.opening is None and self.failed is None


class Dones:
    """All dones, by task and subject."""

    def __init__(self, ledger: Ledger):
        self.ledger = ledger

    def of(self, task: Task, subject: Subject, position: str | None) -> list[Event]:
        """Dones of a task on a subject, in order; failures among them."""
        named = self.ledger.dones.get(task.id, {})
        found = list(named.get(subject, ()))
        if subject[0] == "part":
            hosts = {spell.aircraft for spell in self.ledger.places.spells.get(subject[1], ())}
            for host in hosts - {None}:
                on_host = named.get(("aircraft", host or ""), ())
                found.extend(event for event in on_host if self._is_on(event, host, subject, task))
            found.sort(key=lambda event: self.ledger.rank[event.id])
        return found

    def _is_on(self, event: Event, host: str | None, subject: Subject, task: Task) -> bool:
        """Done "on the aircraft": it belongs to the part that stood there then."""
        named = event.body.position if isinstance(event.body, TaskDone) else None
        position = named or (task.on_name if task.on == "position" else None)
        point = self.ledger.orders.last_point(event.id)
        for spell in self.ledger.places.spells.get(subject[1], ()):
            if spell.aircraft != host or (position and spell.position != position):
                continue
            if self.ledger.orders.compare(spell.start.earliest, point) == "after":
                continue
            if spell.end and self.ledger.orders.compare(spell.end.latest, point) == "before":
                continue
            return True
        return False

    def known_tasks(self) -> tuple[str, ...]:
        """Task names that have dones."""
        return tuple(self.ledger.dones)

    def events(self, task: str) -> list[Event]:
        """Every done under a task's name."""
        listed = [event for group in self.ledger.dones.get(task, {}).values() for event in group]
        return sorted(listed, key=lambda event: self.ledger.rank[event.id])


def view_items(ledger: Ledger, day: date, aircraft: str | None = None) -> tuple[Item, ...]:
    """Items of one aircraft or of all, in the order of their programmes."""
    dones = Dones(ledger)
    names = [aircraft] if aircraft is not None else sorted(ledger.records.aircraft)
    return tuple(
        view_item(ledger, dones, name, task, subject, position, day)
        for name in names
        for task in ledger.tasks(name)
        for subject, position in find_subjects(ledger, name, task)
    )


def find_subjects(
    ledger: Ledger, aircraft: str, task: Task
) -> Iterator[tuple[Subject, str | None]]:
    """What a task is on, now: the aircraft, the part at a position, or parts of a kind."""
    if task.on == "aircraft":
        yield ("aircraft", aircraft), None
        return
    if task.on == "position":
        spell = ledger.places.at_position(aircraft, task.on_name)
        if spell is not None:
            yield ("part", spell.part), task.on_name
        return
    listed: dict[str, Spell | None] = {
        spell.part: spell
        for spell in ledger.places.fitted(aircraft)
        if ledger.records.parts[spell.part].kind == task.on_name
    }
    for part in ledger.places.assigned_parts(aircraft):
        if ledger.records.parts[part].kind == task.on_name:
            listed.setdefault(part, None)
    for part, found in sorted(listed.items()):
        if ledger.records.parts[part].condition != "scrapped":
            yield ("part", part), found.position if found else None


def view_item(
    ledger: Ledger,
    dones: Dones,
    aircraft: str,
    task: Task,
    subject: Subject,
    position: str | None,
    day: date,
) -> Item:
    """One item on a day."""
    every = dones.of(task, subject, position)
    passed = [e for e in every if isinstance(e.body, TaskDone) and e.body.result != "fail"]
    failed = every[-1] if every and every[-1:] != passed[-1:] else None
    opening = find_opening(ledger, aircraft, task, subject)
    limits = tuple(_limits(ledger, subject, task, passed, opening, day))
    asked = Asked(ledger, aircraft, subject, position, task, day, passed)
    opened = tuple(
        found for start in task.starts if (found := view_start(asked, start)) is not None
    )
    states: list[State] = [limit.state for limit in limits]
    states.extend(_opened_state(item) for item in opened)
    if failed is not None:
        states.append("due")
    if task.is_damaged:
        states.append("cannot-tell")
    state = worst_state(states) if states else "ok"
    if state == "ok" and not passed and opening is None and not limits and not task.is_card_only:
        state = "ok" if opened or _waits_for_event(task) else "no-baseline"
    steps = [step for limit in limits for step in limit.steps]
    steps.extend(step for item in opened for step in item.steps)
    if task.is_damaged:
        steps.append(Step("this task could not be read whole: tailsheaf check", task.place))
    if failed is not None:
        steps.append(event_step(f"failed {failed.moment.day.isoformat()}", failed, "result"))
    return Item(
        aircraft,
        subject,
        position,
        task,
        state,
        limits,
        opened,
        passed[-1] if passed else None,
        opening,
        failed,
        tuple(dict.fromkeys(steps)),
    )


def _opened_state(opened: Opened) -> State:
    states: dict[str, State] = {
        "due": "due",
        "overdue": "overdue",
        "soon": "soon",
        "no-baseline": "no-baseline",
    }
    return states.get(opened.state, "ok")


def _waits_for_event(task: Task) -> bool:
    """Starts that wait for something to happen need no baseline."""
    waits = ("install", "fix", "work", "incident", "layup", "gap", "day", "paper")
    return all(start.when in waits for start in task.starts)


def _limits(
    ledger: Ledger,
    subject: Subject,
    task: Task,
    passed: list[Event],
    opening: OpeningTask | None,
    day: date,
) -> Iterator[Limit]:
    soon = ledger.records.fleet.soon
    terms = task.in_force(day)
    sides = dict.fromkeys(interval.side for interval in (*terms.every, *terms.first))
    for side in sides:
        if side == "calendar":
            folded = fold_calendar(ledger, subject, task, passed, opening)
            yield calendar_limit(task, folded, day, soon)
        else:
            folded = fold_counter(ledger, subject, task, side, passed, opening)
            yield counter_limit(ledger, subject, task, folded, day, soon)


def find_opening(ledger: Ledger, aircraft: str, task: Task, subject: Subject) -> OpeningTask | None:
    """The opening last-done of a task: on the part's own file first, then the aircraft's."""
    places = [ledger.file_of(subject)]
    if subject != ("aircraft", aircraft):
        places.append(ledger.records.aircraft[aircraft])
    for file in places:
        for item in file.opening.tasks:
            if item.task != task.id:
                continue
            if item.subject is None or ledger.subject_of(item.subject) == subject:
                return item
    return None
