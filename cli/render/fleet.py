"""The screens of `fleet`, `history` and of snags."""

from __future__ import annotations

from cli.render.doubles import add_doubles, doubles_shape
from cli.render.heard import add_heard, heard_shape
from cli.render.marks import (
    amount_words,
    day_words,
    hours_words,
    note_unread,
    standing_span,
    unread_words,
)
from cli.render.screen import Column, Screen, Span, Words
from cli.render.shapes import Shape, full_span_shape
from cli.session import Session
from register.entry.ids import shorten_id
from register.records.unread import SAYS_UNREAD
from register.views.fleet import (
    FleetView,
    HistoryLine,
    HistoryView,
    SnagLine,
    SnagsView,
)
from register.views.heard import HeardView


def render_fleet(session: Session, view: FleetView, heard: HeardView | None) -> None:
    """Every aircraft in one line, and the first reason under it."""
    note_unread(session, view.unread)
    session.open_items += sum(
        line.standing in ("grounded", "limited", "due", "cannot-tell") for line in view.lines
    )
    screen = Screen()
    screen.title(f"{view.name}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.gap()
    screen.table(
        (
            Column("aircraft"),
            Column("standing"),
            Column("flights", right=True),
            Column("hours", right=True),
            Column("season", right=True),
            Column("last flown"),
            Column("snags", right=True),
        ),
        [
            (
                Span(line.name, "strong"),
                standing_span(line.standing),
                amount_words(line.flights),
                hours_words(line.minutes),
                amount_words(line.season_flights),
                line.last_flown.isoformat() if line.last_flown else "never",
                str(line.open_snags),
            )
            for line in view.lines
        ],
    )
    screen.gap()
    for line in view.lines:
        if line.title == SAYS_UNREAD:
            screen.line([Span(line.name, "strong"), f": {SAYS_UNREAD} (tailsheaf check)"])
        if line.gone is not None:
            screen.line(f"{line.name} went to another owner on {line.gone.isoformat()}")
    screen.line(
        Span(f"season: flights since {view.season.isoformat()}. + at least, ~ estimated.", "faint")
    )
    add_doubles(screen, view.doubles)
    add_heard(screen, heard)
    session.show(
        screen, {**_fleet_shape(view), **doubles_shape(view.doubles), **heard_shape(heard)}
    )


def _fleet_shape(view: FleetView) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "name": view.name,
        "season": view.season,
        "aircraft": [
            {
                "aircraft": line.name,
                "title": line.title,
                "stage": line.stage,
                "standing": line.standing,
                "flights": full_span_shape(line.flights),
                "minutes": full_span_shape(line.minutes),
                "season_flights": full_span_shape(line.season_flights),
                "last_flown": line.last_flown,
                "open_snags": line.open_snags,
                "gone": line.gone,
            }
            for line in view.lines
        ],
    }


def render_history(session: Session, view: HistoryView) -> None:
    """Records in order, oldest first."""
    note_unread(session, view.unread)
    ids = session.open().ledger.settled.originals
    screen = Screen()
    screen.title(f"History of {view.subject[1]}  {view.title}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.table(
        (Column("day"), Column("id"), Column("what", flexible=True), Column("flights", right=True)),
        [_history_row(line, shorten_id(line.event.id, ids)) for line in view.lines],
    )
    if not view.lines:
        screen.line("nothing is recorded")
    if view.shown_of > len(view.lines):
        screen.line(f"the last {len(view.lines)} of {view.shown_of} records (--all)")
    data = {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "subject": view.subject[1],
        "of": view.shown_of,
        "records": [_history_shape(line) for line in view.lines],
    }
    session.show(screen, data)


def _history_row(line: HistoryLine, short: str) -> tuple[Words, ...]:
    event = line.event
    says: list[str | Span] = [line.says]
    if line.withdrawn:
        says = [Span("withdrawn: ", "faint"), Span(line.says, "faint")]
    elif line.amended:
        says.append(Span(" (amended)", "faint"))
    time = f" {event.moment.instant:%H:%M}" if event.moment.instant else ""
    total = amount_words(line.total) if line.total is not None else ""
    return (f"{event.moment.day.isoformat()}{time}", short, says, total)


def _history_shape(line: HistoryLine) -> Shape:
    event = line.event
    return {
        "id": event.id,
        "kind": event.kind,
        "when": event.moment.text,
        "says": line.says,
        "record": event.path,
        "flights": full_span_shape(line.total) if line.total is not None else None,
        "withdrawn": line.withdrawn,
        "amended_by": list(event.amended_by),
        "source": event.source,
        "by": event.by,
        "typed": event.typed,
    }


#: When a snag came to light, as said behind "found".
FOUND_WORDS = {
    "kit-check": "at the kit check",
    "build": "in the build",
    "before-flight": "before flight",
    "in-flight": "in flight",
    "after-flight": "after flight",
    "workshop": "in the workshop",
}


def render_snags(session: Session, view: SnagsView) -> None:
    """Open snags, gravest first."""
    note_unread(session, view.unread)
    session.open_items += sum(line.state.is_open for line in view.lines)
    ids = session.open().ledger.settled.originals
    screen = Screen()
    whose = view.subject[1] if view.subject else "whole fleet"
    screen.title(f"Snags: {whose}", day_words(view.on))
    screen.table(
        (
            Column("id"),
            Column("on"),
            Column("severity"),
            Column("what", flexible=True),
            Column("days", right=True),
        ),
        [_snag_row(line, shorten_id(line.state.id, ids)) for line in view.lines],
    )
    if not view.lines:
        screen.line("no open snags recorded")
    if view.closed and not any(not line.state.is_open for line in view.lines):
        screen.line(f"{view.closed} closed (--all)")
    data = {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "snags": [_snag_shape(line) for line in view.lines],
    }
    session.show(screen, data)


def _snag_row(line: SnagLine, short: str) -> tuple[Words, ...]:
    state = line.state
    meaning = "stop" if state.severity in ("grounding", "not-yet-rated") else "plain"
    severity = Span(
        "closed" if not state.is_open else state.severity.replace("-", " "),
        meaning if state.is_open else "faint",  # type: ignore[arg-type]
    )
    words = state.text
    where = state.part or state.position or getattr(state.event.body, "zone", None)
    if where:
        words += f" [{where}]"
    if state.repeat:
        words += f" ({state.back_words})"
    found = getattr(state.event.body, "found", None)
    if found:
        words += f", found {FOUND_WORDS[found]}"
    if line.deferral is not None:
        words += f"; {line.deferral.says}"
    return (short, state.aircraft or state.part or "", severity, words, str(line.age_days))


def _snag_shape(line: SnagLine) -> Shape:
    state = line.state
    return {
        "id": state.id,
        "text": state.text,
        "severity": state.severity,
        "found": getattr(state.event.body, "found", None),
        "open": state.is_open,
        "aircraft": state.aircraft,
        "hosts": list(state.hosts),
        "found_on": state.found_on,
        "part": state.part,
        "position": state.position,
        "first_day": state.first_day,
        "age_days": line.age_days,
        "repeat": state.repeat,
        "unheld_fix": state.unheld.path if state.unheld is not None else None,
        "unheld_sure": state.unheld is not None and not state.unheld_open,
        "record": state.event.path,
        "deferral": None
        if line.deferral is None
        else {
            "until": line.deferral.until,
            "flights_left": line.deferral.flights_left,
            "limit": line.deferral.body.limit,
            "reason": line.deferral.body.reason,
            "expired": line.deferral.expired,
            "record": line.deferral.event.path,
        },
        "fixes": [fix.path for fix in state.fixes],
    }
