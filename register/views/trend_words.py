"""Words of trends that a screen and a page share."""

from __future__ import annotations

import shlex
from collections import Counter
from datetime import date

from register.faults.results import p_words
from register.views.trend import LEVEL_FOUND, NEAR, TrendLine, TrendView
from register.views.trend_says import NOT_READ_AGAIN

LONGEST_YEARS = 20
#: The line that tells more of one series.
ONE_OF_THEM = "One of them: tailsheaf trend AIRCRAFT|PART NAME; over flights: --per flights"


def meets_words(line: TrendLine) -> str:
    """When it meets its limit, with the range."""
    if line.verdict == "past" and line.series.since_step is not None:
        return f"beyond it when last read; {NOT_READ_AGAIN}"
    if line.verdict == "past":
        return "beyond it now"
    if line.verdict != "approaching":
        return ""
    expected = end_words(line.expected, line)
    if isinstance(line.expected, float):
        expected += f", {max(line.expected - line.placed[-1].at, 0):.0f} after the last reading"
    low, high = end_words(line.earliest, line), end_words(line.latest, line)
    told = f"{expected} ({low} to {'never' if line.latest is None else high})"
    if line.passed and not is_met_by_line(line):
        return f"{told}: that has passed, and {not_read_words(line)}"
    return told


def not_read_words(line: TrendLine) -> str:
    """Since when nobody has read it."""
    return f"it was last read {line.placed[-1].day.isoformat()}"


def is_met_by_line(line: TrendLine) -> bool:
    """Whether the straight line meets the limit before the last reading, which has not."""
    return (
        line.crossing is not None
        and line.verdict == "approaching"
        and ((line.crossing.at.value or 0.0) < line.placed[-1].at)
    )


def expected_words(line: TrendLine) -> str:
    """When, and whether that is behind it, in a few words."""
    if line.verdict != "approaching":
        return ""
    words = end_words(line.expected, line)
    return f"{words}, passed" if line.passed and not is_met_by_line(line) else words


def end_words(end: date | float | None, line: TrendLine) -> str:
    """One end of a crossing: a month far off, a day, or a count with its axis."""
    if end is None:
        return "beyond the calendar"
    if is_met_by_line(line) and end == line.expected:
        return "by now"
    if not isinstance(end, date):
        return f"{end:.0f} {line.axis}"
    last = line.placed[-1].day
    if end.year - last.year > LONGEST_YEARS:
        return f"after {last.year + LONGEST_YEARS}"
    return end.isoformat() if end.year - last.year < 2 else f"{end.year}-{end.month:02d}"


_SORTS = (
    "beyond their limit",
    "on the way to it",
    "near it",
    "with work since the last reading",
    "drifting with no limit set",
    "drifting away from their limit",
    "with no drift found",
    "with no drift found and no limit set",
    "too few to tell",
    "too few to tell and no limit set",
)
MOST_NAMED = 5


def _sort_of(line: TrendLine) -> str:
    """What a series is counted as; each is counted once."""
    untested = line.drift is None or line.drift.test.too_few
    if line.verdict == "no-limit":
        return _SORTS[9] if untested else _SORTS[7]
    named = ("past", "approaching", "near", "mended", "drifting", "away", "steady")
    return _SORTS[named.index(line.verdict)] if line.verdict in named else _SORTS[8]


def name_words(line: TrendLine) -> str:
    """Whose and which."""
    unit = f", {line.key.unit}" if line.key.unit else ""
    host = f" in {line.host}" if line.host and line.host != line.key.subject[1] else ""
    return f"{line.key.subject[1]}{host}  {line.label}{unit}"


def foot_words(view: TrendView) -> list[str]:
    """What was tested, what was not, and what a find may be worth."""
    found = []
    total = len(view.lines)
    luck = (
        f": of so many about {view.tested * LEVEL_FOUND:.1f} would look like a drift by luck alone"
    )
    found.append(
        f"{total} series; {view.tested} have readings enough to be tested, at "
        f"{LEVEL_FOUND:.0%}{luck if view.tested else ''}."
    )
    counted = Counter(_sort_of(line) for line in view.lines)
    told = [f"{words} {counted[words]}" for words in _SORTS if counted[words]]
    if told:
        found.append(f"Of these {'; '.join(told)}.")
    for line in view.drifting[:MOST_NAMED]:
        p = p_words(line.drift.test.p if line.drift is not None else None)
        found.append(
            f"DRIFTS with no limit set: {line.key.subject[1]} {line.label} (p {p}): "
            f"tailsheaf trend {line.key.subject[1]} {shlex.quote(line.label)}"
        )
    if any(line.verdict == "near" for line in view.lines):
        found.append(
            f"NEAR: {NEAR:.0%} of the room to the limit is used (common practice, no source)."
        )
    return found
