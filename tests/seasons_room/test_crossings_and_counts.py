"""What has passed is said to have, a range holds its estimate, and no series is miscounted."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from seasons_room.season_fleet import FILES, HERON, Diary, make_season_fleet, reading

from fleets import make_fleet, run
from register.desk import open_fleet
from register.faults.drift import Reading, project_crossing
from register.views.trend import view_trend
from register.views.trend_words import foot_words, meets_words


def creeping(count: int = 12) -> Diary:
    """Play that grows to 1.48 of 1.6 over a year, a little uneven."""
    diary = Diary()
    for n in range(count):
        value = round(0.5 + n * 0.09 + (0.01 if n % 3 == 1 else 0), 2)
        diary.done(f"2024-{n + 1:02d}-03", "surface-play", HERON, reading("play", value, "mm"))
    return diary


def test_a_meeting_that_has_passed_unread_is_said(tmp_path: Path) -> None:
    fleet = make_fleet(tmp_path, {**FILES, **creeping().files})
    for day, passed in ((date(2024, 12, 20), False), (date(2026, 11, 25), True)):
        [line] = view_trend(open_fleet(fleet).ledger_at(day), day, ()).nearing
        assert line.verdict == "approaching"
        assert isinstance(line.expected, date)
        assert line.passed is passed
        assert ("last read 2024-12-03" in meets_words(line)) is passed
    told = run("report", "--on", "2026-11-25", fleet=fleet).out
    assert "by the end of the next season" not in told
    assert "should have met one by now and not read since" in " ".join(told.split())


def test_a_range_holds_its_estimate_wherever_the_meeting_lies() -> None:
    """Where the line meets the limit before the middle of the spell, the ends change sides."""
    readings = [Reading(float(n), n + (0.4 if n % 2 else 0.0)) for n in range(14)]
    for limit in (-5.0, 2.0, 7.0, 13.0, 40.0):
        at = project_crossing(readings, limit, "most").at
        assert at.low is not None
        assert at.value is not None
        assert at.high is not None
        assert at.low <= at.value <= at.high


def test_every_series_is_counted_once_and_no_other_is_called_untested(tmp_path: Path) -> None:
    """Drifts without a limit are named; one reading without a limit is too few to tell."""
    diary = creeping()
    for n in range(12):
        body = f'subject: "heron"\nname: "gap"\nvalue: {1 + n / 10}\nunit: "mm"\n'
        diary.note("reading", f"2024-{n + 1:02d}-05", body)
    diary.note("reading", "2024-05-07", 'subject: "heron"\nname: "odd"\nvalue: 1\nunit: "mm"\n')
    fleet = make_fleet(tmp_path, {**FILES, **diary.files})
    day = date(2025, 1, 5)
    view = view_trend(open_fleet(fleet).ledger_at(day), day, ())
    words = foot_words(view)
    assert words[1] == (
        "Of these on the way to it 1; drifting with no limit set 1; "
        "too few to tell and no limit set 1."
    )
    assert words[2].startswith("DRIFTS with no limit set: heron gap (p below 0.001): ")
    assert "heron gap" in run("report", "--on", "2025-01-05", fleet=fleet).out


def test_the_sorts_add_up(tmp_path: Path) -> None:
    day = date(2026, 5, 16)
    view = view_trend(open_fleet(make_season_fleet(tmp_path)).ledger_at(day), day, ())
    counts = re.findall(r" (\d+)[;.]", foot_words(view)[1])
    assert sum(map(int, counts)) == len(view.lines)
