"""Lots of a maker, and ranges of them: which of them a notice speaks of.

A lot is letters and a number, perhaps with letters behind it: B17, B 17, 2024-07B. A range
has the same letters at both ends. A lot of another form than the range is not outside it: it
cannot be told.
"""

from __future__ import annotations

import re
from typing import Literal

from msgspec import Struct

Answer = Literal["yes", "no", "cannot-tell"]

_LOT = re.compile(r"(.*?)(\d{1,12})([^\d]*)", re.ASCII)
#: Words that say that nobody knows.
_UNKNOWN = frozenset({"", "?", "-", "unknown", "not known", "none", "n/a"})


class LotRange(Struct, frozen=True):
    """Lots from the first to the last, both among them; one alone is a range of itself.

    `head` are the letters before the number. Without a number the lot stands by its name.
    """

    text: str
    head: str
    first: int | None
    last: int | None


def parse_range(text: str) -> LotRange | None:
    """`B12-B40`, `B12 to B40`, `B12..40` or one lot. None where it runs backwards."""
    shown = " ".join(text.split())
    for between in (" to ", "..", "–"):  # noqa: RUF001 - people write this dash for ranges
        low, found, high = shown.partition(between)
        if found:
            return _between(shown, low, high)
    low, found, high = shown.partition("-")
    if found and "-" not in high:
        one, two = _split(low), _split(high)
        if one is not None and two is not None and one[0] == two[0] and one[0]:
            return _between(shown, low, high)
        if one is not None and two is not None and not one[0] and not two[0] and one[1] <= two[1]:
            return _between(shown, low, high)
    single = _split(shown)
    if single is None:
        return LotRange(shown, _folded(shown), None, None) if shown else None
    return LotRange(shown, single[0], single[1], single[1])


def _between(shown: str, low: str, high: str) -> LotRange | None:
    one, two = _split(low), _split(high)
    if one is None or two is None:
        return None
    # The letters may be left out at the second end: B12..40.
    if (two[0] and two[0] != one[0]) or two[1] < one[1]:
        return None
    return LotRange(shown, one[0], one[1], two[1])


def _folded(text: str) -> str:
    return re.sub(r"[\s_./]+", "", text).casefold()


def _split(lot: str) -> tuple[str, int] | None:
    """Letters and number of a lot; what stands behind the number is a mark within the lot."""
    found = _LOT.fullmatch(lot.strip())
    return (_folded(found[1]), int(found[2])) if found else None


def is_known(lot: str | None) -> bool:
    """Is there a lot at all, and not a word for not knowing it?"""
    return lot is not None and lot.strip().casefold() not in _UNKNOWN


def match_lot(lot: str | None, ranges: tuple[LotRange, ...]) -> Answer:
    """Is a lot in one of the ranges? Without ranges every lot is.

    An unknown lot, or one whose letters are missing or that has no number, cannot be told.
    """
    if not ranges:
        return "yes"
    if lot is None or not is_known(lot):
        return "cannot-tell"
    if any(_folded(lot) == _folded(item.text) for item in ranges):
        return "yes"
    mine = _split(lot)
    numbered = [item for item in ranges if item.first is not None and item.last is not None]
    if mine is None:
        return "cannot-tell" if numbered else "no"
    for item in numbered:
        if mine[0] == item.head and (item.first or 0) <= mine[1] <= (item.last or 0):
            return "yes"
    # 17 where the range says B12: perhaps B17 with its letter left out.
    if any((not mine[0]) != (not item.head) for item in numbered):
        return "cannot-tell"
    return "no"
