"""Three-way merge of plain data: mappings key by key, lists of named things item by item.

The merge of one and two is that of two and one. Where both sides changed one value and not
alike, the value that stands is the cautious one if there is a rule for it, else the one whose
text sorts first, and the clash holds both.
"""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any, TypeAlias

from msgspec import Struct

from register.text.items import find_teller
from register.text.nodes import Plain

Path: TypeAlias = tuple[str, ...]

#: Values that stand before others while a clash is open: the first in each row is the cautious one.
CAUTION: tuple[tuple[str, ...], ...] = (
    ("scrapped", "rejected", "quarantined", "serviceable"),
    ("grounding", "not-yet-rated", "limiting", "deferrable", "monitor", "cosmetic"),
    ("written-off", "sold", "laid-up", "on-order", "being-built", "ready-for-first-flight"),
    ("ready-for-first-flight", "in-service"),
    ("true", "false"),
)
#: Keys under which a lower number is the cautious one: limits and what an interval allows.
LOWER = frozenset(
    ("limit", "amount", "late", "late_days", "months", "calendar_months", "days", "high", "flights")
)


class Missing(Struct, frozen=True):
    """The value of a key that a side does not have."""


MISSING = Missing()
Value: TypeAlias = "Plain | Missing"


class ValueClash(Struct, frozen=True):
    """One key that both sides changed, and not alike. `one` sorts before `two`."""

    path: Path
    base: Any
    one: Any
    two: Any
    stands: int


def merge_values(base: Value, one: Value, two: Value) -> tuple[Value, tuple[ValueClash, ...]]:
    """The merged value, and every clash inside it."""
    clashes: list[ValueClash] = []
    merged = _merge(base, one, two, (), clashes)
    return merged, tuple(clashes)


def _merge(base: Value, one: Value, two: Value, path: Path, clashes: list[ValueClash]) -> Value:
    if same(one, two) or same(two, base):
        return one
    if same(one, base):
        return two
    if isinstance(one, dict) and isinstance(two, dict):
        return _merge_mappings(base, one, two, path, clashes)
    if isinstance(one, list) and isinstance(two, list):
        merged = _merge_lists(base, one, two, path, clashes)
        if merged is not None:
            return merged
    return _clash(base, one, two, path, clashes)


def _merge_mappings(
    base: Value,
    one: dict[str, Plain],
    two: dict[str, Plain],
    path: Path,
    clashes: list[ValueClash],
) -> Value:
    past = base if isinstance(base, dict) else {}
    merged: dict[str, Plain] = {}
    for key in _order_keys(past, one, two):
        value = _merge(
            past.get(key, MISSING),
            one.get(key, MISSING),
            two.get(key, MISSING),
            (*path, key),
            clashes,
        )
        if not isinstance(value, Missing):
            merged[key] = value
    return merged


def _order_keys(past: dict[str, Plain], one: dict[str, Plain], two: dict[str, Plain]) -> list[str]:
    """The past's keys as they stood, then new ones sorted: the same whoever merges."""
    new = sorted((one.keys() | two.keys()) - past.keys())
    return [*past, *new]


def _merge_lists(
    base: Value,
    one: list[Plain],
    two: list[Plain],
    path: Path,
    clashes: list[ValueClash],
) -> list[Plain] | None:
    """Lists of things that can be told apart; None where they cannot."""
    past = base if isinstance(base, list) else []
    name = find_teller(past, one, two)
    if name is None:
        return None
    sides = [{name(item): item for item in items} for items in (past, one, two)]
    merged = _merge_mappings(sides[0], sides[1], sides[2], path, clashes)
    return list(merged.values()) if isinstance(merged, dict) else None


def same(one: Value, two: Value) -> bool:
    """Equal data; the order of keys says nothing, and true is not one."""
    if type(one) is not type(two):
        return False
    if isinstance(one, dict) and isinstance(two, dict):
        return one.keys() == two.keys() and all(same(one[key], two[key]) for key in one)
    if isinstance(one, list) and isinstance(two, list):
        return len(one) == len(two) and all(map(same, one, two))
    return one == two


def sort_text(value: Value) -> str:
    """A text of a value that is the same on every machine, for choosing between two."""
    if isinstance(value, Missing):
        return ""
    return json.dumps(value, sort_keys=True, ensure_ascii=True, default=str)


def _clash(base: Value, one: Value, two: Value, path: Path, clashes: list[ValueClash]) -> Value:
    first, second = sorted((one, two), key=sort_text)
    stands = _choose(path, first, second)
    clashes.append(ValueClash(path, base, first, second, stands))
    return first if stands == 1 else second


def _choose(path: Path, first: Value, second: Value) -> int:
    """Which of two stands meanwhile: 1 or 2. Something beats nothing: it hides no fact."""
    if isinstance(first, Missing):
        return 2
    words = (str(first).lower(), str(second).lower())
    for row in CAUTION:
        if words[0] in row and words[1] in row:
            return 1 if row.index(words[0]) < row.index(words[1]) else 2
    numbers = (_number(first), _number(second))
    if path and path[-1] in LOWER and numbers[0] is not None and numbers[1] is not None:
        return 1 if numbers[0] <= numbers[1] else 2
    return 1


def _number(value: Value) -> Decimal | None:
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
        return None
    return Decimal(value)
