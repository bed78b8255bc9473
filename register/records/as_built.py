"""An aircraft as built: what its kit says, overlaid key by key with what its own file says.

Each subject (zones, surfaces, joints, …) is one section of a kit file and of an aircraft file,
with the same keys in both. The aircraft's own value wins; an entry written as "none" there
takes the kit's entry away. Sections are read when asked for: the everyday commands need none.

To add a section: a module with its records and a `read_` function, and here a function that
imports and calls it, with its row in `SECTIONS`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from register.records.fields import Fields
from register.text.nodes import Entry, Mapping, Node, Scalar
from register.trouble import Place, Problem

if TYPE_CHECKING:
    from register.records.gathering import Records


def _read_outline(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.outlines import read_outline

    return read_outline(fields)


def _read_zones(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.zones import read_zones

    return read_zones(fields)


def _read_colours(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.colours import read_colours

    return read_colours(fields)


def _read_joints(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.joints import read_joints

    return read_joints(fields)


def _read_lines(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.lines import read_lines

    return read_lines(fields)


def _read_surfaces(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.surfaces import read_surfaces

    return read_surfaces(fields)


def _read_linkages(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.linkages import read_linkages

    return read_linkages(fields)


def _read_balance(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.balance import read_balance

    return read_balance(fields)


def _read_air(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.air import read_air

    return read_air(fields)


def _read_notices(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.notices import read_notices

    return read_notices(fields)


def _read_access(fields: Fields) -> Any:  # noqa: ANN401
    from register.records.access import read_access

    return read_access(fields)


#: section key -> the function that reads it. It takes the whole overlaid file as `Fields` and
#: gives the section's records; it reports what is wrong and goes on. Each imports its module
#: when it is called, so that reading one section loads one.
SECTIONS: dict[str, Callable[[Fields], Any]] = {
    "outline": _read_outline,
    "zones": _read_zones,
    "colours": _read_colours,
    "notices": _read_notices,
    "joints": _read_joints,
    "lines": _read_lines,
    "surfaces": _read_surfaces,
    "linkages": _read_linkages,
    "balance": _read_balance,
    "air": _read_air,
    "access": _read_access,
}
NONE = "none"
_EMPTY = Mapping(Place(""), ())


def overlay_nodes(under: Node | None, over: Node | None) -> Node | None:
    """The kit's node with the aircraft's own laid over it, mapping by mapping."""
    if over is None:
        return under
    if not isinstance(under, Mapping) or not isinstance(over, Mapping):
        return over
    own = {entry.key: entry for entry in over.entries}
    entries = []
    for entry in under.entries:
        mine = own.pop(entry.key, None)
        if mine is None:
            entries.append(entry)
        elif not _is_none(mine.value):
            value = overlay_nodes(entry.value, mine.value)
            entries.append(
                Entry(mine.key, mine.key_place, value if value is not None else mine.value)
            )
    entries.extend(entry for entry in own.values() if not _is_none(entry.value))
    return Mapping(over.place, tuple(entries))


def _is_none(node: Node) -> bool:
    return isinstance(node, Scalar) and node.text.strip().lower() == NONE


def overlaid(records: Records, aircraft: str) -> Mapping | None:
    """The file of an aircraft laid over that of its kit."""
    file = records.aircraft[aircraft]
    kit = records.find_kit(file.kit)
    found = overlay_nodes(kit.node if kit is not None else None, file.node)
    return found if isinstance(found, Mapping) else None


def read_section(records: Records, aircraft: str, section: str) -> tuple[Any, tuple[Problem, ...]]:
    """One section of an aircraft as built, and what is wrong with it."""
    return read_section_of(overlaid(records, aircraft), section)


def read_section_of(node: Mapping | None, section: str) -> tuple[Any, tuple[Problem, ...]]:
    """One section of a file, or of a file laid over its kit's."""
    problems: list[Problem] = []
    return SECTIONS[section](Fields(node or _EMPTY, problems)), tuple(problems)
