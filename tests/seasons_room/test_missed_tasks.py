"""A task nobody did shows: missed in each season at whose end it stood past its last point."""

from __future__ import annotations

from datetime import date

import pytest
from laws.sheets import Sheets

from register.views.season import view_season
from register.views.season_tally import SeasonLine

TODAY = date(2026, 5, 16)


def fleet(**task: object) -> Sheets:
    """Heron checks its play every ten flights, or as said; the season begins on 1 January."""
    sheets = Sheets(season_start="01-01")
    every = task or {"every": [{"counter": "flights", "amount": 10, "late": 2}]}
    sheets.task("play", on="aircraft", **every)
    sheets.done("play", "2024-03-05")
    return sheets


def lines(sheets: Sheets) -> dict[int, SeasonLine]:
    """The line of heron in each season."""
    ledger = sheets.ledger()
    found = {}
    for year in (2024, 2025, 2026):
        [line] = view_season(ledger, TODAY, (), year, "heron").lines
        found[year] = line
    return found


def test_past_its_point_and_never_done_is_missed_in_each_season_flown() -> None:
    sheets = fleet()
    for when in ("2024-04-01", "2024-05-01", "2025-04-01", "2025-05-01"):
        sheets.fly(when, 20)
    told = lines(sheets)
    assert [len(told[year].missed) for year in told] == [1, 1, 0]
    assert not any(line.late for line in told.values())
    [one] = told[2024].missed
    assert (one.task, one.first, one.done) == ("play", date(2024, 4, 1), None)


def test_the_last_permitted_point_itself_is_not_missed() -> None:
    sheets = fleet()
    sheets.fly("2024-04-01", 12)
    assert not lines(sheets)[2024].missed
    sheets.fly("2024-04-02", 1)
    assert [one.first for one in lines(sheets)[2024].missed] == [date(2024, 4, 2)]


@pytest.mark.parametrize(
    ("done", "late", "missed"),
    [("2024-10-01", (1, 0, 0), (0, 0, 0)), ("2025-02-01", (0, 1, 0), (1, 0, 0))],
)
def test_late_in_the_same_season_is_late_and_later_is_missed_too(
    done: str, late: tuple[int, ...], missed: tuple[int, ...]
) -> None:
    sheets = fleet()
    sheets.fly("2024-04-01", 30)
    sheets.done("play", done)
    told = lines(sheets)
    assert tuple(len(line.late) for line in told.values()) == late
    assert tuple(len(line.missed) for line in told.values()) == missed


def test_a_day_that_passed_is_missed_where_it_fell_and_on_an_aircraft_sold_not_at_all() -> None:
    sheets = fleet(every=[{"months": 6, "late_days": 10}])
    told = lines(sheets)
    [one] = told[2024].missed
    assert one.first == date(2024, 9, 16)
    assert not told[2025].missed
    assert not told[2026].missed
    sheets.add("stage", "2024-08-01", stage="sold")
    assert not lines(sheets)[2024].missed


def test_several_intervals_passed_are_one_miss_for_the_task() -> None:
    sheets = fleet()
    sheets.fly("2024-04-01", 100)
    assert len(lines(sheets)[2024].missed) == 1


def test_a_part_counts_where_it_still_is() -> None:
    sheets = Sheets(season_start="01-01")
    sheets.aircraft("heron", positions={"servo-left": {"kind": "servo"}})
    sheets.part("sv-1")
    sheets.task("lash", on={"position": "servo-left"}, every=[{"counter": "flights", "amount": 10}])
    sheets.add("install", "2024-03-01", part="sv-1", position="servo-left")
    sheets.done("lash", "2024-03-05", position="servo-left")
    sheets.fly("2024-04-01", 20)
    assert [one.subject for one in lines(sheets)[2024].missed] == [("part", "sv-1")]
    sheets.add("remove", "2024-06-01", part="sv-1", aircraft="heron", position="servo-left")
    assert not lines(sheets)[2024].missed


def test_a_pack_used_by_two_aircraft_is_missed_once() -> None:
    """Where it was last used then: its task stands in the programme of both."""
    sheets = Sheets(season_start="01-01")
    sheets.aircraft("kite")
    sheets.part("pk-1", "battery", use="assigned")
    sheets.task("pack-test", on={"part_kind": "battery"}, every=[{"months": 2}])
    sheets.fly("2024-03-01", uses=["pk-1"])
    sheets.done("pack-test", "2024-03-05", subject="pk-1")
    sheets.fly("2024-04-01", aircraft="kite", uses=["pk-1"])
    view = view_season(sheets.ledger(), TODAY, (), 2024)
    assert [(line.aircraft, len(line.missed)) for line in view.lines if line.missed] == [
        ("kite", 1)
    ]
