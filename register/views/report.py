"""The report: standing, what is due, what comes back, what creeps, and the season's figures."""

from __future__ import annotations

from datetime import date, timedelta

from msgspec import Struct

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.spending import Money
from register.standing.judge import AircraftDay, judge_aircraft, judge_fleet
from register.tasks.calendar import season_of
from register.views.due import DueLine, view_due
from register.views.faults import FaultsAsked, FaultsView, view_faults
from register.views.season import SeasonView, view_season
from register.views.season_tally import season_end
from register.views.trend import TrendView, view_trend

OPEN_STATES = ("overdue", "due", "cannot-tell", "in-window", "soon")


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
    faults: FaultsView
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
        and (aircraft is not None or line.stage == "in-service")
    )
    standings = (
        (judge_aircraft(ledger, aircraft, day),) if aircraft else tuple(judge_fleet(ledger, day))
    )
    season = view_season(ledger, day, unread, year, aircraft, money)
    start = ledger.records.fleet.season_start
    subject: Subject | None = ("aircraft", aircraft) if aircraft else None
    return ReportView(
        day,
        not unread,
        unread,
        ledger.records.fleet.name,
        aircraft,
        standings,
        lines,
        sum(due.never_done.values()),
        view_faults(ledger, day, unread, FaultsAsked(subject)),
        view_trend(ledger, day, unread, subject),
        season,
        season_end(season_end(season_of(day, start), start) + timedelta(days=1), start),
    )
