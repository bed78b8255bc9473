"""What is typed about the time before the register: counters, and when tasks were last done."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from msgspec import Struct

from register.entry.amounts import read_count, read_minutes
from register.entry.dates import read_day
from register.entry.naming import match_name
from register.entry.sheets import Sheet, plain_number
from register.records.opening import Opening
from register.records.values import MINUTE_COUNTERS, Known
from register.text.nodes import Plain
from register.trouble import RegisterError

_MONTH = re.compile(r"((?:19|20)\d\d)-(0[1-9]|1[0-2])~")
#: More than any model will ever count.
MOST = 10**7


class GivenCounter(Struct, frozen=True):
    """One opening counter as typed; `value` None: not known."""

    counter: str
    value: Decimal | None
    known: Known

    @property
    def plain(self) -> Plain:
        """As written in a file."""
        if self.value is None:
            return {"known": "unknown"}
        return {"value": plain_number(self.value), "known": self.known}


class GivenDone(Struct, frozen=True):
    """One last-done as typed: a task or a whole group, perhaps on one part."""

    word: str
    is_group: bool
    subject: str | None
    when: date | None
    at: tuple[tuple[str, Decimal], ...]
    known: Known
    #: The month as typed, where no day was.
    month: str | None = None


def split_pair(text: str, option: str, example: str) -> tuple[str, str]:
    """NAME=VALUE as typed. Raises RegisterError (usage) where one side is missing."""
    name, _, value = text.partition("=")
    if not name.strip() or not value.strip():
        raise RegisterError(
            f"{option} {text[:60]!r} has no name or no value",
            mend=f"{option} {example}",
            code="pair-wrong",
        )
    return name.strip().lower(), value.strip()


def is_timed(counter: str) -> bool:
    """Whether a counter is kept in minutes."""
    return counter in MINUTE_COUNTERS or counter.endswith("-minutes")


def parse_quantity(text: str, counter: str) -> Decimal:
    """An amount of a counter: a whole number, or minutes in any form that is read.

    Raises RegisterError (usage), with what to type.
    """
    if is_timed(counter):
        return read_minutes(text, what=counter, most=None)
    return Decimal(read_count(text, what=counter, least=0, most=MOST))


def match_counter(typed: str, counters: Iterable[str]) -> str:
    """A counter of the fleet, by prefix; the nearest are offered."""
    return match_name(typed.replace("_", "-"), counters, "counter")


def parse_counter(text: str, counters: Iterable[str]) -> GivenCounter:
    """`flights=150` known, `flights=150~` estimated, `flights=?` unknown."""
    name, value = split_pair(text, "--opening", "flights=150   (150~ about, ? not known)")
    counter = match_counter(name, counters)
    if value == "?":
        return GivenCounter(counter, None, "unknown")
    known: Known = "estimated" if value.endswith("~") else "known"
    return GivenCounter(counter, parse_quantity(value.rstrip("~"), counter), known)


def parse_past_day(text: str, now: datetime, zone: ZoneInfo, option: str) -> date:
    """A day that is not after today."""
    day = read_day(text, now, zone)
    if day > now.astimezone(zone).date():
        raise RegisterError(
            f"{option}: {day.isoformat()} is still to come",
            mend="give the day it was, year-month-day",
            code="date-future",
        )
    return day


def parse_done(text: str, counters: Sequence[str], now: datetime, zone: ZoneInfo) -> GivenDone:
    """`TASK=DATE[~][@COUNTER=VALUE[~]]`, `TASK:PART=…`, `group:NAME=…`, `TASK=?`.

    A month, `TASK=2026-03~`, is taken as its fifteenth, or as today where that is to come.
    """
    example = "surface-throws=2026-03-01@flights=140   (~ after a value: about)"
    word, value = split_pair(text, "--last-done", example)
    first, _, rest = word.partition(":")
    is_group = first == "group" and bool(rest)
    when, *more = value.split("@")
    known: Known = "known"
    day: date | None = None
    if when == "?":
        known = "unknown"
    elif month := _read_month(when):
        known = "estimated"
        today = now.astimezone(zone).date()
        same = (month.year, month.month) == (today.year, today.month)
        day = min(month, today) if same else month
        parse_past_day(day.isoformat(), now, zone, "--last-done")
    elif when:
        known = "estimated" if when.endswith("~") else known
        day = parse_past_day(when.rstrip("~"), now, zone, "--last-done")
    at = []
    for part in more:
        name, amount = split_pair(part, "--last-done", example)
        counter = match_counter(name, counters)
        if amount.endswith("~"):
            known = "estimated"
        at.append((counter, parse_quantity(amount.rstrip("~"), counter)))
    subject = rest or None
    return GivenDone(
        rest if is_group else first,
        is_group,
        None if is_group else subject,
        day,
        tuple(at),
        known,
        when.rstrip("~") if _read_month(when) else None,
    )


def _read_month(text: str) -> date | None:
    """The middle of a month written 2026-06~; without ~ it would not be a day."""
    found = _MONTH.fullmatch(text.strip())
    return date(int(found[1]), int(found[2]), 15) if found else None


class Unstated(Struct, frozen=True):
    """Counters that had something behind them, though nobody said how much."""

    counters: tuple[GivenCounter, ...]
    says: str


def find_unstated(
    given: Sequence[GivenCounter],
    wanted: Iterable[str],
    per_flight: Mapping[str, Decimal],
    others: Iterable[str] = (),
) -> Unstated | None:
    """What to write for the counters not `given` of a thing with a past: never zero.

    Those that every flight adds to (`per_flight`) are estimated from the flights, if these
    are given; the others are unknown. `others` are not known either, which the opening says
    by itself: they are only told. None for a new thing, or when all are given.
    """
    if all(item.value == 0 for item in given):
        return None
    stated = {item.counter: item for item in given}
    flights = stated.get("flights")
    found: list[GivenCounter] = []
    for counter in wanted:
        if counter in stated:
            continue
        each = per_flight.get(counter)
        if each is not None and flights is not None and flights.value is not None:
            found.append(GivenCounter(counter, each * flights.value, "estimated"))
        else:
            found.append(GivenCounter(counter, None, "unknown"))
    untold = [counter for counter in others if counter not in stated]
    if not found and not untold:
        return None
    guessed = [f"{item.counter} about {item.value}" for item in found if item.value is not None]
    missing = [*(item.counter for item in found if item.value is None), *untold]
    parts = [f"taken from the flights: {', '.join(guessed)}"] if guessed else []
    parts += [f"not known: {', '.join(missing)}"] if missing else []
    return Unstated(
        tuple(found), f"before the register, {'; '.join(parts)} (--opening COUNTER=N says)"
    )


def enter_counters(sheet: Sheet, given: Iterable[GivenCounter], as_of: date | None) -> None:
    """Put opening counters, and the day they hold for, into a file."""
    if as_of is not None:
        sheet.set(("opening", "as_of"), as_of.isoformat(), "opening day")
    for item in given:
        sheet.set(("opening", "counters", item.counter), item.plain, f"opening {item.counter}")


class DoneEntry(Struct, frozen=True):
    """One entry of opening.tasks to be written."""

    task: str
    subject: str | None
    done: GivenDone

    @property
    def plain(self) -> dict[str, Plain]:
        """As written in a file."""
        at: dict[str, Plain] = {name: plain_number(value) for name, value in self.done.at}
        return {
            "task": self.task,
            "subject": self.subject,
            "when": self.done.when.isoformat() if self.done.when else None,
            "at": at or None,
            "known": self.done.known,
        }


def enter_dones(sheet: Sheet, entries: Sequence[DoneEntry], known: Opening | None) -> None:
    """Put last-dones into a file: one that is there already is replaced."""
    if not entries:
        return
    there = {
        (task.task, task.subject.text if task.subject else None): n
        for n, task in enumerate(known.tasks if known else ())
    }
    path = ("opening", "tasks")
    if not there:
        sheet.set(path, [_shown(entry) for entry in entries], "last done")
        return
    for entry in entries:
        number = there.get((entry.task, entry.subject))
        if number is None:
            sheet.append(path, _shown(entry), "last done")
        else:
            sheet.set((*path, number), _shown(entry), "last done")


def _shown(entry: DoneEntry) -> Plain:
    return {key: value for key, value in entry.plain.items() if value is not None}
