"""Life limits of parts as items: by counter, months or a date, never with a window."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.programmes import CounterInterval, Task, Terms
from register.records.standing_files import LifeLimit, PartFile
from register.records.values import ZERO, Span, format_amount, weakest_known
from register.tasks.calendar import CalendarPoint
from register.tasks.intervals import Left
from register.tasks.items import Item
from register.tasks.limits import (
    Limit,
    State,
    calendar_state,
    counter_state,
    left_words,
    soon_amount,
    span_words,
    worst_state,
)
from register.tasks.reasons import Step

LIFE_TASK = "life"


def view_lives(ledger: Ledger, aircraft: str, day: date) -> Iterator[Item]:
    """One item for each part of an aircraft that has a life limit."""
    positions: dict[str, str | None] = {
        spell.part: spell.position for spell in ledger.places.fitted(aircraft)
    }
    for part in ledger.places.assigned_parts(aircraft):
        positions.setdefault(part, None)
    for part in sorted(positions):
        item = view_life(ledger, part, day, aircraft, positions[part])
        if item is not None:
            yield item


def view_life(
    ledger: Ledger, part: str, day: date, aircraft: str = "", position: str | None = None
) -> Item | None:
    """The life of one part on a day, or None when it has no limit."""
    file = ledger.records.parts[part]
    if not file.life:
        return None
    subject: Subject = ("part", part)
    limits = tuple(_limit(ledger, subject, file, life, day) for life in file.life)
    states: list[State] = [limit.state for limit in limits]
    return Item(
        aircraft,
        subject,
        position,
        _life_task(file),
        worst_state(states),
        limits,
        (),
        None,
        None,
        None,
        tuple(step for limit in limits for step in limit.steps),
    )


def _life_task(file: PartFile) -> Task:
    first = file.life[0]
    intervals = tuple(
        CounterInterval(life.counter, life.limit, None, None, life.place)
        for life in file.life
        if life.counter is not None
    )
    return Task(
        id=LIFE_TASK,
        title=f"Life limit of {file.title}",
        group=None,
        on="part",
        on_name=file.name,
        terms=(Terms(None, intervals, (), "from-done"),),
        starts=(),
        grounds=True,
        readings=(),
        basis=first.basis,
        list_name=None,
        if_out=None,
        caution=None,
        place=first.place,
    )


def _limit(ledger: Ledger, subject: Subject, file: PartFile, life: LifeLimit, day: date) -> Limit:
    if life.counter is not None:
        return _counter_life(ledger, subject, life)
    return _date_life(ledger, subject, file, life, day)


def _counter_life(ledger: Ledger, subject: Subject, life: LifeLimit) -> Limit:
    counter = life.counter or ""
    now = ledger.value(subject, counter)
    if life.limit is None:
        step = Step(f"the life in {counter} is not set", life.place)
        return Limit("cannot-tell", counter, now=now, unset=True, steps=(step,))
    low = None if now.high is None else life.limit - now.high
    left = Left(low, life.limit - now.low, now.known)
    soon = soon_amount(counter, life.limit, ledger.records.fleet.soon)
    return Limit(
        counter_state(left, ZERO, ZERO, soon),
        counter,
        _exact(life.limit),
        now,
        left,
        known=weakest_known(now.known),
        steps=(
            Step(f"life {format_amount(life.limit)} {counter}, no window", life.place),
            Step(f"now {span_words(now)}: {left_words(left)}"),
        ),
    )


def _exact(value: Decimal) -> Span:
    return Span.exact(value)


def _date_life(
    ledger: Ledger, subject: Subject, file: PartFile, life: LifeLimit, day: date
) -> Limit:
    target, start_words = life.until, "the date on the part"
    if target is None and life.months is not None:
        start = life.start or file.made or file.opening.as_of or ledger.first_day(subject)
        if start is None:
            step = Step(f"life {life.months} months, its first day is not recorded", life.place)
            return Limit("cannot-tell", steps=(step,))
        target = CalendarPoint(start).plus("months", life.months).day
        start_words = f"{life.months} months from {start.isoformat()}"
    if target is None:
        return Limit("cannot-tell", unset=True, steps=(Step("the life is not set", life.place),))
    near = ledger.records.fleet.soon.days
    return Limit(
        calendar_state(day, target, target, target, near),
        day=target,
        days_left=(target - day).days,
        permits_to=target,
        steps=(Step(f"life to {target.isoformat()} ({start_words}), no window", life.place),),
    )
