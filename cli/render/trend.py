"""The screen of `trend`: what nears its limit, and each series drawn."""

from __future__ import annotations

from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.render.shapes import Shape, basis_shape
from cli.session import Session
from register.entry.ids import shorten_id
from register.faults.results import p_words
from register.pages.series_text import draw_series, figure_words, legend, place_words
from register.views.trend import LEVEL_FOUND, TrendLine, TrendView
from register.views.trend_words import (
    ONE_OF_THEM,
    end_words,
    expected_words,
    foot_words,
    meets_words,
    name_words,
)

#: Drawings on one screen, where several series are asked for.
MOST_DRAWN = 3
VERDICT_WORDS: dict[str, tuple[str, Meaning]] = {
    "past": ("BEYOND", "stop"),
    "approaching": ("DRIFTS", "attend"),
    "near": ("NEAR", "attend"),
    "mended": ("mended", "plain"),
    "drifting": ("drifts", "plain"),
    "steady": ("no drift", "plain"),
    "away": ("away", "plain"),
    "too-few": ("too few", "faint"),
    "no-limit": ("no limit", "faint"),
}


def render_trend(session: Session, view: TrendView) -> None:
    """A list with the nearest drawn; or one series with everything that is known of it."""
    note_unread(session, view.unread)
    session.open_items += sum(line.verdict == "past" for line in view.lines)
    screen = Screen()
    screen.title(_title(view), day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    if not view.lines:
        screen.line("no reading is recorded")
        screen.line(Span("tailsheaf reading AIRCRAFT NAME=VALUE", "command"), 2)
    elif view.name is not None:
        for line in view.lines:
            _one(session, screen, line, view)
    else:
        _listed(session, screen, view)
    session.show(screen, trend_shape(view))


def _title(view: TrendView) -> str:
    words = f"Trend of {view.subject[1]}" if view.subject else "Trend"
    return f"{words}: {view.name}" if view.name else words


def _listed(session: Session, screen: Screen, view: TrendView) -> None:
    shown = view.nearing if view.subject is None else view.lines
    if view.subject is None and not shown:
        screen.line("nothing that was read is known to near its limit")
    screen.gap()
    screen.table(_COLUMNS, [_row(line) for line in shown])
    for line in view.nearing[:MOST_DRAWN]:
        if line.verdict == "approaching":
            screen.gap()
            screen.line(Span(name_words(line), "strong"))
            _drawing(session, screen, line)
    screen.gap()
    for words in (*foot_words(view), ONE_OF_THEM):
        screen.line(words, 0, 2)


_COLUMNS = (
    Column("what"),
    Column("reading", flexible=True),
    Column("n", right=True),
    Column("last", right=True),
    Column("limit", right=True),
    Column(""),
    Column("meets it"),
    Column("range", flexible=True),
)


def _row(line: TrendLine) -> tuple[Words, ...]:
    last = figure_words(line.placed[-1].value) if line.placed else "?"
    limit = "-" if line.limit is None else figure_words(line.limit)
    label = f"{line.label}, {line.key.unit}" if line.key.unit else line.label
    return (
        line.key.subject[1],
        label,
        str(len(line.placed)),
        last,
        limit,
        Span(*VERDICT_WORDS[line.verdict]),
        expected_words(line),
        _range_words(line),
    )


def _range_words(line: TrendLine) -> str:
    if line.verdict != "approaching":
        return ""
    if line.axis != "days":
        low, high = (f"{end:.0f}" for end in (line.earliest or 0, line.latest or 0))
    else:
        low, high = (_month(end_words(end, line)) for end in (line.earliest, line.latest))
    return f"{low} to {'never' if line.latest is None else high}"


def _month(words: str) -> str:
    """A day without its day of the month; words as they are."""
    return words[:7] if words[:4].isdigit() else words


def _drawing(session: Session, screen: Screen, line: TrendLine) -> None:
    plain = session.as_plain
    for row in draw_series(line, session.width - 2, ascii_only=plain):
        screen.line(row, 2)
    screen.line(Span(legend(line, ascii_only=plain), "faint"), 2, 2)


def _one(session: Session, screen: Screen, line: TrendLine, view: TrendView) -> None:
    screen.gap()
    word, meaning = VERDICT_WORDS[line.verdict]
    screen.line(
        [Span(name_words(line), "strong"), "  ", Span(word, meaning), f"  {line.says}"], 0, 2
    )
    if len(line.placed) > 1:
        _drawing(session, screen, line)
    for words in figure_lines(line):
        screen.line(words, 2, 2)
    ids = session.open().find_ids()
    for mark in line.series.steps:
        day = mark.event.moment.day.isoformat()
        screen.line(f"work {day}: {mark.says}  {shorten_id(mark.event.id, ids)}", 2, 2)
    for remark in line.remarks:
        screen.line(remark, 2, 2)
    rows = [
        (
            place_words(one.at, line.axis) if line.axis == "days" else f"{one.day}  {one.at:.0f}",
            figure_words(one.value),
            "out" if one.out else "",
        )
        for one in line.placed[-12:]
    ]
    screen.table(
        (Column("when"), Column(line.key.unit or "value", right=True), Column("")), rows, indent=2
    )
    if len(line.placed) > len(rows):
        screen.line(f"{len(line.placed) - len(rows)} earlier (--json has all)", 2)


def figure_lines(line: TrendLine) -> list[str]:
    """Limit, slope, test and crossing, each with its interval and method."""
    found = []
    bounds = line.series.bounds
    if bounds is not None:
        ends = [f"at least {figure_words(bounds.low)}"] if bounds.low is not None else []
        ends += [f"at most {figure_words(bounds.high)}"] if bounds.high is not None else []
        found.append(f"limit: {', '.join(ends)} ({bounds.rule}; {bounds.basis.text})")
    drift = line.drift
    if drift is None:
        return found
    slope = drift.slope
    factor, per = (365.25, "a year") if line.axis == "days" else (100.0, f"in 100 {line.axis}")
    if slope.low is None or slope.high is None:
        ends_of = "the interval is open: too few readings"
    else:
        ends_of = f"{figure_words(slope.low * factor)} to {figure_words(slope.high * factor)}"
    middle = (
        "" if slope.too_few or slope.value is None else f"{figure_words(slope.value * factor)}, "
    )
    found.append(
        f"slope {per}: {middle}{slope.level:.0%} {ends_of} ({slope.method}; {slope.convention})"
    )
    test = drift.test
    if not test.too_few and test.p is not None:
        found.append(
            f"test: p {p_words(test.p)} with {test.behind.events} readings ({test.method}; "
            f"{test.convention.partition(';')[0]})"
        )
    if line.verdict == "approaching":
        found.append(f"meets its limit: {meets_words(line)}")
        if line.season is not None:
            found.append(f"in the season from {line.season.isoformat()}")
    return found


# --- JSON ---------------------------------------------------------------------


def trend_shape(view: TrendView) -> Shape:
    """The JSON of a whole answer."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "subject": view.subject[1] if view.subject else None,
        "per": view.per,
        "tested": view.tested,
        "level": LEVEL_FOUND,
        "series": [line_shape(line) for line in view.lines],
    }


def _meets_shape(line: TrendLine) -> Shape:
    return {
        "expected": line.expected,
        "earliest": line.earliest,
        "latest": line.latest,
        "passed": line.passed,
    }


def line_shape(line: TrendLine) -> Shape:
    """One series."""
    bounds, drift = line.series.bounds, line.drift
    slope = drift.slope if drift is not None else None
    test = drift.test if drift is not None else None
    return {
        "subject": line.key.subject[1],
        "in": line.host,
        "place": line.key.place or None,
        "source": line.key.source,
        "name": line.key.name,
        "unit": line.key.unit or None,
        "axis": line.axis,
        "verdict": line.verdict,
        "says": line.says,
        "limit": line.limit,
        "bounds": None
        if bounds is None
        else {"low": bounds.low, "high": bounds.high, "basis": basis_shape(bounds.basis)},
        "slope": None
        if slope is None
        else {
            "value": slope.value,
            "low": slope.low,
            "high": slope.high,
            "level": slope.level,
            "method": slope.method,
            "convention": slope.convention,
            "too_few": slope.too_few,
        },
        "test": None
        if test is None
        else {
            "p": test.p,
            "direction": test.direction,
            "method": test.method,
            "convention": test.convention,
            "readings": test.behind.events,
            "too_few": test.too_few,
        },
        "meets": _meets_shape(line),
        "season": line.season,
        "readings": [
            {
                "when": one.day,
                "at": one.at if line.axis != "days" else None,
                "value": one.value,
                "spell": one.spell,
                "out": one.out,
                "record": one.record,
            }
            for one in line.placed
        ],
        "steps": [
            {"when": mark.event.moment.day, "says": mark.says, "record": mark.event.path}
            for mark in line.series.steps
        ],
        "remarks": list(line.remarks),
    }
