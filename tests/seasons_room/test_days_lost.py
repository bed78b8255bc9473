"""Days lost, from intervals, are those of every single day's own ledger."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from seasons_room.season_fleet import FILES, HERON, KESTREL, Diary

from fleets import make_fleet
from register.desk import open_fleet
from register.findings.deferrals import view_deferral
from register.findings.snags import fold_snags
from register.ledger.ledger import Ledger
from register.views.season_days import GRAVEST, count_lost, find_reaches

FIRST = date(2026, 4, 1)
LAST = date(2026, 4, 30)
SEVERITIES = ("grounding", "limiting", "not-yet-rated", "cosmetic", "deferrable")
days = st.integers(0, 29)


@st.composite
def diaries(draw: Callable[[Any], Any]) -> Diary:
    """A month: snags on two jets and a servo that moves, ratings, deferrals, fixes, flights."""
    diary = Diary()

    def day(number: int) -> str:
        return (FIRST + timedelta(days=number)).isoformat()

    diary.install("2026-03-01", "sv-1", HERON, "aileron-servo-left")
    if draw(st.booleans()):
        moved = draw(days)
        diary.note("remove", day(moved), 'part: "sv-1"\n')
        if draw(st.booleans()):
            diary.install(day(min(moved + draw(days), 40)), "sv-1", KESTREL, "aileron-servo-left")
    for number in sorted(draw(st.lists(days, max_size=4))):
        diary.fly(day(number), draw(st.integers(1, 3)), draw(st.sampled_from((HERON, KESTREL))))
    for _ in range(draw(st.integers(0, 3))):
        found = draw(days)
        where = draw(st.sampled_from(("", 'position: "aileron-servo-left"\n')))
        whose = draw(st.sampled_from((HERON, KESTREL)))
        snag = diary.snag(day(found), "Loose", draw(st.sampled_from(SEVERITIES)), where, whose)
        for _ in range(draw(st.integers(0, 4))):
            _decide(draw, diary, snag, day, found)
    for state in ("begin", "end") if draw(st.booleans()) else ():
        diary.note("layup", day(draw(days)), f'subject: "heron"\nstate: "{state}"\n')
    return diary


def _decide(
    draw: Callable[[Any], Any],
    diary: Diary,
    snag: str,
    day: Callable[[int], str],
    found: int,
) -> None:
    when = day(min(found + draw(st.integers(0, 12)), 29))
    kind = draw(st.sampled_from(("severity", "deferral", "fix")))
    if kind == "severity":
        word = draw(st.sampled_from(SEVERITIES))
        diary.note("severity", when, f'snag: "{snag}"\nseverity: "{word}"\n')
    elif kind == "fix":
        diary.fix(when, snag, "Tightened")
    else:
        until = f'until: "{day(draw(days))}"\n' if draw(st.booleans()) else ""
        flights = f"flights: {draw(st.integers(1, 4))}\n" if draw(st.booleans()) else ""
        diary.note("deferral", when, f'snag: "{snag}"\nreason: "later"\n{until}{flights}')


def stand(ledger: Ledger, aircraft: str, day: date) -> str | None:
    """How an aircraft stood at the end of a day, by the rules that `flyday` goes by."""
    if ledger.stage(aircraft)[0] != "in-service":
        return "not-in-service"
    found = set()
    for snag in fold_snags(ledger).values():
        if not snag.is_open or aircraft not in snag.hosts:
            continue
        deferral = view_deferral(ledger, snag, day)
        if deferral is not None:
            found.add("grounded" if deferral.expired else "limited")
        elif snag.severity in ("grounding", "not-yet-rated"):
            found.add("grounded")
        elif snag.severity == "limiting":
            found.add("limited")
    return next((state for state in GRAVEST if state in found), None)


@settings(max_examples=40)
@given(diary=diaries())
def test_days_lost_are_those_of_every_single_day(diary: Diary) -> None:
    with TemporaryDirectory() as folder:
        fleet = open_fleet(make_fleet(Path(folder), {**FILES, **diary.files}))
        ledger = fleet.ledger_at(LAST)
        for aircraft in ("heron", "kestrel"):
            reaches = find_reaches(ledger, aircraft, LAST)
            for number in range(30):
                day = FIRST + timedelta(days=number)
                lost = count_lost(reaches, day, day)
                found = lost[0].state if lost else None
                assert found == stand(Ledger(fleet.records, day), aircraft, day), (aircraft, day)


@pytest.mark.parametrize(("first", "last", "days_in"), [(3, 9, 7), (8, 20, 3), (0, 2, 0)])
def test_a_season_holds_only_its_own_days(
    tmp_path: Path, first: int, last: int, days_in: int
) -> None:
    diary = Diary()
    snag = diary.snag("2026-04-04", "Loose", "grounding")
    diary.fix("2026-04-12", snag, "Tightened")
    ledger = open_fleet(make_fleet(tmp_path, {**FILES, **diary.files})).ledger
    lost = count_lost(
        find_reaches(ledger, "heron", LAST),
        FIRST + timedelta(days=first),
        FIRST + timedelta(days=last),
    )
    assert sum(one.days for one in lost) == days_in
