"""The checked tree of one YAML file: plain values, each with its place.

No ruamel type leaves the text room. A scalar keeps the characters as written;
what it means (a number, a date, a name) is decided by the record that reads it.

Nodes are named tuples for one reason: a record of sixteen lines has some seventy of
them, and a frozen dataclass takes four times as long to make.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple, TypeAlias

from register.trouble import Place

Plain: TypeAlias = "str | int | bool | Decimal | list[Plain] | dict[str, Plain] | None"


class Scalar(NamedTuple):
    """One value as written. `plain` is true when it stood without quotes."""

    place: Place
    text: str
    plain: bool


class Entry(NamedTuple):
    """One `key: value` line of a mapping."""

    key: str
    key_place: Place
    value: Node


class Mapping(NamedTuple):
    """Keys in written order; no key twice."""

    place: Place
    entries: tuple[Entry, ...]

    def get(self, key: str) -> Node | None:
        """The value under `key`, or None."""
        for entry in self.entries:
            if entry.key == key:
                return entry.value
        return None


class Sequence(NamedTuple):
    """Items in written order."""

    place: Place
    items: tuple[Node, ...]


Node: TypeAlias = Scalar | Mapping | Sequence
