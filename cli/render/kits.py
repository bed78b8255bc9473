"""The screen of `kit`."""

from __future__ import annotations

from cli.render.counters import plain_words, title_words
from cli.render.marks import note_unread, unread_words
from cli.render.screen import Column, Screen, Span
from cli.render.shapes import Shape, basis_shape
from cli.session import Session
from register.records.values import UNSTATED
from register.views.kit import KitLine, KitsView


def render_kits(session: Session, view: KitsView) -> None:
    """All kits in one line each, or one with its positions."""
    note_unread(session, view.unread)
    screen = Screen()
    screen.title(f"Kit {view.lines[0].file.name}" if view.one else "Kits")
    if view.unread:
        screen.line(unread_words(view.unread))
    if view.one:
        _one(screen, view.lines[0])
    else:
        screen.gap()
        screen.table(
            (
                Column("kit"),
                Column("title", flexible=True),
                Column("positions", right=True),
                Column("aircraft", flexible=True),
            ),
            [
                (
                    Span(line.file.name, "strong"),
                    line.file.title,
                    str(len(line.file.positions)),
                    ", ".join(line.aircraft) or "none",
                )
                for line in view.lines
            ],
        )
    if not view.lines:
        screen.line("no kit is recorded yet")
        screen.line(Span("tailsheaf kit NAME --add --position engine=turbine!", "command"), 2)
    data = {"version": 1, "complete": view.complete, "kits": [_shape(item) for item in view.lines]}
    session.show(screen, data)


def _one(screen: Screen, line: KitLine) -> None:
    kit = line.file
    screen.line(kit.title)
    screen.line(f"aircraft: {', '.join(line.aircraft) or 'none'}")
    screen.gap()
    screen.table(
        (Column("position", flexible=True), Column("kind"), Column("must be filled")),
        [
            (item.name, item.kind or "", "yes" if item.required else "no")
            for item in kit.positions.values()
        ],
        indent=1,
    )
    if kit.per_flight:
        screen.gap()
    for counter, item in kit.per_flight.items():
        amount = plain_words(item.amount, counter)
        source = "basis unknown" if item.basis == UNSTATED else item.basis.text
        screen.line(f"each flight adds to {title_words(counter)}: {amount} ({source})", 1)
    screen.gap()
    screen.line(Span(kit.path, "faint"))


def _shape(line: KitLine) -> Shape:
    kit = line.file
    return {
        "kit": kit.name,
        "id": kit.id,
        "title": kit.title,
        "path": kit.path,
        "aircraft": list(line.aircraft),
        "positions": [
            {"position": item.name, "kind": item.kind, "required": item.required}
            for item in kit.positions.values()
        ],
        "per_flight": {
            counter: {"value": item.amount, "basis": basis_shape(item.basis)}
            for counter, item in kit.per_flight.items()
        },
    }
