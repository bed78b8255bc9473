"""Names that things lost to others."""

from __future__ import annotations

from collections.abc import Collection

#: So much of an id stands behind a name that two things were given, or as much more as is needed.
SHORTEST = 4


def name_before(name: str, id_: str | None, aliases: Collection[str]) -> str | None:
    """The name that a thing lost to another one, if it got its id behind it; else None."""
    for alias in aliases:
        end = name.removeprefix(f"{alias}-")
        if id_ and end != name and len(end) >= SHORTEST and id_.startswith(end):
            return alias
    return None
