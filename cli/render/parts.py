"""The screens of `parts`."""

from __future__ import annotations

from collections import Counter

from cli.render.counters import (
    KNOWN_WORDS,
    life_shape,
    life_state_words,
    limit_words,
    title_words,
    value_words,
)
from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Screen, Span, Words
from cli.render.shapes import Shape, full_span_shape
from cli.session import Session
from register.records.kinds import ENGINE_KINDS
from register.records.values import format_amount
from register.views.part import Clocks, PartLine, PartsView, PartView, ReadingLine, Stay

MOST_READINGS = 8


def render_parts(session: Session, view: PartsView) -> None:
    """Every part in one line."""
    note_unread(session, view.unread)
    screen = Screen()
    screen.title("Parts", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.gap()
    screen.table(
        (
            Column("part", flexible=True),
            Column("kind"),
            Column("where", flexible=True),
            Column("counted", flexible=True),
            Column("life left", flexible=True),
        ),
        [_row(line) for line in view.lines],
    )
    if view.lines:
        screen.gap()
        screen.line(Span("Condition is serviceable where none is said.", "faint"))
    if not view.lines:
        screen.line("no part is recorded yet")
        screen.line(Span("tailsheaf parts NAME --add --kind servo", "command"), 2)
    data = {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "parts": [
            {
                "part": line.name,
                "title": line.title,
                "kind": line.kind,
                "use": line.use,
                "where": list(line.where),
                "condition": line.condition,
                "counter": line.counter,
                "value": None if line.value is None else full_span_shape(line.value),
                "life": None if line.life is None else life_shape(line.life),
            }
            for line in view.lines
        ],
    }
    session.show(screen, data)


def _row(line: PartLine) -> tuple[Words, ...]:
    value = ""
    if line.counter is not None and line.value is not None:
        value = f"{value_words(line.value, line.counter)} {_short_counter(line.counter)}".strip()
    where: list[str | Span] = [", ".join(line.where) or "on the shelf"]
    if line.condition != "serviceable":
        where = [_condition(line.condition), " ", *where]
    return (
        Span(line.name, "strong"),
        line.kind,
        where,
        value,
        life_state_words(line.life) if line.life else "",
    )


def _short_counter(counter: str) -> str:
    """Hours say what they are; a plain count needs its word."""
    return {"minutes": "flown", "engine-minutes": "engine"}.get(counter, title_words(counter))


def _condition(condition: str) -> str | Span:
    return condition if condition == "serviceable" else Span(condition.upper(), "stop")


def render_part(session: Session, view: PartView) -> None:
    """One part, wholly."""
    note_unread(session, view.unread)
    session.show(_screen(view), _shape(view))


def _screen(view: PartView) -> Screen:
    file = view.file
    screen = Screen()
    screen.title(f"Part {file.name}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    if file.title != file.name:
        screen.line(Span(file.title, "strong"))
    marks = [f"{key} {value}" for key, value in _marks(view) if value]
    screen.line(", ".join([file.kind, *marks]))
    use = "used in several aircraft, counted use by use" if file.use == "assigned" else "installed"
    where = ", ".join(view.where) or "on the shelf"
    screen.line(f"{use}: {where}" if file.use == "assigned" else f"where: {where}")
    reason = f" ({view.condition.reason})" if view.condition.reason else ""
    screen.line(["condition: ", _condition(view.condition.condition), reason])
    _counters(screen, view)
    _stays(screen, view)
    _life(screen, view)
    _notices(screen, view)
    _readings(screen, view)
    screen.gap()
    screen.line(Span(f"{file.path}   everything: tailsheaf history {file.name}", "faint"))
    return screen


def _marks(view: PartView) -> tuple[tuple[str, str | None], ...]:
    file = view.file
    made = file.made.isoformat() if file.made else None
    return (("side", file.side), ("serial", file.serial), ("lot", file.lot), ("made", made))


def _counters(screen: Screen, view: PartView) -> None:
    if not view.clocks:
        return
    screen.gap()
    overhauled = view.overhauled is not None or bool(view.file.opening.overhaul)
    columns = [Column("counter"), Column("since new", right=True)]
    columns += [Column("since overhaul", right=True)] if overhauled else []
    columns.append(Column("since installed", right=True))
    rows = []
    for clocks in view.clocks:
        row: list[Words] = [
            title_words(clocks.counter),
            value_words(clocks.since_new, clocks.counter),
        ]
        if overhauled:
            row.append(value_words(clocks.since_overhaul, clocks.counter))
        here = clocks.since_installed
        row.append("" if here is None else value_words(here, clocks.counter))
        rows.append(row)
    screen.table(columns, rows, indent=1)
    if not overhauled and view.file.kind in ENGINE_KINDS:
        screen.line("no overhaul recorded", 1)
    known = view.opening_known
    if known is not None:
        day = view.file.opening.as_of
        since = f" of {day.isoformat()}" if day else ""
        screen.line(f"of that, the opening figures{since} are {_opening_words(view)}", 1)


def _opening_words(view: PartView) -> str:
    counts = Counter(value.known for value in view.file.opening.counters.values())
    if len(counts) == 1:
        return KNOWN_WORDS[next(iter(counts))].replace("about", "estimated")
    return ", ".join(f"{name} {value.known}" for name, value in view.file.opening.counters.items())


def _stays(screen: Screen, view: PartView) -> None:
    if not view.stays:
        return
    screen.gap()
    screen.line("installed" if view.file.use != "assigned" else "belongs with")
    screen.table(
        (Column("in"), Column("position", flexible=True), Column("from"), Column("to")),
        [_stay_row(stay) for stay in view.stays],
        indent=1,
    )


def _stay_row(stay: Stay) -> tuple[Words, ...]:
    until: Words = "still there"
    if not stay.current:
        day = stay.until.isoformat() if stay.until else "?"
        until = day if stay.sure else f"{day} at the latest, its removal was not recorded"
    host = stay.aircraft or stay.into or "?"
    return (Span(host, "strong"), stay.position or "", stay.since.isoformat(), until)


def _life(screen: Screen, view: PartView) -> None:
    if not view.life:
        return
    screen.gap()
    screen.line("life limits, without any window")
    screen.table(
        (Column("limit"), Column("left", flexible=True), Column("basis", flexible=True)),
        [(limit_words(line), life_state_words(line), line.basis.text) for line in view.life],
        indent=1,
    )


def _notices(screen: Screen, view: PartView) -> None:
    if not view.notices:
        return
    screen.gap()
    screen.line(f"notices of its kit (notices {view.file.name})")
    for name, stands, is_open in view.notices:
        words: list[str | Span] = [Span(name, "strong" if is_open else "plain"), f": {stands}"]
        screen.line([Span("OPEN", "attend"), " ", *words] if is_open else words, 1, 2)


def _readings(screen: Screen, view: PartView) -> None:
    if not view.readings:
        return
    screen.gap()
    screen.line("readings")
    shown = view.readings[-MOST_READINGS:]
    screen.table(
        (Column("day"), Column("reading"), Column("value", right=True), Column("with")),
        [
            (
                line.when.isoformat(),
                line.name,
                "?" if line.value is None else f"{format_amount(line.value)} {line.unit}".strip(),
                line.task or "",
            )
            for line in shown
        ],
        indent=1,
    )
    if len(shown) < len(view.readings):
        screen.line(f"the last {len(shown)} of {len(view.readings)}", 1)


def _shape(view: PartView) -> Shape:
    file = view.file
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "part": file.name,
        "id": file.id,
        "title": file.title,
        "kind": file.kind,
        "use": file.use,
        "serial": file.serial,
        "lot": file.lot,
        "side": file.side,
        "made": file.made,
        "path": file.path,
        "where": list(view.where),
        "condition": view.condition.condition,
        "condition_reason": view.condition.reason,
        "condition_record": view.condition.event.path if view.condition.event else None,
        "opening_as_of": file.opening.as_of,
        "counters": {clocks.counter: _clocks_shape(clocks) for clocks in view.clocks},
        "overhauled": view.overhauled.path if view.overhauled else None,
        "installations": [_stay_shape(stay) for stay in view.stays],
        "life": [life_shape(line) for line in view.life],
        "life_state": view.life_state,
        "readings": [_reading_shape(line) for line in view.readings],
        "notices": [
            {"notice": name, "says": stands, "open": is_open}
            for name, stands, is_open in view.notices
        ],
    }


def _clocks_shape(clocks: Clocks) -> Shape:
    here = clocks.since_installed
    return {
        "since_new": full_span_shape(clocks.since_new),
        "since_overhaul": full_span_shape(clocks.since_overhaul),
        "since_installed": None if here is None else full_span_shape(here),
        "opening": full_span_shape(clocks.opening),
    }


def _stay_shape(stay: Stay) -> Shape:
    return {
        "aircraft": stay.aircraft,
        "into": stay.into,
        "position": stay.position,
        "from": stay.since,
        "to": stay.until,
        "current": stay.current,
        "removal_known": stay.sure,
        "record": stay.path,
    }


def _reading_shape(line: ReadingLine) -> Shape:
    return {
        "name": line.name,
        "value": line.value,
        "unit": line.unit,
        "when": line.when,
        "task": line.task,
        "record": line.record,
    }
