"""What a starter holds, in short, without reading all of it: title, groups, number of tasks.

The files are this package's own and keep one form, so a line is enough to know them by;
a test holds every outline to the whole file.
"""

from __future__ import annotations

import re

from msgspec import Struct

from register.starters.catalogue import read_starter, starter_names

_TITLE = re.compile(r'^title: "([^"]*)"$', re.MULTILINE)
_GROUP = re.compile(r'^  - \{name: "([^"]*)", title: "([^"]*)"\}$', re.MULTILINE)
_TASK = re.compile(r'^  - id: "', re.MULTILINE)


class Outline(Struct, frozen=True):
    """One starter programme in short. `groups` are pairs of name and title."""

    name: str
    title: str
    groups: tuple[tuple[str, str], ...]
    tasks: int


def read_outline(name: str) -> Outline:
    """The outline of one starter. Raises as `read_starter` does."""
    text = read_starter(name).decode("utf-8")
    title = _TITLE.search(text)
    groups = tuple((found[1], found[2]) for found in _GROUP.finditer(text))
    return Outline(name, title[1] if title else name, groups, len(_TASK.findall(text)))


def read_outlines() -> dict[str, Outline]:
    """The outlines of all starters, by name."""
    return {name: read_outline(name) for name in starter_names()}
