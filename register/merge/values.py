"""Three-way merge of plain data: mappings key by key, lists of named things item by item.

The merge of one and two is that of two and one. Where both sides changed one value and not
alike, the value that stands is the cautious one if there is a rule for it, else the one whose
text sorts first, and the clash holds both. Which is the cautious one: `caution.py`.
"""

from __future__ import annotations

import json
from typing import Any, TypeAlias

from msgspec import Struct

from register.merge.caution import choose_cautious
from register.merge.missing import MISSING, Missing, Value
from register.text.items import find_teller
from register.text.nodes import Plain

Path: TypeAlias = tuple[str, ...]


class ValueClash(Struct, frozen=True):
    """One key that both sides changed, and not alike. `one` sorts before `two`."""

    path: Path
    base: Any
    one: Any
    two: Any
    stands: int
    why: str = ""


def merge_values(
    base: Value, one: Value, two: Value, file: str = ""
) -> tuple[Value, tuple[ValueClash, ...]]:
    """The merged value, and every clash inside it; `file` is whose data it is."""
    clashes: list[ValueClash] = []
    merged = _merge(base, one, two, (file,), clashes)
    return merged, tuple(clashes)


def clash_over(file: str, path: Path, base: Value, *sides: Value) -> ValueClash:
    """The clash of two values of one key, and which of them stands meanwhile."""
    first, second = sorted(sides, key=sort_text)
    return ValueClash(path, base, first, second, *choose_cautious(file, path, first, second))


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
    file, *inside = path
    if inside == ["id"]:
        # Which of two ids a thing has is no question that anybody could answer.
        return min((one, two), key=lambda value: (isinstance(value, Missing), sort_text(value)))
    clash = clash_over(file, tuple(inside), base, one, two)
    clashes.append(clash)
    stands: Value = clash.one if clash.stands == 1 else clash.two
    return stands
