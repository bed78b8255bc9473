"""The screen of `season`: one season by aircraft, beside the earlier ones."""

from __future__ import annotations

from collections.abc import Iterable

from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Screen, Span, Words
from cli.render.shapes import Shape, full_span_shape
from cli.session import Session
from register.views.season import SeasonView
from register.views.season_tally import SeasonLine
from register.views.season_words import (
    DAYS_NOTE,
    FEW_NOTE,
    LATE_NOTE,
    RATE_NOTE,
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

#: Columns for one season, and for the names of the figures.
_WIDE, _NAMES = 13, 24
MOST_LISTED = 8


def render_season(session: Session, view: SeasonView) -> None:
    """By aircraft, then beside the earlier seasons, then what was late and what cost days."""
    note_unread(session, view.unread)
    screen = Screen()
    whose = f" of {view.aircraft}" if view.aircraft else ""
    last = view.on if view.is_running else view.end
    running = " to date" if view.is_running else ""
    screen.title(f"Season {view.year}{whose}{running}", day_words(view.on))
    screen.line(
        f"{view.first.isoformat()} to {last.isoformat()}; edges: season_start in fleet.yaml"
    )
    if view.unread:
        screen.line(unread_words(view.unread))
    if view.aircraft is None:
        screen.gap()
        screen.table(_COLUMNS, [_row(line) for line in view.lines])
        if not view.lines:
            screen.line("nothing is recorded in this season")
    season_beside(session, screen, view)
    for line in view.lines:
        _details(screen, line, view)
    _parts(screen, view)
    _foot(screen, view)
    session.show(screen, season_shape(view))


_COLUMNS = (
    Column("aircraft", flexible=True),
    Column("days", right=True),
    Column("flights", right=True),
    Column("hours", right=True),
    Column("faults", right=True),
    Column("done", right=True),
    Column("late", right=True),
    Column("missed", right=True),
    Column("work h", right=True),
    Column("out/gnd/lim", right=True),
)


def _row(line: SeasonLine) -> tuple[Words, ...]:
    return (
        line.aircraft,
        str(line.flying_days),
        span_text(line.flights),
        hours_text(line.minutes),
        str(line.fault_count),
        str(line.done),
        str(len(line.late)),
        str(len(line.missed)),
        work_text(line.work),
        "/".join(str(line.lost_days(state)) for state in STATE_WORDS),
    )


def season_beside(session: Session, screen: Screen, view: SeasonView) -> None:
    """Each figure of this season and of as many others as fit."""
    room = max((session.width - _NAMES) // _WIDE, 2)
    others = [line for line in view.beside if line.first != view.first]
    earlier = [line for line in others if line.first < view.first][: room - 1]
    shown = [next(line for line in view.beside if line.first == view.first), *earlier]
    places = [view.beside.index(line) for line in shown]
    heads = (Column(""), *(Column(season_name(line), right=True) for line in shown))
    screen.gap()
    screen.table(heads, [(name, *(texts[n] for n in places)) for name, texts in beside_rows(view)])
    left = len(others) - len(earlier)
    if left:
        screen.line(f"{left} more season{'s' if left > 1 else ''}: --json, or a wider screen")


def _details(screen: Screen, line: SeasonLine, view: SeasonView) -> None:
    """Faults by system, what was late, what cost days."""
    rows: list[tuple[str, Iterable[str]]] = []
    if line.faults:
        rows.append(("faults", [", ".join(f"{name}: {n}" for name, n in line.faults)]))
    most = MOST_LISTED if view.aircraft else 2
    late = sorted(line.late, key=lambda done: -max(side.beyond for side in done.late))
    rows.append(("late", _listed([late_text(done) for done in late], most)))
    rows.append(("missed", _listed([missed_text(one) for one in line.missed], most)))
    lost = sorted(line.lost, key=lambda one: -one.days)
    rows.append(
        (
            "days",
            _listed(
                [f"{one.days} {STATE_WORDS[one.state]}: {one.why}" for one in lost],
                most + 1,
            ),
        )
    )
    told = [(name, words) for name, found in rows for words in found]
    if not told:
        return
    screen.gap()
    if view.aircraft is None:
        screen.line(Span(line.aircraft, "strong"))
    before = ""
    for name, words in told:
        screen.line(f"{'' if name == before else name:<6}  {words}", 2, 8)
        before = name


def _listed(words: list[str], most: int) -> list[str]:
    left = len(words) - most
    return words if left <= 0 else [*words[:most], f"and {left} more"]


def _parts(screen: Screen, view: SeasonView) -> None:
    if not view.parts:
        return
    screen.gap()
    screen.line(Span("Parts with a counter of their own, wherever they were", "strong"))
    rows = [
        (
            part.part,
            part.position or part.kind,
            part.counter.replace("-", " "),
            counter_text(part.counter, part.gained),
            counter_text(part.counter, part.total),
        )
        for part in view.parts
    ]
    columns = (
        Column("part"),
        Column("where, or kind", flexible=True),
        Column("counter"),
        Column("gained", right=True),
        Column("total", right=True),
    )
    screen.table(columns, rows, indent=2)


def _foot(screen: Screen, view: SeasonView) -> None:
    screen.gap()
    for problem in view.problems:
        place = f"{problem.place.file}:{problem.place.line}"
        screen.line([Span("MONEY", "attend"), f" {place}: {problem.says}"], 0, 2)
        screen.line(f"mend: {problem.mend}", 2, 2)
    screen.line(f"{RATE_NOTE} {FEW_NOTE}", 0, 2)
    screen.line(LATE_NOTE, 0, 2)
    screen.line(WORK_NOTE, 0, 2)
    screen.line(DAYS_NOTE, 0, 2)
    if view.is_running:
        screen.line("The season is not over: compare it with the rows marked by.", 0, 2)


# --- JSON ---------------------------------------------------------------------


def season_shape(view: SeasonView) -> Shape:
    """The JSON of a whole answer."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "year": view.year,
        "first": view.first,
        "end": view.end,
        "running": view.is_running,
        "aircraft": [line_shape(line, view) for line in view.lines],
        "seasons": [line_shape(line, view) for line in view.beside],
        "parts": [
            {
                "part": part.part,
                "kind": part.kind,
                "position": part.position,
                "counter": part.counter,
                "gained": full_span_shape(part.gained),
                "total": full_span_shape(part.total),
            }
            for part in view.parts
        ],
        "problems": [
            {
                "code": one.code,
                "says": one.says,
                "place": f"{one.place.file}:{one.place.line}",
                "mend": one.mend,
            }
            for one in view.problems
        ],
    }


def line_shape(line: SeasonLine, view: SeasonView) -> Shape:
    """One aircraft, or the fleet, in one season."""
    shape: Shape = {
        "aircraft": line.aircraft or None,
        "first": line.first,
        "last": line.last,
        "flying_days": line.flying_days,
        "flights": full_span_shape(line.flights),
        "minutes": full_span_shape(line.minutes),
        "by_the_same_day": {"flights": full_span_shape(line.by_then[0]), "faults": line.by_then[1]},
        "faults": [{"system": name, "count": count} for name, count in line.faults],
        "faults_outside_service": line.other_faults,
        "done": line.done,
        "failed": line.failed,
        "late": [
            {
                "task": done.task,
                "subject": done.subject[1],
                "when": done.event.moment.day,
                "record": done.event.path,
                "beyond": {side.side: side.beyond for side in done.late},
            }
            for done in line.late
        ],
        "missed": [
            {"task": one.task, "subject": one.subject[1], "since": one.first, "done": one.done}
            for one in line.missed
        ],
        "deferrals": line.deferrals,
        "workshop": {
            "minutes": line.work.minutes,
            "pieces": line.work.pieces,
            "without_time": line.work.untimed,
        },
        "days_lost": [
            {
                "state": one.state,
                "why": one.why,
                "record": one.record,
                "days": one.days,
                "first": one.first,
                "last": one.last,
            }
            for one in line.lost
        ],
    }
    if view.with_money:
        shape["money"] = [
            {"category": one.category, "currency": one.currency or None, "amount": one.amount}
            for one in line.money
        ]
    return shape
