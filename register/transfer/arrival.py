"""What comes in, beside what is there: names, ids and records, before anything is written."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from register.records.gathering import Records
from register.trouble import RegisterError

#: Shelf of records -> folder, and the file of one thing in it.
SHELVES = {
    "aircraft": ("aircraft/{}/aircraft.yaml", "aircraft/{}/"),
    "parts": ("parts/{}/part.yaml", "parts/{}/"),
    "kits": ("kits/{}.yaml", "kits/{}.yaml"),
    "programmes": ("programmes/{}.yaml", "programmes/{}.yaml"),
}


class Naming(Struct, frozen=True):
    """One thing that comes in: its name there, its local name, and why that differs.

    `known` is true where this fleet has it already (by id): then it is brought up to date.
    """

    shelf: str
    theirs: str
    ours: str
    known: bool
    collides: bool


def name_things(
    own: Records, theirs: Records, wishes: Mapping[str, str], known_ids: Mapping[str, str]
) -> tuple[Naming, ...]:
    """A local name for each thing that comes in; `wishes` maps a name there to one here.

    Raises RegisterError (USAGE) for a wish that names nothing that comes in, or a name taken.
    """
    found: list[Naming] = []
    taken = {
        "aircraft": {*own.aircraft, *own.parts},
        "parts": {*own.aircraft, *own.parts},
        "kits": set(own.kits),
        "programmes": set(own.programmes),
    }
    left = dict(wishes)
    for shelf in SHELVES:
        for name, file in sorted(getattr(theirs, shelf).items()):
            local = known_ids.get(file.id or "")
            if local is not None:
                found.append(Naming(shelf, name, local, known=True, collides=False))
                left.pop(name, None)
                continue
            wish = left.pop(name, None)
            if wish is not None and wish in taken[shelf]:
                raise RegisterError(
                    f"{wish} is the name of something in this fleet already",
                    mend=f"{_naming_words(shelf, name)}{free_name(wish, taken[shelf])}",
                    code="name-taken",
                )
            ours = wish or free_name(name, taken[shelf])
            taken[shelf].add(ours)
            found.append(Naming(shelf, name, ours, known=False, collides=ours != name and not wish))
    if left:
        wrong = ", ".join(sorted(left))
        raise RegisterError(
            f"nothing that comes in is called {wrong}",
            mend="tailsheaf receive FILE   lists the names",
            code="name-unknown",
        )
    return tuple(found)


def _naming_words(shelf: str, name: str) -> str:
    """The option that gives a thing its name here, up to that name."""
    return "--as " if shelf == "aircraft" else f"--name {name}="


def free_name(name: str, taken: set[str]) -> str:
    """The name, or with the first number from 2 that makes it free."""
    if name not in taken:
        return name
    number = 2
    while f"{name}-{number}" in taken:
        number += 1
    return f"{name}-{number}"


def known_things(own: Records) -> dict[str, str]:
    """Local name of each thing of this fleet by its id."""
    return {
        file.id: name for shelf in SHELVES for name, file in getattr(own, shelf).items() if file.id
    }


def place_file(path: str, namings: Mapping[tuple[str, str], str]) -> str | None:
    """Where a file that comes in lies here; None for what stays outside (fleet.yaml)."""
    shelf, _, rest = path.partition("/")
    if shelf not in SHELVES or not rest:
        return None
    name, slash, inner = rest.partition("/")
    if not slash:
        name = rest.removesuffix(".yaml")
        ours = namings.get((shelf, name))
        return None if ours is None else f"{shelf}/{ours}.yaml"
    ours = namings.get((shelf, name))
    return None if ours is None else f"{shelf}/{ours}/{inner}"


class RecordCollision(Struct, frozen=True):
    """A record that comes in with the id of another record here, of other content."""

    id: str
    path: str
    there: str
