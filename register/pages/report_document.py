"""The report before it is a screen or a page: sections of words, tables and places for plots."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from register.pages.blocks import ATTEND, FINE, PLAIN, STOP, Row, Table, Words
from register.pages.report_chapters import Chapter, More, Part, Plot
from register.pages.report_faults import build_faults
from register.pages.series_text import figure_words
from register.standing.judge import AircraftDay
from register.standing.reasons import LOST, Reason, deciding_words
from register.views.changes import left_phrase
from register.views.due import DueLine
from register.views.report import ReportView
from register.views.season_words import (
    DAYS_NOTE,
    LATE_NOTE,
    STATE_WORDS,
    WORK_NOTE,
    beside_rows,
    counter_text,
    hours_text,
    late_text,
    missed_text,
    season_name,
    span_text,
    work_text,
)
from register.views.trend import TrendLine
from register.views.trend_words import ONE_OF_THEM, foot_words, meets_words, name_words

MOST_DUE = 25
MOST_SEASONS = 4
MOST_LATE = 8
MOST_PLOTTED = 6
RANGE_NOTE = (
    "The range holds if a drift goes on as it was; a harder season or other work changes that."
)
STANDING_WORDS = {
    "grounded": ("GROUNDED", STOP),
    "limited": ("LIMITED", ATTEND),
    "due": ("DUE", ATTEND),
    "cannot-tell": ("CANNOT TELL", ATTEND),
    "nothing-open": ("nothing open", PLAIN),
    "not-in-service": ("not in service", PLAIN),
}
STATE_TEXT = {
    "overdue": ("OVERDUE", STOP),
    "due": ("DUE", ATTEND),
    "cannot-tell": ("CANNOT TELL", ATTEND),
    "in-window": ("in window", PLAIN),
    "soon": ("soon", PLAIN),
}
CAUTION = (
    "A notebook, not an inspection: it tells what was written down. You decide, after looking; "
    "the maker's manual, your rules and the law come first."
)


def build_report(view: ReportView) -> tuple[Chapter, ...]:
    """The chapters, in the order they are read."""
    return (
        _standing(view),
        _due(view),
        build_faults(view),
        _trends(view),
        _season(view),
        *([_lost(view)] if any(line.lost for line in view.season.lines) else []),
    )


def title_of(view: ReportView) -> str:
    """What the report is of."""
    return f"Report on {view.aircraft}" if view.aircraft else f"Report on {view.fleet}"


# --- standing and due ---------------------------------------------------------


def _standing(view: ReportView) -> Chapter:
    rows = tuple(_standing_row(found) for found in view.standings)
    flying = [one for one in view.standings if one.stage == "in-service"]
    grounded = sum(one.standing == "grounded" for one in flying)
    answer = f"{len(flying)} in service, {grounded} of them grounded as recorded."
    if view.aircraft is not None:
        answer = f"As recorded: {STANDING_WORDS[view.standings[0].standing][0]}."
    return Chapter(
        "standing", "Standing", answer, (Table(("aircraft", "standing", "first reason"), rows),)
    )


def _standing_row(found: AircraftDay) -> Row:
    word, tone = STANDING_WORDS[found.standing]
    says = found.reasons[0].says if found.reasons else ""
    more = sum(one.standing == found.standing for one in found.reasons) - 1
    if more > 0 and found.standing != "not-in-service":
        says += f" (and {more} more)"
    return Row((found.aircraft, word, says or "nothing recorded is open"), tone)


def _due(view: ReportView) -> Chapter:
    shown = view.due[:MOST_DUE]
    counts = [
        (sum(line.item.state == state for line in view.due), word.lower())
        for state, (word, _) in STATE_TEXT.items()
    ]
    lost = [(found, one) for found in view.standings for one in found.reasons if one.kind == LOST]
    counts.append((len(lost), "not to be told: a file cannot be read"))
    answer = ", ".join(f"{n} {word}" for n, word in counts if n) or "Nothing is due or near it."
    parts: list[Part] = []
    rows = tuple(_lost_row(found.aircraft, reason) for found, reason in lost)
    rows += tuple(_due_row(line) for line in shown)
    if rows:
        parts.append(_named(view, Table(("aircraft", "task", "state", "left"), rows)))
    left = len(view.due) - len(shown)
    if left:
        parts.append(More(f"{left} more", "tailsheaf due"))
    if view.never_done:
        parts.append(Words(f"{view.never_done} tasks were never recorded.", FINE))
    return Chapter("due", "Due and soon", answer, tuple(parts))


def _lost_row(aircraft: str, reason: Reason) -> Row:
    word, tone = STANDING_WORDS[reason.standing]
    where = reason.place.file if reason.place is not None else reason.name
    return Row((aircraft, where, word, reason.says), tone)


def _named(view: ReportView, table: Table) -> Table:
    """A table whose first column names the aircraft; without it where the report is of one."""
    if view.aircraft is None:
        return table
    rows = tuple(Row(row.cells[1:], row.tone) for row in table.rows)
    return Table(table.columns[1:], rows, table.narrow)


def _due_row(line: DueLine) -> Row:
    item = line.item
    word, tone = STATE_TEXT[item.state]
    on = f" on {item.subject[1]}" if item.subject[1] != item.aircraft else ""
    past = item.state in ("overdue", "due", "cannot-tell", "no-baseline")
    grounds = word + (", grounds" if item.grounds and past else "")
    opened = next((one.says for one in item.opened if one.state == "soon"), "")
    left = deciding_words(item) or opened or left_phrase(item)
    if not left and item.steps:
        left = "; ".join(step.says for step in item.steps[-2:])
    return Row((item.aircraft, f"{item.task.title}{on}", grounds, left), tone)


def _place_of_season(view: ReportView) -> int:
    return [line.first for line in view.season.beside].index(view.season.first)


# --- trends -------------------------------------------------------------------


def _trends(view: ReportView) -> Chapter:
    nearing = view.trend.nearing
    parts: list[Part] = []
    if nearing:
        heads = ("what", "reading", ">readings", ">last", ">limit", "meets its limit", "basis")
        parts.append(Table(heads, tuple(_trend_row(view, line) for line in nearing)))
    for line in [line for line in nearing if len(line.placed) > 2][:MOST_PLOTTED]:
        note = f"meets its limit {meets_words(line)}" if line.expected else line.says
        parts.append(Plot("trend", name_words(line), note, line))
    if any(line.verdict == "approaching" for line in nearing):
        parts.append(Words(RANGE_NOTE, FINE))
    parts.extend(Words(words, FINE) for words in foot_words(view.trend))
    parts.append(More("", ONE_OF_THEM))
    return Chapter("trends", "Readings that near a limit", _trend_answer(view), tuple(parts))


def _trend_answer(view: ReportView) -> str:
    """How many are beyond, meet their limit by the end of the next season, and drift at all."""
    nearing = view.trend.nearing
    gone_lines = [line for line in nearing if line.passed]
    soon_lines = [line for line in nearing if is_soon(view, line) and not line.passed]
    soon = len(soon_lines)
    gone = len(gone_lines)
    named, behind = (
        ", ".join(f"{line.key.subject[1]} {line.label}" for line in lines)
        for lines in (soon_lines, gone_lines)
    )
    later = sum(line.verdict == "approaching" for line in nearing) - soon - gone
    past = sum(line.verdict == "past" for line in nearing)
    counts = (
        (past, "beyond a limit"),
        (gone, f"that should have met one by now and not read since ({behind})"),
        (soon, f"to meet one by the end of the next season, {view.next_end.isoformat()} ({named})"),
        (later, "drifting towards one that is further off"),
    )
    told = "; ".join(f"{count} {words}" for count, words in counts if count)
    return f"{told}." if told else "Nothing that was read is known to near its limit."


def is_soon(view: ReportView, line: TrendLine) -> bool:
    """Whether a reading is expected to meet its limit by the end of the next season."""
    return isinstance(line.expected, date) and line.expected <= view.next_end


def _trend_row(view: ReportView, line: TrendLine) -> Row:
    bounds = line.series.bounds
    tone = STOP if line.verdict == "past" else ATTEND if is_soon(view, line) else PLAIN
    unit = f", {line.key.unit}" if line.key.unit else ""
    return Row(
        (
            line.key.subject[1],
            f"{line.label}{unit}",
            str(len(line.placed)),
            figure_words(line.placed[-1].value),
            "" if line.limit is None else figure_words(line.limit),
            meets_words(line) or "near it: most of its room is used",
            bounds.basis.text if bounds is not None else "",
        ),
        tone,
    )


# --- season -------------------------------------------------------------------


def _undone(view: ReportView) -> Iterator[Part]:
    """What was done late or missed, and lines of money that are odd."""
    season = view.season
    late = [one for line in season.lines for one in line.late]
    late.sort(key=lambda one: -max(side.beyond for side in one.late))
    if late:
        rows = tuple(
            Row((one.aircraft, *late_text(one).split(": ", 1))) for one in late[:MOST_LATE]
        )
        yield _named(view, Table(("aircraft", "done late", "by"), rows, narrow=True))
    if len(late) > MOST_LATE:
        yield More(f"{len(late) - MOST_LATE} more were late", "tailsheaf season AIRCRAFT")
    missed = [one for line in season.lines for one in line.missed]
    if missed:
        rows = tuple(
            Row((one.aircraft, *missed_text(one).split(": ", 1))) for one in missed[:MOST_LATE]
        )
        heads = ("aircraft", "missed", "since")
        yield _named(view, Table(heads, rows, narrow=True))
    if len(missed) > MOST_LATE:
        more = f"{len(missed) - MOST_LATE} more were missed"
        yield More(more, "tailsheaf season AIRCRAFT")
    for problem in season.problems:
        place = f"{problem.place.file}:{problem.place.line}"
        yield Words(f"{place}: {problem.says}; {problem.mend}.")


def _season(view: ReportView) -> Chapter:
    season = view.season
    parts: list[Part] = []
    at = _place_of_season(view)
    shown = season.beside[at : at + MOST_SEASONS]
    heads = ("figure", *(f">{season_name(line)}" for line in shown))
    rows = tuple(Row((name, *texts[at : at + MOST_SEASONS])) for name, texts in beside_rows(season))
    parts.append(Table(heads, rows, narrow=True))
    parts.append(
        Plot("flights", "Flights so far in each season", "By day of the season, counted on.")
    )
    if view.aircraft is None and season.lines:
        parts.append(_by_aircraft(view))
    if season.parts:
        parts.append(
            Table(
                ("part", "where, or kind", "counter", ">gained", ">total"),
                tuple(
                    Row(
                        (
                            part.part,
                            part.position or part.kind,
                            part.counter.replace("-", " "),
                            counter_text(part.counter, part.gained),
                            counter_text(part.counter, part.total),
                        )
                    )
                    for part in season.parts
                ),
                narrow=True,
            )
        )
    parts.extend(_undone(view))
    parts.append(Words(LATE_NOTE, FINE))
    parts.append(Words(WORK_NOTE, FINE))
    if season.is_running:
        parts.append(Words("The season is not over: compare it with the rows marked by.", FINE))
    running = " to date" if season.is_running else ""
    line = shown[0]
    answer = (
        f"{line.flying_days} flying days, {span_text(line.flights)} flights, "
        f"{hours_text(line.minutes)} hours{running}."
    )
    return Chapter("season", f"Season {season_name(line)}", answer, tuple(parts))


def _by_aircraft(view: ReportView) -> Table:
    heads = ("aircraft", ">days", ">flights", ">hours", ">faults", ">done", ">late", ">work h")
    return Table(
        heads,
        tuple(
            Row(
                (
                    line.aircraft,
                    str(line.flying_days),
                    span_text(line.flights),
                    hours_text(line.minutes),
                    str(line.fault_count),
                    str(line.done),
                    str(len(line.late)),
                    work_text(line.work),
                )
            )
            for line in view.season.lines
        ),
        narrow=True,
    )


def _lost(view: ReportView) -> Chapter:
    rows = tuple(_lost_rows(view))
    total = {
        state: sum(line.lost_days(state) for line in view.season.lines) for state in STATE_WORDS
    }
    answer = "Days of aircraft: " + ", ".join(
        f"{total[state]} {words}" for state, words in STATE_WORDS.items()
    )
    return Chapter(
        "days",
        "Days not available",
        f"{answer}.",
        (
            Plot("days", "Days not available, by aircraft"),
            _named(view, Table(("aircraft", ">days", "how", "why"), rows, narrow=True)),
            Words(DAYS_NOTE, FINE),
        ),
    )


def _lost_rows(view: ReportView) -> Iterator[Row]:
    for line in view.season.lines:
        groups: dict[tuple[str, str], int] = {}
        for one in line.lost:
            groups[one.state, one.why] = groups.get((one.state, one.why), 0) + one.days
        for (state, why), days in sorted(groups.items(), key=lambda item: -item[1]):
            yield Row((line.aircraft, str(days), STATE_WORDS[state], why))
