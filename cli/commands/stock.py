"""stock: the shelf, what is wanted, and what fell below it."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_stock
from cli.session import Session, current_session

EXAMPLE = "Example: tailsheaf stock nut-m4 --add --count 30 --wanted 10"


def command(
    item: Annotated[
        str | None,
        typer.Argument(help="Which one, or a new one.", autocompletion=complete_stock),
    ] = None,
    add: Annotated[bool, typer.Option("--add", help="It is a new one.")] = False,
    count: Annotated[
        str | None, typer.Option("--count", metavar="N", help="So many lie there now.")
    ] = None,
    put: Annotated[
        str | None, typer.Option("--put", metavar="N", help="So many were put there.")
    ] = None,
    take: Annotated[
        str | None, typer.Option("--take", metavar="N", help="So many were taken.")
    ] = None,
    wanted: Annotated[
        str | None, typer.Option("--wanted", metavar="N", help="So many should always lie there.")
    ] = None,
    title: Annotated[str | None, typer.Option(help="What it is, in a few words.")] = None,
    unit: Annotated[str | None, typer.Option(help="pieces, ml, m; pieces if left out.")] = None,
    where: Annotated[
        str | None, typer.Option(help="Where it lies; private, in no handover.")
    ] = None,
) -> None:
    """Show the shelf; count, put, take, or say how many are wanted."""
    from register.entry.choosing import choose_name
    from register.entry.shelf import StockWish, plan_stock
    from register.records.stock import read_stock

    session = current_session()
    if item is None:
        _show(session, None)
        return
    wish = StockWish(count, put, take, wanted, title, unit, where)
    items = read_stock(session.open().standing.stock)[0]
    line = f"tailsheaf stock {item.strip().lower()} --add --count 20 --wanted 10"
    name, is_new = choose_name(item, items, "stock item", add=add, given=False, line=line)
    if wish.is_empty and not is_new:
        _show(session, name)
        return
    session.record(plan_stock(session.clerk(), name, wish, is_new=is_new))


def _show(session: Session, name: str | None) -> None:
    from cli.render.stock import render_stock
    from register.answers import answer_stock

    render_stock(session, answer_stock(session.open(), session.on, name))
