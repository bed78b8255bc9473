"""Words of trends that a screen and a page share."""

from __future__ import annotations

from datetime import date

from register.views.trend import LEVEL_FOUND, NEAR, NOT_READ_AGAIN, TrendLine, TrendView

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
    return f"{expected} ({low} to {'never' if line.latest is None else high})"


def is_met_by_line(line: TrendLine) -> bool:
    """Whether the straight line meets the limit before the last reading, which has not."""
    return (
        line.crossing is not None
        and line.verdict == "approaching"
        and ((line.crossing.at.value or 0.0) < line.placed[-1].at)
    )


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


def name_words(line: TrendLine) -> str:
    """Whose and which."""
    unit = f", {line.key.unit}" if line.key.unit else ""
    host = f" in {line.host}" if line.host and line.host != line.key.subject[1] else ""
    return f"{line.key.subject[1]}{host}  {line.label}{unit}"


def foot_words(view: TrendView) -> list[str]:
    """What was tested, what was not, and what a find may be worth."""
    found = []
    few = sum(line.verdict == "too-few" for line in view.lines)
    bare = sum(line.verdict == "no-limit" for line in view.lines)
    total = len(view.lines)
    luck = (
        f": of so many about {view.tested * LEVEL_FOUND:.1f} would look like a drift by luck alone"
    )
    found.append(
        f"{total} series; {view.tested} have readings enough to be tested, at "
        f"{LEVEL_FOUND:.0%}{luck if view.tested else ''}."
    )
    if few or bare:
        found.append(f"Too few to tell: {few}. No drift found and no limit set: {bare}.")
    if any(line.verdict == "near" for line in view.lines):
        found.append(
            f"NEAR: {NEAR:.0%} of the room to the limit is used (common practice, no source)."
        )
    return found
