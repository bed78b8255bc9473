"""Entries of an aircraft as built that say nothing: written, and then forgotten."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from register.checks.survey import Survey
from register.records.as_built import SECTIONS, overlaid, read_section_of
from register.text.nodes import Mapping, Node, Scalar, Sequence
from register.trouble import Level, Place, Problem

#: What an entry of each section says at least.
_LEAST: dict[str, str] = {
    "zones": '{title: "Left wing", hand: left}',
    "colours": '"pale blue, two-pack"',
    "notices": '{title: "Tail screw works loose", action: once}',
    "joints": "{thread: M4, length: 14, head: cap, count: 6}",
    "lines": '{medium: air, colour: green, function: "gear down"}',
    "surfaces": "{chord: 66, throws: [{measure: chordal, up: 21, down: 15}]}",
    "linkages": "{servo: aileron-servo-left, arm: {radius: 17}, horn: {radius: 23}, pivots: 84}",
    "air": "{volume_ml: 420, full: 7.5, minimum: 4.2}",
    "access": "{opens: [receiver], minutes_off: 5, minutes_on: 7}",
}
#: A bare name says something there: that there is such a zone, that such a thing comes off.
_NAMES_ENOUGH = ("zones", "access")
#: Left empty it narrows nothing, which is a thing to say.
_MAY_BE_EMPTY = ("applies",)


class Empty(NamedTuple):
    """An empty entry, its name, and where name and value stand."""

    name: str
    key_place: Place
    place: Place
    is_entry: bool


def check_entries_say_something(survey: Survey) -> Iterator[Problem]:
    """Every section of every kit, and of every aircraft laid over its kit's."""
    records = survey.ledger.records
    nodes = [kit.node for kit in records.kits.values()]
    nodes.extend(overlaid(records, name) for name in records.aircraft)
    found: list[Problem] = []
    for node in nodes:
        for section in SECTIONS:
            inner = node.get(section) if node is not None else None
            if inner is None:
                continue
            empty = list(_find_empty(inner, top=section in _LEAST))
            if empty:
                told = {problem.place for problem in read_section_of(node, section)[1]}
                found.extend(
                    _tell(section, item)
                    for item in empty
                    if not told & {item.place, item.key_place}
                )
    yield from dict.fromkeys(found)


def _find_empty(node: Node, *, top: bool) -> Iterator[Empty]:
    if isinstance(node, Sequence):
        for item in node.items:
            yield from _find_empty(item, top=False)
    if not isinstance(node, Mapping):
        return
    for entry in node.entries:
        if _is_empty(entry.value, top=top) and entry.key not in _MAY_BE_EMPTY:
            yield Empty(entry.key, entry.key_place, entry.value.place, top)
        else:
            yield from _find_empty(entry.value, top=False)


def _is_empty(node: Node, *, top: bool) -> bool:
    if isinstance(node, Mapping):
        return not node.entries
    # A key without a value says "not stated"; a named entry without one is a line not finished.
    return top and isinstance(node, Scalar) and node.plain and node.text in ("", "~", "null")


def _tell(section: str, item: Empty) -> Problem:
    level: Level = "error" if item.is_entry and section not in _NAMES_ENOUGH else "warning"
    least = f"write  {item.name}: {_LEAST[section]}" if item.is_entry else "take the line out"
    return Problem(
        item.key_place,
        "entry-empty",
        f"{section}: nothing is said of {item.name}",
        f"{least}   (all keys: tailsheaf kit --skeleton {section})",
        level,
    )
