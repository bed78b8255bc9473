"""The screen of `stock`."""

from __future__ import annotations

from cli.render.fastener_shapes import stock_shape
from cli.render.marks import day_words
from cli.render.problems import write_problems
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.session import Session
from register.records.stock import StockItem
from register.records.values import format_amount
from register.views.stock import StockView

STATES: dict[str, tuple[str, Meaning]] = {
    "below": ("BELOW", "attend"),
    "not-counted": ("NOT COUNTED", "unsure"),
    "enough": ("enough", "plain"),
    "no-minimum": ("", "faint"),
}


def render_stock(session: Session, view: StockView) -> None:
    """The shelf, what is short first; or one item with what fixes took of it."""
    if any(problem.level == "error" for problem in view.problems):
        session.problems_seen = True
    write_problems(session, view.problems)
    session.open_items += sum(item.state in ("below", "not-counted") for item in view.items)
    screen = Screen()
    screen.title(f"On the shelf: {view.items[0].name}" if view.one else "On the shelf")
    screen.gap()
    screen.table(
        (
            Column("item", flexible=True),
            Column("there", right=True),
            Column("wanted", right=True),
            Column("unit"),
            Column("state"),
            Column("to get", right=True),
        ),
        [_row(item) for item in view.items],
    )
    if not view.items:
        screen.line("nothing is listed yet")
        words = "tailsheaf stock screw-m3x10-cap --add --count 20 --wanted 10"
        screen.line(Span(words, "command"), 2)
    if view.one:
        _one(screen, view)
    data = {
        "version": 1,
        "on": view.on,
        "complete": not view.problems,
        "items": [stock_shape(item) for item in view.items],
    }
    if view.one:
        data["draws"] = [
            {"id": event.id, "when": event.moment.text, "count": count, "record": event.path}
            for event, count in view.draws
        ]
    session.show(screen, data)


def _row(item: StockItem) -> tuple[Words, ...]:
    short = item.short_by
    return (
        Span(item.name, "strong"),
        "?" if item.count is None else format_amount(item.count),
        "" if item.wanted is None else format_amount(item.wanted),
        item.unit,
        Span(*STATES[item.state]),
        format_amount(short) if short else "",
    )


def _one(screen: Screen, view: StockView) -> None:
    item = view.items[0]
    screen.gap()
    screen.line(item.title)
    if item.where:
        screen.line(f"lies: {item.where} (private)")
    for event, count in view.draws:
        screen.line(f"{day_words(event.moment.day)}  {count} taken by fix {event.id[:4]}", 2)
    screen.line(
        Span(f"tailsheaf stock {item.name} --put N | --take N | --count N | --wanted N", "faint")
    )
