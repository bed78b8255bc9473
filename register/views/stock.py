"""The shelf: what lies there, what is wanted, and what fell below it."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.bodies import Fix
from register.records.events import Event
from register.records.stock import StockItem, read_stock
from register.trouble import Problem

ORDER = ("below", "not-counted", "enough", "no-minimum")


class StockView(Struct, frozen=True):
    """The answer to `stock`: what is below first. `draws` are fixes that took of the one asked."""

    on: date
    items: tuple[StockItem, ...]
    one: bool
    draws: tuple[tuple[Event, str], ...]
    problems: tuple[Problem, ...]


def view_stock(ledger: Ledger, day: date, name: str | None = None) -> StockView:
    """The shelf as it stands, or one item of it."""
    items, problems = read_stock(ledger.records.stock)
    chosen = [items[name]] if name is not None else list(items.values())
    chosen.sort(key=lambda item: ORDER.index(item.state))
    draws = tuple(_draws(ledger, name)) if name is not None else ()
    return StockView(day, tuple(chosen), name is not None, draws, problems)


def _draws(ledger: Ledger, name: str) -> list[tuple[Event, str]]:
    found: list[tuple[Event, str]] = []
    for event in ledger.events:
        body = event.body
        if isinstance(body, Fix):
            found.extend(
                (event, str(draw.count)) for draw in body.draws if draw.item.lower() == name
            )
    return found
