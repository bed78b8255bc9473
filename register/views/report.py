"""The report: standing, what is due, what comes back, what creeps, and the season's figures."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta

from msgspec import Struct

from register.findings.snags import SnagState, fold_snags
from register.ledger.ledger import Ledger
from register.records.bodies import Fix
from register.records.events import Event
from register.records.spending import Money
from register.standing.judge import AircraftDay, judge_aircraft, judge_fleet
from register.tasks.calendar import season_of
from register.views.due import DueLine, view_due
from register.views.season import SeasonView, view_season
from register.views.season_tally import is_service, season_end
from register.views.trend import TrendView, view_trend

#: So often in one place a fault has come back.
LEAST_TIMES = 2
OPEN_STATES = ("overdue", "due", "cannot-tell", "in-window", "soon")


class Recurring(Struct, frozen=True):
    """Faults found in service at one place of one aircraft. `days` are those of finding.

    `came_back` counts those found again soon after a fix, `last_fix` is the latest of any.
    """

    aircraft: str
    place: str
    count: int
    this_season: int
    days: tuple[date, ...]
    open: int
    came_back: int
    last_fix: Event | None
    texts: tuple[str, ...]

    @property
    def fix_words(self) -> str:
        """The latest fix, and whether anything was found after it."""
        if self.last_fix is None or not isinstance(self.last_fix.body, Fix):
            return "no fix recorded"
        day = self.last_fix.moment.day
        after = sum(found > day for found in self.days)
        held = f"{after} found since" if after else "none found since"
        return f"{day.isoformat()} {self.last_fix.body.action}: {held}"


class ReportView(Struct, frozen=True):
    """The answer to `report`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    fleet: str
    aircraft: str | None
    standings: tuple[AircraftDay, ...]
    due: tuple[DueLine, ...]
    never_done: int
    recurring: tuple[Recurring, ...]
    unplaced: int
    trend: TrendView
    season: SeasonView
    #: The last day of the season after the running one.
    next_end: date


def view_report(
    ledger: Ledger,
    day: date,
    unread: tuple[str, ...],
    aircraft: str | None = None,
    year: int | None = None,
    money: Money | None = None,
) -> ReportView:
    """Everything that looks back and on, of the fleet or of one aircraft."""
    due = view_due(ledger, day, unread, aircraft)
    lines = tuple(
        line
        for line in due.lines
        if line.item.state in OPEN_STATES
        and not line.item.is_day_check
        and line.stage == "in-service"
    )
    standings = (
        (judge_aircraft(ledger, aircraft, day),) if aircraft else tuple(judge_fleet(ledger, day))
    )
    season = view_season(ledger, day, unread, year, aircraft, money)
    recurring, unplaced = find_recurring(ledger, season.first, season.end, aircraft)
    start = ledger.records.fleet.season_start
    subject = ("aircraft", aircraft) if aircraft else None
    return ReportView(
        day,
        not unread,
        unread,
        ledger.records.fleet.name,
        aircraft,
        standings,
        lines,
        sum(due.never_done.values()),
        recurring,
        unplaced,
        view_trend(ledger, day, unread, subject),
        season,
        season_end(season_end(season_of(day, start), start) + timedelta(days=1), start),
    )


def find_recurring(
    ledger: Ledger, first: date, end: date, aircraft: str | None
) -> tuple[tuple[Recurring, ...], int]:
    """Places with more than one fault in service, most often first; and faults without a place."""
    groups: dict[tuple[str, str], list[SnagState]] = defaultdict(list)
    unplaced = 0
    for state in fold_snags(ledger).values():
        whose = state.found_on or state.aircraft
        if not is_service(state) or whose is None or aircraft not in (None, whose):
            continue
        place = state.position or state.system or state.part
        if place is None:
            unplaced += 1
        else:
            groups[whose, place].append(state)
    found = [
        _recurring(ledger, whose, place, states, first, end)
        for (whose, place), states in groups.items()
        if len(states) >= LEAST_TIMES
    ]
    found.sort(key=lambda one: (-one.count, one.aircraft, one.place))
    return tuple(found), unplaced


def _recurring(
    ledger: Ledger, whose: str, place: str, states: list[SnagState], first: date, end: date
) -> Recurring:
    fixes = [fix for state in states for fix in state.fixes]
    last = max(fixes, key=lambda fix: ledger.rank[fix.id], default=None)
    return Recurring(
        whose,
        place,
        len(states),
        sum(first <= state.first_day <= end for state in states),
        tuple(state.first_day for state in states),
        sum(state.is_open for state in states),
        sum(state.repeat for state in states),
        last,
        tuple(dict.fromkeys(state.text for state in states)),
    )
