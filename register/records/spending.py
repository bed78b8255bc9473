"""Money: what was spent and on what, in private.yaml. It never leaves and is shown when asked.

    spending:
      - "2026-04-02 heron engine 240 EUR bearing set"
    prices:
      gear-l-5: "140"

A line is one text: day, aircraft (or `fleet`), category, amount, and words; so nothing of it
but the whole line is ever looked for in what goes to another owner. A price that begins with an
amount counts for the part's kind, in the season in which the part first appears.
"""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.text.nodes import Mapping, Scalar, Sequence
from register.trouble import Place, Problem

_AMOUNT = re.compile(r"(-?\d{1,9}(?:[.,]\d{1,2})?)([A-Z]{3})?")
_CURRENCY = re.compile(r"[A-Z]{3}")
_EXAMPLE = '"2026-04-02 heron engine 240 EUR bearing set"'
FLEET = "fleet"


class Spent(Struct, frozen=True):
    """One amount spent. `whom` is an aircraft or `fleet`; `currency` is empty where not stated."""

    day: date
    whom: str
    category: str
    amount: Decimal
    currency: str
    text: str
    place: Place


class Price(Struct, frozen=True):
    """What a part cost; its day is not stated."""

    part: str
    amount: Decimal
    currency: str
    place: Place


class Money(Struct, frozen=True):
    """All that private.yaml says of money, and what of it could not be read."""

    spent: tuple[Spent, ...] = ()
    prices: tuple[Price, ...] = ()
    problems: tuple[Problem, ...] = ()


def read_money(node: Mapping | None) -> Money:
    """The money of private.yaml. A line that cannot be read is a warning: nothing flies on it."""
    spent: list[Spent] = []
    problems: list[Problem] = []
    listed = node.get("spending") if node is not None else None
    if isinstance(listed, Sequence):
        for item in listed.items:
            found = _read_line(item.text, item.place) if isinstance(item, Scalar) else None
            if found is None:
                problems.append(_odd(item.place))
            else:
                spent.append(found)
    elif listed is not None and not (isinstance(listed, Scalar) and not listed.text):
        problems.append(_odd(listed.place))
    prices = node.get("prices") if node is not None else None
    entries = prices.entries if isinstance(prices, Mapping) else ()
    read = (
        _read_price(entry.key, entry.value) for entry in entries if isinstance(entry.value, Scalar)
    )
    return Money(tuple(spent), tuple(one for one in read if one is not None), tuple(problems))


def _odd(place: Place) -> Problem:
    return Problem(
        place,
        "spending-odd",
        "spending: this line is not a day, an aircraft, a category and an amount",
        f"write, for example  - {_EXAMPLE}",
        "warning",
    )


def _read_line(text: str, place: Place) -> Spent | None:
    words = text.split()
    if len(words) < 4:
        return None
    try:
        day = date.fromisoformat(words[0])
    except ValueError:
        return None
    amount = _AMOUNT.fullmatch(words[3])
    if amount is None:
        return None
    currency, rest = amount[2] or "", words[4:]
    if not currency and rest and _CURRENCY.fullmatch(rest[0]):
        currency, rest = rest[0], rest[1:]
    value = Decimal(amount[1].replace(",", "."))
    whom, category = words[1].lower(), words[2].lower()
    return Spent(day, whom, category, value, currency, " ".join(rest), place)


def _read_price(part: str, value: Scalar) -> Price | None:
    """A price that begins with an amount; others are words for the owner."""
    words = value.text.split()
    amount = _AMOUNT.fullmatch(words[0]) if words else None
    if amount is None:
        return None
    currency = amount[2] or ""
    if not currency and len(words) > 1 and _CURRENCY.fullmatch(words[1]):
        currency = words[1]
    return Price(part, Decimal(amount[1].replace(",", ".")), currency, value.place)
