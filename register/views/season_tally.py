"""What each aircraft did in each season, gathered once and parted by aircraft and season."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from typing import TypeVar

from msgspec import Struct

from register.faults.service import SERVED, Fault, gather_faults, service_days, stage_on
from register.findings.jobs import fold_jobs
from register.findings.snags import SnagState, fold_snags
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Fix
from register.records.events import Event
from register.records.spending import FLEET, Money
from register.records.values import NOTHING, Span
from register.records.workshop_bodies import Job
from register.tasks.calendar import season_day, season_of
from register.views.season_days import Lost, Reach, count_lost, find_reaches
from register.views.season_missed import Overdue, list_missed
from register.views.season_work import DoneLine, aircraft_then, list_upkeep

NO_SYSTEM = "not stated"
Kind = TypeVar("Kind")


def season_end(first: date, start: tuple[int, int]) -> date:
    """The last day of the season that begins on a day."""
    return season_day(first.year + 1, start) - timedelta(days=1)


class Work(Struct, frozen=True):
    """Labour recorded: minutes of jobs done and fixes, and how many of them say no time."""

    minutes: Decimal = Decimal(0)
    pieces: int = 0
    untimed: int = 0


class Sum(Struct, frozen=True):
    """Money of one category in one currency ("" where none is stated)."""

    category: str
    currency: str
    amount: Decimal
    entries: int


class SeasonLine(Struct, frozen=True):
    """One aircraft ("" for the fleet) in one season, up to and with `last`.

    `by_then` are flights and faults up to the same day of the season as the one asked.
    """

    aircraft: str
    first: date
    last: date
    flying_days: int
    flights: Span
    minutes: Span
    by_then: tuple[Span, int]
    faults: tuple[tuple[str, int], ...]
    other_faults: int
    done: int
    failed: int
    late: tuple[DoneLine, ...]
    missed: tuple[Overdue, ...]
    deferrals: int
    work: Work
    lost: tuple[Lost, ...]
    money: tuple[Sum, ...]
    #: Flights by day of the season, counted on; the least that is known.
    so_far: tuple[tuple[int, int], ...] = ()

    @property
    def fault_count(self) -> int:
        """Faults found in service."""
        return sum(count for _, count in self.faults)

    def lost_days(self, state: str) -> int:
        """Days on which the aircraft was in one state."""
        return sum(one.days for one in self.lost if one.state == state)


class Tally:
    """What is counted, gathered once and parted by aircraft and season."""

    def __init__(self, ledger: Ledger, day: date, asked: date, money: Money | None):
        self.ledger = ledger
        self.day = day
        self.start = ledger.records.fleet.season_start
        self.past = (min(day, season_end(asked, self.start)) - asked).days
        self.flown = self._group_flown()
        self.snags = self._group(
            (fault.state.event, _whose(ledger, fault.state), fault)
            for fault in gather_faults(ledger)
        )
        dones, self.stood = list_upkeep(ledger, day)
        self.dones = self._group((line.event, line.aircraft, line) for line in dones)
        self.deferrals = self._group(
            (event, _whose(ledger, state), event)
            for state in fold_snags(ledger).values()
            for event in state.deferrals
        )
        self.work = self._group(self._list_work())
        self.money = _group_money(ledger, money) if money is not None else {}
        self._reaches: dict[str, tuple[Reach, ...]] = {}

    def _reached(self, aircraft: str) -> tuple[Reach, ...]:
        found = self._reaches.get(aircraft)
        if found is None:
            found = find_reaches(self.ledger, aircraft, self.day)
            self._reaches[aircraft] = found
        return found

    def _key(self, day: date, aircraft: str | None) -> tuple[str, date]:
        return aircraft or "", season_of(day, self.start)

    def _group(
        self, listed: Iterable[tuple[Event, str | None, Kind]]
    ) -> dict[tuple[str, date], list[Kind]]:
        found: dict[tuple[str, date], list[Kind]] = defaultdict(list)
        for event, aircraft, item in listed:
            found[self._key(event.moment.day, aircraft)].append(item)
        return found

    def _group_flown(self) -> dict[tuple[str, date], list[date]]:
        """The flying days of each aircraft in each season, in order."""
        found: dict[tuple[str, date], list[date]] = defaultdict(list)
        for name in self.ledger.records.aircraft:
            items = self.ledger.counters.contributions(("aircraft", name))
            for day in sorted({item.event.moment.day for item in items}):
                found[self._key(day, name)].append(day)
        return found

    def _list_work(self) -> Iterable[tuple[Event, str | None, Decimal | None]]:
        for job in fold_jobs(self.ledger).values():
            if job.by is not None and job.state == "done":
                said = job.by.body.minutes if isinstance(job.by.body, Job) else None
                yield job.by, job.aircraft, said if said is not None else job.body.minutes
        states = fold_snags(self.ledger)
        seen: set[str] = set()
        for state in states.values():
            for fix in state.fixes:
                # One fix of several snags is one piece of work.
                if fix.id not in seen and isinstance(fix.body, Fix):
                    seen.add(fix.id)
                    yield fix, _whose(self.ledger, state), fix.body.minutes

    def line(self, aircraft: str, first: date) -> SeasonLine:
        """One aircraft in one season."""
        key = (aircraft, first)
        subject: Subject = ("aircraft", aircraft)
        end = season_end(first, self.start)
        last = min(end, self.day)
        flown = self.flown.get(key, [])
        then = first + timedelta(days=self.past)
        snags = self.snags.get(key, [])
        served = [fault for fault in snags if fault.serves]
        systems = Counter(self._system(fault) for fault in served)
        dones = self.dones.get(key, [])
        minutes = self.work.get(key, [])
        counters = self.ledger.counters
        return SeasonLine(
            aircraft,
            first,
            last,
            len(flown),
            counters.of_days(subject, "flights", first, end),
            counters.of_days(subject, "minutes", first, end),
            (
                counters.of_days(subject, "flights", first, min(then, end)),
                sum(fault.day <= then for fault in served),
            ),
            tuple(sorted(systems.items(), key=lambda item: (-item[1], item[0]))),
            len(snags) - len(served),
            sum(not line.failed for line in dones),
            sum(line.failed for line in dones),
            tuple(line for line in dones if line.late),
            self._missed(aircraft, first, last),
            len(self.deferrals.get(key, [])),
            Work(
                sum((one for one in minutes if one is not None), Decimal(0)),
                len(minutes),
                sum(one is None for one in minutes),
            ),
            count_lost(self._reached(aircraft), first, last),
            _sums(self.money.get(key, [])),
            self._so_far(first, flown, subject),
        )

    def _missed(self, aircraft: str, first: date, last: date) -> tuple[Overdue, ...]:
        """Tasks not done by the end; none of an aircraft that was sold or written off by then."""
        stood = [
            one
            for one in self.stood[aircraft]
            if one.stands_on(last) and aircraft_then(self.ledger, one.subject, last) == aircraft
        ]
        if not stood or stage_on(service_days(self.ledger, aircraft), last) not in SERVED:
            return ()
        return list_missed(self.ledger, stood, first, last, self.flown.get((aircraft, first), []))

    def _so_far(
        self, first: date, flown: list[date], subject: Subject
    ) -> tuple[tuple[int, int], ...]:
        """Day of the season and flights up to it, for each flying day."""
        sofar, found = 0, []
        for day in flown:
            sofar += int(self.ledger.counters.of_days(subject, "flights", day, day).low)
            found.append(((day - first).days, sofar))
        return tuple(found)

    def _system(self, fault: Fault) -> str:
        """The system by its chapter; else as it was written."""
        if fault.chapter is not None:
            return self.ledger.records.fleet.faults.system_title(fault.chapter)
        return fault.system or NO_SYSTEM

    def total(self, first: date, lines: list[SeasonLine]) -> SeasonLine:
        """The fleet in one season; days lost are days of aircraft."""
        days = {day for line in lines for day in self.flown.get((line.aircraft, first), [])}
        systems: Counter[str] = Counter()
        for line in lines:
            systems.update(dict(line.faults))
        spent = [one for line in lines for one in self.money.get((line.aircraft, first), [])]
        spent.extend(self.money.get((FLEET, first), []))
        return SeasonLine(
            "",
            first,
            min(season_end(first, self.start), self.day),
            len(days),
            sum((line.flights for line in lines), NOTHING),
            sum((line.minutes for line in lines), NOTHING),
            (
                sum((line.by_then[0] for line in lines), NOTHING),
                sum(line.by_then[1] for line in lines),
            ),
            tuple(sorted(systems.items(), key=lambda item: (-item[1], item[0]))),
            sum(line.other_faults for line in lines),
            sum(line.done for line in lines),
            sum(line.failed for line in lines),
            tuple(one for line in lines for one in line.late),
            tuple(one for line in lines for one in line.missed),
            sum(line.deferrals for line in lines),
            Work(
                sum((line.work.minutes for line in lines), Decimal(0)),
                sum(line.work.pieces for line in lines),
                sum(line.work.untimed for line in lines),
            ),
            tuple(one for line in lines for one in line.lost),
            _sums(spent),
            _add_up([line.so_far for line in lines]),
        )


def _add_up(curves: list[tuple[tuple[int, int], ...]]) -> tuple[tuple[int, int], ...]:
    """Counts that run on, of several, as one."""
    gains: Counter[int] = Counter()
    for curve in curves:
        before = 0
        for day, sofar in curve:
            gains[day] += sofar - before
            before = sofar
    total, found = 0, []
    for day in sorted(gains):
        total += gains[day]
        found.append((day, total))
    return tuple(found)


def _whose(ledger: Ledger, state: SnagState) -> str | None:
    """The aircraft a snag was found on; of a part, the one it was with then."""
    if state.found_on is not None:
        return state.found_on
    part: Subject = ("part", state.part or "")
    return aircraft_then(ledger, part, state.first_day) if state.part else None


# --- money --------------------------------------------------------------------

_Spent = tuple[str, str, Decimal]


def _group_money(ledger: Ledger, money: Money) -> dict[tuple[str, date], list[_Spent]]:
    start = ledger.records.fleet.season_start
    found: dict[tuple[str, date], list[_Spent]] = defaultdict(list)
    for one in money.spent:
        whom = one.whom if one.whom in ledger.records.aircraft else FLEET
        found[whom, season_of(one.day, start)].append((one.category, one.currency, one.amount))
    for price in money.prices:
        file = ledger.records.parts.get(price.part)
        subject: Subject = ("part", price.part)
        day = ledger.first_day(subject) if file is not None else None
        if file is None or day is None:
            continue
        whom = aircraft_then(ledger, subject, day) or FLEET
        found[whom, season_of(day, start)].append((file.kind, price.currency, price.amount))
    return found


def _sums(spent: list[_Spent]) -> tuple[Sum, ...]:
    """By category; one currency is never added to another."""
    groups: dict[tuple[str, str], list[Decimal]] = defaultdict(list)
    for category, currency, amount in spent:
        groups[category, currency].append(amount)
    found = [Sum(*key, sum(listed, Decimal(0)), len(listed)) for key, listed in groups.items()]
    return tuple(sorted(found, key=lambda one: (-one.amount, one.category)))
