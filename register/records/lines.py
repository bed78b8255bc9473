"""Lines of an aircraft: air, fuel and electrical, with their colour and their way."""

from __future__ import annotations

from msgspec import Struct

from register.records.fields import Fields
from register.text.nodes import Mapping
from register.trouble import Place, Problem

MEDIA = ("fuel", "air", "electrical", "smoke", "water", "other")


class Line(Struct, frozen=True):
    """One line. `bundle` is what it is tied together with; `route` the zones it passes.

    `clear_of` says what it must stay clear of when gear or a surface moves.
    """

    name: str
    medium: str | None
    colour: str | None
    function: str | None
    begins: str | None
    ends: str | None
    route: tuple[str, ...]
    bundle: str | None
    protection: str | None
    clear_of: str | None
    place: Place
    colour_place: Place


def read_lines(fields: Fields) -> dict[str, Line]:
    """`lines:` by name. Two functions of one colour in one bundle are warned of."""
    inner = fields.mapping("lines")
    if inner is None:
        return {}
    found = {}
    for entry in inner.node.entries:
        name = entry.key.strip().lower()
        if not isinstance(entry.value, Mapping):
            fields.report(
                entry.value.place,
                "value-shape",
                f"{entry.key}: keys and values are wanted here",
                f'write  {entry.key}: {{medium: air, colour: "red", function: "gear up"}}',
            )
            continue
        item = Fields(entry.value, fields.problems)
        found[name] = _read_line(item, name, entry.key_place)
    fields.problems.extend(check_colours(found))
    return found


def _read_line(fields: Fields, name: str, place: Place) -> Line:
    line = Line(
        name,
        fields.choice("medium", MEDIA, None),
        _words(fields.text("colour")),
        fields.text("function"),
        fields.text("from"),
        fields.text("to"),
        tuple(word.strip().lower() for word in fields.texts("route")),
        _words(fields.text("bundle")),
        fields.text("protection"),
        fields.text("clear_of"),
        place,
        fields.place("colour"),
    )
    fields.odd_keys(("note", "title"))
    return line


def _words(text: str | None) -> str | None:
    return " ".join(text.lower().split()) or None if text is not None else None


def check_colours(lines: dict[str, Line]) -> tuple[Problem, ...]:
    """Two functions of one colour in one bundle: whoever opens it cannot tell them apart.

    A function that is not stated is taken for its own: not known is not the same.
    """
    seen: dict[tuple[str, str], list[Line]] = {}
    for line in lines.values():
        if line.bundle is not None and line.colour is not None:
            seen.setdefault((line.bundle, line.colour), []).append(line)
    return tuple(
        _tell_clash(group) for group in seen.values() if len(set(map(_purpose, group))) > 1
    )


def _purpose(line: Line) -> tuple[str | None, str]:
    return line.medium, (_words(line.function) or line.name)


def _tell_clash(group: list[Line]) -> Problem:
    last = group[-1]
    named = " and ".join(
        f"{line.name} ({line.function or 'function not stated'})" for line in group
    )
    return Problem(
        last.colour_place,
        "line-colours",
        f"{named} are {'both' if len(group) == 2 else 'all'} {last.colour} "
        f"in the bundle {last.bundle}",
        f"mark or change one of them, then write its colour at  {last.name}:",
        "warning",
        tuple(line.colour_place for line in group[:-1]),
    )
