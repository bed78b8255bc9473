"""Writing an answer: JSON, plain text, or drawn for a terminal by Rich."""

from __future__ import annotations

import json
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from cli.render.layout import Row, lay_out
from cli.render.screen import Meaning, Screen

if TYPE_CHECKING:
    from cli.session import Session

#: Bold and reverse, not pale colours: they hold in sunlight, on dark and on light.
STYLES: dict[Meaning, str] = {
    "plain": "",
    "strong": "bold",
    "faint": "",
    "stop": "bold bright_white on red",
    "limit": "bold black on yellow",
    "attend": "bold reverse",
    "unsure": "bold black on cyan",
    "well": "bold",
    "heading": "bold",
    "command": "bold",
}


def show_answer(session: Session, screen: Screen, data: object) -> None:
    """One answer on standard output."""
    if session.as_json:
        session.out.write(json.dumps(data, default=encode_value, indent=2) + "\n")
        return
    rows = lay_out(screen, session.width)
    if session.wants_rich:
        _draw(session, rows)
        return
    for row in rows:
        session.out.write("".join(span.text for span in row).rstrip() + "\n")


def _draw(session: Session, rows: object) -> None:
    from rich.console import Console
    from rich.text import Text

    console = Console(
        file=session.out,
        width=session.width,
        force_terminal=True,
        markup=False,
        emoji=False,
        highlight=False,
        soft_wrap=True,
        no_color=bool(session.environment.get("NO_COLOR")) or None,
    )
    for row in rows:  # type: ignore[attr-defined]
        line = Text(end="")
        for span in _strip(row):
            line.append(span.text, STYLES[span.meaning])
        console.print(line)


def _strip(row: Row) -> Row:
    while row and not row[-1].text.strip() and row[-1].meaning == "plain":
        row = row[:-1]
    return row


def encode_value(value: object) -> object:
    """Dates as ISO text, whole numbers as integers."""
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    if isinstance(value, date | datetime):
        return value.isoformat()
    raise TypeError(f"no JSON form for {type(value).__name__}")
