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

import difflib
import re
from collections.abc import Collection
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.text.nodes import Mapping, Scalar, Sequence
from register.trouble import Place, Problem

_AMOUNT = re.compile(r"(-?\d{1,9}(?:[.,]\d{1,2})?)([A-Za-z]{3})?")
_CURRENCY = re.compile(r"[A-Z]{3}")
_GROUP = re.compile(r"\d{3}(?:[.,]\d{1,2})?(?:[A-Za-z]{3})?")
#: Codes taken as such in small letters too (ISO 4217, from memory); other words may be words.
_SMALL = frozenset(("aud", "cad", "chf", "czk", "dkk", "eur", "gbp", "huf", "jpy", "nok", "pln"))
_SMALL |= {"nzd", "sek", "usd", "zar"}
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
            if isinstance(found, Spent):
                spent.append(found)
            else:
                problems.append(found or _odd(item.place))
    elif listed is not None and not (isinstance(listed, Scalar) and not listed.text):
        problems.append(_odd(listed.place))
    prices = node.get("prices") if node is not None else None
    entries = prices.entries if isinstance(prices, Mapping) else ()
    read = [
        _read_price(entry.key, entry.value) for entry in entries if isinstance(entry.value, Scalar)
    ]
    problems.extend(one for one in read if isinstance(one, Problem))
    priced = tuple(one for one in read if isinstance(one, Price))
    return Money(tuple(spent), priced, tuple(problems))


def check_whom(money: Money, aircraft: Collection[str]) -> tuple[Problem, ...]:
    """Lines of an aircraft that is none: what they say is counted for the fleet alone."""
    found = []
    for one in money.spent:
        if one.whom == FLEET or one.whom in aircraft:
            continue
        near = difflib.get_close_matches(one.whom, [*sorted(aircraft), FLEET], n=1, cutoff=0.6)
        found.append(
            Problem(
                one.place,
                "spending-odd",
                f"spending: no aircraft is called {one.whom!r}; it is counted for the fleet",
                f"write {near[0] if near else FLEET} in its place",
                "warning",
            )
        )
    return tuple(found)


def money_until(money: Money, day: date, aircraft: Collection[str]) -> Money:
    """What was spent by a day; what is dated later is said and not counted."""
    later = [one for one in money.spent if one.day > day]
    problems = [*money.problems, *check_whom(money, aircraft)]
    if later:
        lines = "1 line is" if len(later) == 1 else f"{len(later)} lines are"
        problems.append(
            Problem(
                later[0].place,
                "spending-odd",
                f"spending: {lines} dated after {day.isoformat()} and not counted yet",
                "correct the day, or leave it until then",
                "warning",
            )
        )
    spent = tuple(one for one in money.spent if one.day <= day)
    return Money(spent, money.prices, tuple(problems))


def _odd(place: Place) -> Problem:
    return Problem(
        place,
        "spending-odd",
        "spending: this line is not a day, an aircraft, a category and an amount",
        f"write, for example  - {_EXAMPLE}",
        "warning",
    )


def _parted(place: Place, first: str, rest: str) -> Problem:
    """An amount in groups of three: taken for its first group it would be a thousandth."""
    return Problem(
        place,
        "spending-odd",
        f"the amount {first} {rest} is in two pieces, and nothing of it is counted",
        f"write it in one: {first}{rest}",
        "warning",
    )


def _read_line(text: str, place: Place) -> Spent | Problem | None:
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
    rest = words[4:]
    if rest and not amount[2] and _GROUP.fullmatch(rest[0]):
        return _parted(place, words[3], rest[0])
    currency = (amount[2] or "").upper()
    if not currency and rest and _is_currency(rest[0]):
        currency, rest = rest[0].upper(), rest[1:]
    value = Decimal(amount[1].replace(",", "."))
    whom, category = words[1].lower(), words[2].lower()
    return Spent(day, whom, category, value, currency, " ".join(rest), place)


def _is_currency(word: str) -> bool:
    return _CURRENCY.fullmatch(word) is not None or word.lower() in _SMALL


def _read_price(part: str, value: Scalar) -> Price | Problem | None:
    """A price that begins with an amount; others are words for the owner."""
    words = value.text.split()
    amount = _AMOUNT.fullmatch(words[0]) if words else None
    if amount is None:
        return None
    currency = (amount[2] or "").upper()
    if not currency and len(words) > 1:
        if _GROUP.fullmatch(words[1]):
            return _parted(value.place, words[0], words[1])
        currency = words[1].upper() if _is_currency(words[1]) else ""
    return Price(part, Decimal(amount[1].replace(",", ".")), currency, value.place)
