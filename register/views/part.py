"""Parts: the list of them, and one with its counters, stays, life and readings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.findings.conditions import ConditionState, view_condition
from register.ledger.ledger import Ledger
from register.ledger.places import Spell
from register.records.bodies import Measured, Reading, TaskDone
from register.records.events import Event
from register.records.kinds import PART_KINDS
from register.records.standing_files import PartFile
from register.records.values import Basis, Known, Span
from register.standing.asked import has_notices
from register.tasks.life import view_life
from register.tasks.limits import Limit, State


class Stay(Struct, frozen=True):
    """One stay of a part. `sure` false: its end was never recorded, it lies before `until`."""

    aircraft: str | None
    into: str | None
    position: str | None
    since: date
    until: date | None
    current: bool
    sure: bool
    record: str
    path: str


class Clocks(Struct, frozen=True):
    """One counter of a part by its three clocks; `since_installed` None: fitted nowhere."""

    counter: str
    opening: Span
    since_new: Span
    since_overhaul: Span
    since_installed: Span | None


class LifeLine(Struct, frozen=True):
    """One life limit: where it stands today, and where the figure comes from."""

    limit: Limit
    amount: Decimal | None
    months: int | None
    basis: Basis
    path: str
    line: int


class ReadingLine(Struct, frozen=True):
    """One reading taken on a part."""

    name: str
    value: Decimal | None
    unit: str
    when: date
    task: str | None
    record: str


class PartLine(Struct, frozen=True):
    """One part in one line. `where` is empty for one on the shelf."""

    name: str
    title: str
    kind: str
    use: str
    where: tuple[str, ...]
    condition: str
    counter: str | None
    value: Span | None
    life: LifeLine | None


class PartsView(Struct, frozen=True):
    """The answer to `parts`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    lines: tuple[PartLine, ...]


class PartView(Struct, frozen=True):
    """The answer to `parts PART`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    file: PartFile
    where: tuple[str, ...]
    condition: ConditionState
    overhauled: Event | None
    clocks: tuple[Clocks, ...]
    stays: tuple[Stay, ...]
    life: tuple[LifeLine, ...]
    life_state: State | None
    readings: tuple[ReadingLine, ...]
    #: What the notices of its kit ask it, by name of the notice; those that do not apply not.
    notices: tuple[tuple[str, str, bool], ...] = ()

    @property
    def opening_known(self) -> Known | None:
        """How well the time before the register is known; None where there was none."""
        values = self.file.opening.counters.values()
        for known in ("unknown", "estimated", "known"):
            if any(value.known == known for value in values):
                return known
        return None


def view_parts(ledger: Ledger, day: date, unread: tuple[str, ...]) -> PartsView:
    """Every part: kind, where it is, condition, main counter, least life left."""
    lines = []
    for name, file in sorted(ledger.records.parts.items()):
        counter = main_counter(ledger, file)
        life = _view_lives(ledger, name, day)
        lines.append(
            PartLine(
                name,
                file.title,
                file.kind,
                file.use,
                tell_where(ledger, name),
                view_condition(ledger, name).condition,
                counter,
                ledger.value(("part", name), counter) if counter else None,
                min(life, key=_urgency) if life else None,
            )
        )
    return PartsView(day, not unread, unread, tuple(lines))


def view_part(ledger: Ledger, name: str, day: date, unread: tuple[str, ...]) -> PartView:
    """One part, wholly."""
    file = ledger.records.parts[name]
    life = view_life(ledger, name, day)
    return PartView(
        day,
        not unread,
        unread,
        file,
        tell_where(ledger, name),
        view_condition(ledger, name),
        ledger.last_overhaul(name),
        tuple(_view_clocks(ledger, name)),
        tuple(_view_stays(ledger, name)),
        _view_lives(ledger, name, day),
        life.state if life else None,
        tuple(_view_readings(ledger, name)),
        tuple(_view_notices(ledger, name, day)),
    )


def _view_notices(ledger: Ledger, name: str, day: date) -> Iterator[tuple[str, str, bool]]:
    """Name, how it stands, and whether it is open."""
    if not has_notices(ledger):
        return
    from register.findings.notices import view_states

    for state in view_states(ledger, day):
        if state.subject == ("part", name) and state.state != "not-applicable":
            yield state.notice.name, state.stands, state.is_open


def main_counter(ledger: Ledger, file: PartFile) -> str | None:
    """The counter that tells most of a kind: engine minutes of an engine, charges of a pack."""
    listed = ledger.listed_counters(("part", file.name))
    for counter in (*PART_KINDS.get(file.kind, ()), *listed):
        if counter in listed:
            return counter
    return None


def tell_where(ledger: Ledger, part: str) -> tuple[str, ...]:
    """Where a part is now, in words: `heron engine`, or every aircraft it is used in."""
    gone = ledger.gone(("part", part))
    if gone is not None:
        return (f"with another owner since {gone.moment.day.isoformat()}",)
    if ledger.records.parts[part].stayed:
        return ("stayed with the owner before",)
    if ledger.records.parts[part].use == "assigned":
        return ledger.places.assigned_to(part)
    spell = ledger.places.current(part)
    return () if spell is None else (tell_spell(spell),)


def tell_spell(spell: Spell) -> str:
    """Host and position of a stay."""
    return f"{spell.aircraft or spell.into} {spell.position or ''}".strip()


def _view_clocks(ledger: Ledger, name: str) -> Iterator[Clocks]:
    subject = ("part", name)
    file = ledger.records.parts[name]
    spell = ledger.places.current(name) if file.use != "assigned" else None
    for counter in ledger.listed_counters(subject):
        yield Clocks(
            counter,
            file.opening.value(counter),
            ledger.value(subject, counter),
            ledger.since_overhaul(name, counter),
            ledger.since_installed(spell, counter) if spell else None,
        )


def _view_stays(ledger: Ledger, name: str) -> Iterator[Stay]:
    for spell in ledger.places.spells.get(name, ()):
        until = None
        if spell.removal is not None:
            until = spell.removal.moment.day
        elif spell.end is not None:
            until = ledger.orders.events[spell.end.latest.event].moment.day
        yield Stay(
            spell.aircraft,
            spell.into,
            spell.position,
            spell.install.moment.day,
            until,
            spell.is_current,
            spell.end is None or spell.end.earliest == spell.end.latest,
            spell.install.id,
            spell.install.path,
        )


def _view_lives(ledger: Ledger, name: str, day: date) -> tuple[LifeLine, ...]:
    item = view_life(ledger, name, day)
    if item is None:
        return ()
    file = ledger.records.parts[name]
    return tuple(
        LifeLine(limit, life.limit, life.months, life.basis, life.place.file, life.place.line)
        for limit, life in zip(item.limits, file.life, strict=True)
    )


_URGENT: tuple[State, ...] = ("overdue", "due", "cannot-tell", "in-window", "soon")


def _urgency(line: LifeLine) -> int:
    state = line.limit.state
    return _URGENT.index(state) if state in _URGENT else len(_URGENT)


def _view_readings(ledger: Ledger, name: str) -> Iterator[ReadingLine]:
    """Readings on the part itself, oldest first."""
    for event in ledger.about(("part", name)):
        body = event.body
        found: tuple[Measured, ...] = ()
        task = None
        if isinstance(body, TaskDone):
            found, task = body.readings, body.task
        elif isinstance(body, Reading):
            found = (body.measured,)
        for item in found:
            yield ReadingLine(item.name, item.value, item.unit, event.moment.day, task, event.id)
