"""A small language for allow-lists: which keys of a record go, and how each value is treated.

A record is rewritten from its allow-list: what is not named is not there, at any depth.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import TypeAlias

from msgspec import Struct

from register.text.nodes import Plain

#: Treatment of one value: the value to write, or None to leave it out.
Treat: TypeAlias = Callable[[str, Plain], Plain]


class Leaf(Struct, frozen=True):
    """One value that is no free text: a number, a word of the program's, a date, a code."""

    kind: str = "code"


class Listed(Struct, frozen=True):
    """A list, each item by the same rule; one alone is accepted."""

    each: Rule


class Named(Struct, frozen=True):
    """A mapping of names of the owner's own choice, each value by the same rule."""

    each: Rule


class Keys(Struct, frozen=True):
    """A mapping of which only these keys go."""

    keys: dict[str, Rule]


class Deep(Struct, frozen=True):
    """Mappings and lists to any depth, of which only these keys go, wherever they stand.

    Under a key of `named` stand names of the owner's own choice.
    """

    keys: frozenset[str]
    named: frozenset[str] = frozenset()
    texts: frozenset[str] = frozenset({"title", "text", "function", "protection", "reference"})


class Either(Struct, frozen=True):
    """One value, or else a list or mapping by the other rule."""

    value: Leaf
    other: Rule


Rule: TypeAlias = "Leaf | Listed | Named | Keys | Deep | Either"

CODE = Leaf("code")
TEXT = Leaf("text")
REF = Leaf("ref")
EVENT = Leaf("event")
PERSON = Leaf("person")
ATTACHMENT = Leaf("attachment")
KITREF = Leaf("kit")
PROGRAMME = Leaf("programme")


class Dropped(Struct):
    """Keys that an allow-list did not know, by how often; told in the preview, never sent."""

    keys: dict[str, int]

    def count(self, key: str) -> None:
        """One more."""
        self.keys[key] = self.keys.get(key, 0) + 1


def apply_rule(rule: Rule, data: Plain, treat: Treat, dropped: Dropped, key: str = "") -> Plain:
    """The data as its rule lets it go. A shape that the rule does not know is left out."""
    if isinstance(rule, Either):
        scalar = not isinstance(data, (dict, list))
        return apply_rule(rule.value if scalar else rule.other, data, treat, dropped, key)
    if isinstance(rule, Deep):
        return _deep(rule, data, treat, dropped, key)
    if isinstance(rule, Leaf):
        return _leaf(rule, data, treat, dropped, key)
    if isinstance(rule, Listed):
        items = data if isinstance(data, list) else [data]
        found = (apply_rule(rule.each, item, treat, dropped, key) for item in items)
        return [item for item in found if item is not None]
    if not isinstance(data, dict):
        dropped.count(key)
        return None
    inner: dict[str, Plain] = {}
    for name, value in data.items():
        known = rule.each if isinstance(rule, Named) else rule.keys.get(name)
        if known is None:
            dropped.count(f"{key}.{name}" if key else name)
            continue
        written = _name(name, treat) if isinstance(rule, Named) else name
        found_value = apply_rule(known, value, treat, dropped, f"{key}.{name}" if key else name)
        if found_value is not None and written:
            inner[written] = found_value
    return inner


def _deep(rule: Deep, data: Plain, treat: Treat, dropped: Dropped, key: str) -> Plain:
    last = key.rpartition(".")[2]
    if isinstance(data, list):
        found = (_deep(rule, item, treat, dropped, key) for item in data)
        return [item for item in found if item is not None]
    if not isinstance(data, dict):
        return _leaf(TEXT if last in rule.texts else CODE, data, treat, dropped, key)
    inner: dict[str, Plain] = {}
    for name, value in data.items():
        free = last in rule.named
        if not free and name not in rule.keys:
            dropped.count(f"{key}.{name}")
            continue
        written = _name(name, treat) if free else name
        # A name of the owner's own choice must not be taken for a key below it.
        below = f"{key}.{'*' if free else name}"
        value_found = _deep(rule, value, treat, dropped, below)
        if value_found is not None and written:
            inner[written] = value_found
    return inner


def _name(name: str, treat: Treat) -> str:
    """A name of the owner's choice may hold what must not go, as any text may."""
    found = treat("name", name)
    return found if isinstance(found, str) else ""


def _leaf(rule: Leaf, data: Plain, treat: Treat, dropped: Dropped, key: str) -> Plain:
    if isinstance(data, (dict, list)):
        dropped.count(key)
        return None
    if isinstance(data, (bool, int, Decimal)) or data is None:
        return data
    return treat(rule.kind, data)
