"""One season beside the earlier ones: use, faults, upkeep, work, days lost, money."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.spending import Money
from register.records.values import NOTHING, Span
from register.tasks.calendar import season_day, season_of
from register.trouble import Problem, RegisterError
from register.views.season_tally import SeasonLine, Tally, season_end

#: What a part of its own is counted by, first the most telling.
MAJOR_COUNTERS = ("engine-minutes", "engine-starts", "gear-cycles", "charges")


class PartLine(Struct, frozen=True):
    """A part with a counter of its own: what it gained in the season, and its total at the end."""

    part: str
    kind: str
    position: str | None
    counter: str
    gained: Span
    total: Span


class SeasonView(Struct, frozen=True):
    """The answer to `season`: the one asked, aircraft by aircraft, and beside it the others.

    `beside` are all seasons of the aircraft (or the fleet), latest first.
    """

    on: date
    complete: bool
    unread: tuple[str, ...]
    year: int
    first: date
    end: date
    aircraft: str | None
    lines: tuple[SeasonLine, ...]
    beside: tuple[SeasonLine, ...]
    parts: tuple[PartLine, ...]
    with_money: bool
    problems: tuple[Problem, ...]

    @property
    def is_running(self) -> bool:
        """Whether the season is not over on the day asked."""
        return self.on < self.end


def view_season(
    ledger: Ledger,
    day: date,
    unread: tuple[str, ...],
    year: int | None = None,
    aircraft: str | None = None,
    money: Money | None = None,
) -> SeasonView:
    """The season that begins in a year, or the running one. Raises RegisterError: not yet begun."""
    start = ledger.records.fleet.season_start
    asked = season_of(day, start) if year is None else _begins(year, start)
    if asked > day:
        raise RegisterError(
            f"the season of {asked.year} begins {asked.isoformat()}, after {day.isoformat()}",
            mend=f"tailsheaf season {season_of(day, start).year}",
            code="season-not-begun",
        )
    seasons = _seasons(ledger, day, asked)
    names = [aircraft] if aircraft else sorted(ledger.records.aircraft)
    tally = Tally(ledger, day, asked, money)
    table = {first: [tally.line(name, first) for name in names] for first in seasons}
    lines = [line for line in table[asked] if aircraft or says_something(line)]
    rows = {first: row[0] if aircraft else tally.total(first, row) for first, row in table.items()}
    # Seasons in which it only stood there are no company for one that was flown.
    beside = [
        row
        for first, row in rows.items()
        if first == asked or says_something(replace(row, lost=()))
    ]
    end = season_end(asked, start)
    last = min(end, day)
    parts = tuple(_part_lines(ledger, aircraft, asked, last)) if aircraft else ()
    return SeasonView(
        day,
        not unread,
        unread,
        asked.year,
        asked,
        end,
        aircraft,
        tuple(lines),
        tuple(sorted(beside, key=lambda line: line.first, reverse=True)),
        parts,
        money is not None,
        money.problems if money is not None else (),
    )


def _begins(year: int, start: tuple[int, int]) -> date:
    if not 1950 <= year <= 9998:
        raise RegisterError(f"{year} is not a year", mend="tailsheaf season 2026", code="usage")
    return season_day(year, start)


def _seasons(ledger: Ledger, day: date, asked: date) -> list[date]:
    """Every season from the first record to the day, and the one asked."""
    start = ledger.records.fleet.season_start
    first = min((event.moment.day for event in ledger.events), default=day)
    # A record dated long before the rest (a made-on day typed as a record) begins no century.
    began = max(season_of(first, start).year, day.year - 40)
    found = {season_day(year, start) for year in range(began, season_of(day, start).year + 1)}
    return sorted({*found, asked})


def says_something(line: SeasonLine) -> bool:
    """Whether anything at all is recorded of a season."""
    busy = line.flying_days or line.done or line.fault_count or line.other_faults
    return bool(
        busy or line.missed or line.work.pieces or line.deferrals or line.lost or line.money
    )


def _part_lines(ledger: Ledger, aircraft: str, first: date, last: date) -> Iterable[PartLine]:
    """Parts with a counter of their own that were used with the aircraft in the season."""
    season = ledger if ledger.day is not None and ledger.day <= last else ledger.at(last)
    used = {
        item.event.id
        for item in season.counters.contributions(("aircraft", aircraft))
        if item.event.moment.day >= first
    }
    for name, file in sorted(season.records.parts.items()):
        subject: Subject = ("part", name)
        items = [
            item
            for item in season.counters.contributions(subject)
            if item.event.moment.day >= first
        ]
        if not any(item.event.id in used for item in items):
            continue
        spell = season.places.current(name)
        position = spell.position if spell is not None and spell.aircraft == aircraft else None
        for counter in MAJOR_COUNTERS:
            gained = season.counters.sum_of(subject, counter, items)
            if season.counters.gains(subject, counter) and gained != NOTHING:
                total = season.value(subject, counter)
                yield PartLine(name, file.kind, position, counter, gained, total)
