"""The screen of `due`."""

from __future__ import annotations

from cli.render.doubles import add_doubles, doubles_shape
from cli.render.heard import add_heard, heard_shape
from cli.render.marks import (
    CAUTION,
    GROUNDS_MARK,
    day_words,
    note_unread,
    standing_span,
    state_span,
    unread_words,
)
from cli.render.screen import Column, Screen, Span, Words
from cli.render.shapes import forecast_shape, item_shape
from cli.session import Session
from register.standing.reasons import NOTICE
from register.tasks.items import Item
from register.views.changes import counter_words, why_phrase
from register.views.due import DueLine, DueView
from register.views.heard import HeardView

MOST_ROWS = 40
#: Short forms for a narrow column; `why` says it in full.
BASIS_WORDS = {"common-practice": "practice"}
#: From this many columns on there is room for titles.
WIDE = 110


def render_due(session: Session, view: DueView, heard: HeardView | None) -> None:
    """Nearest first; what is well is left out unless asked for, and counted."""
    note_unread(session, view.unread)
    session.open_items += sum(
        line.item.state in ("overdue", "due", "cannot-tell") for line in view.lines
    )
    session.open_items += len(view.lost)
    data = (
        {**_data(view), **doubles_shape(view.doubles), **heard_shape(heard)}
        if session.as_json
        else None
    )
    screen = _screen(view, session.width)
    add_doubles(screen, view.doubles)
    add_heard(screen, heard)
    session.show(screen, data)


def _data(view: DueView) -> dict[str, object]:
    """Every item in full; made only when asked for."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "items": [
            {
                **item_shape(line.item),
                "stage": line.stage,
                "forecast": forecast_shape(line.forecast),
            }
            for line in view.lines
        ],
        "lost": [
            {
                "aircraft": name,
                "standing": reason.standing,
                "says": reason.says,
                "record": reason.place.file if reason.place is not None else None,
            }
            for name, reason in view.lost
        ],
        "never_done": view.never_done,
        "day_checks": view.day_checks,
    }


def _screen(view: DueView, width: int) -> Screen:
    screen = Screen()
    screen.title(f"Due: {view.one_aircraft or 'whole fleet'}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    shown = [line for line in view.lines if _is_shown(line, view)]
    resting = {} if view.one_aircraft or view.every else _resting(shown)
    shown = [line for line in shown if line.item.aircraft not in resting]
    names = list(dict.fromkeys(sorted(line.item.aircraft for line in shown)))
    table: list[tuple[Words, ...]] = []
    for name in names:
        lines = [line for line in shown if line.item.aircraft == name]
        table.append((_heading(name, lines[0].stage),))
        kept = lines if view.every else lines[:MOST_ROWS]
        table.extend(_row(line, width) for line in kept)
        if len(kept) < len(lines):
            table.append((f"and {len(lines) - len(kept)} more: tailsheaf due {name} --all",))
    screen.table(_columns(width), table, indent=1)
    if view.lost and table:
        screen.gap()
    for name, reason in view.lost:
        told: Words = [
            standing_span(reason.standing),
            " ",
            Span(name, "strong"),
            f"  {reason.says}",
        ]
        screen.line(told, 0, 3)
    if not shown and not view.lost:
        screen.line(
            "no open items among what could be read" if view.unread else "no open items recorded"
        )
    for name, (stage, count) in resting.items():
        screen.gap()
        screen.line(
            [Span(name, "strong"), f"  {stage.replace('-', ' ')}: {count} open (due {name})"]
        )
    _counts(screen, view)
    screen.gap()
    screen.line(Span(f"{GROUNDS_MARK} grounds when past its limit. {CAUTION}", "faint"))
    return screen


def _heading(name: str, stage: str) -> Words:
    if stage == "in-service":
        return Span(name, "strong")
    return [Span(name, "strong"), f"  ({stage.replace('-', ' ')})"]


def _resting(shown: list[DueLine]) -> dict[str, tuple[str, int]]:
    """Aircraft not in service, with how many items are open: one line each in the whole list."""
    found: dict[str, tuple[str, int]] = {}
    for line in sorted(shown, key=lambda line: line.item.aircraft):
        if line.stage != "in-service":
            count = found.get(line.item.aircraft, ("", 0))[1]
            found[line.item.aircraft] = (line.stage, count + 1)
    return found


def _columns(width: int) -> tuple[Column, ...]:
    """At 80 columns the name that commands take; on a wide screen its title too."""
    title = (Column("what", flexible=True),) if width >= WIDE else ()
    return (
        Column("state"),
        Column("task"),
        *title,
        Column("left", flexible=True),
        Column("basis"),
    )


def _is_shown(line: DueLine, view: DueView) -> bool:
    if view.every:
        return True
    return line.item.state not in ("ok", "no-baseline") and not line.item.is_day_check


def _row(line: DueLine, width: int) -> tuple[Words, ...]:
    item = line.item
    mark = GROUNDS_MARK if item.grounds else " "
    name: list[str | Span] = [f"{mark} ", Span(item.task.id, "strong")]
    if item.subject[0] == "part":
        name.append(f" [{item.subject[1]}]")
    row: list[Words] = [state_span(item.state), name]
    if width >= WIDE:
        row.append(item.task.title)
    return (*row, _left(line), BASIS_WORDS.get(item.task.basis.kind, item.task.basis.kind))


def _left(line: DueLine) -> str:
    words = _left_words(line)
    return f"notice: {words}" if line.item.task.on == NOTICE else words


def _left_words(line: DueLine) -> str:
    item = line.item
    soon = item.starts_in("soon")
    phrase = why_phrase(item)
    if item.failed is not None:
        return f"failed {item.failed.moment.day.isoformat()}"
    if item.state not in ("due", "overdue") and soon and soon[0].left is not None:
        unit = counter_words(soon[0].counter or "")
        phrase = f"due in {soon[0].left} {unit}: {soon[0].says}"
    if item.task.is_damaged:
        return "could not be read: tailsheaf check"
    if unclear := [found.says for found in item.opened if found.state == "cannot-tell"]:
        return unclear[0]
    if any(limit.unset for limit in item.limits):
        return f"interval not set: {item.task.place.file}:{item.task.place.line}"
    missed = sum(limit.missed for limit in item.limits)
    if missed:
        phrase += f", {missed} missed"
    if line.forecast is not None and line.forecast.likely is not None and _by_counter(item):
        phrase += f", ~{line.forecast.likely:%d %b}"
    return phrase


def _by_counter(item: Item) -> bool:
    return all(limit.counter is not None for limit in item.limits)


def _counts(screen: Screen, view: DueView) -> None:
    if view.every:
        return
    screen.gap()
    for name, count in sorted(view.never_done.items()):
        screen.line(
            f"{name}: {count} task{'' if count == 1 else 's'} never recorded "
            f"(tailsheaf due {name} --all)"
        )
    flying = {line.item.aircraft for line in view.lines if line.stage == "in-service"}
    checks = {name: count for name, count in view.day_checks.items() if name in flying}
    if checks:
        listed = ", ".join(f"{name} {count}" for name, count in sorted(checks.items()))
        screen.line(f"before the first flight of the day: {listed} (flyday --card)")
    quiet = sum(line.item.state == "ok" for line in view.lines)
    if quiet:
        screen.line(f"{quiet} more not due (--all)")
