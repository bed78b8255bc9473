"""How the items of a list are told apart: as texts, or by a key that all of them have."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from register.text.nodes import Plain

#: Keys by which the items of a list are known to be the same thing on both sides, best first.
NAMES = ("id", "name", "task", "item", "point", "rate", "counter", "when", "from")
Teller = Callable[[Plain], str]


def find_teller(*lists: list[Plain]) -> Teller | None:
    """What tells the items of all these lists apart, or None where nothing does."""
    everything = [item for items in lists for item in items]
    if all(isinstance(item, (str, int, Decimal)) for item in everything):
        chosen: list[Teller] = [str]
    else:
        chosen = [_by_key(key) for key in NAMES]
    for tell in chosen:
        try:
            found = [[tell(item) for item in items] for items in lists]
        except (KeyError, TypeError):
            continue
        if all(len(set(names)) == len(names) for names in found):
            return tell
    return None


def _by_key(key: str) -> Teller:
    def tell(item: Plain) -> str:
        if not isinstance(item, dict):
            raise TypeError(key)
        return str(item[key])

    return tell


def locate(data: Plain, path: tuple[str, ...]) -> tuple[str | int, ...]:
    """The path with each name of a list's item turned into its index.

    A last part that is not there stays a name. Raises LookupError where an inner one is missing.
    """
    found: list[str | int] = []
    for depth, part in enumerate(path):
        last = depth == len(path) - 1
        if isinstance(data, list):
            tell = find_teller(data)
            names = [] if tell is None else [tell(item) for item in data]
            if part not in names:
                if not last:
                    raise LookupError(part)
                found.append(part)
                continue
            found.append(names.index(part))
            data = data[names.index(part)]
        elif isinstance(data, dict) and (part in data or last):
            found.append(part)
            data = data.get(part)
        else:
            raise LookupError(part)
    return tuple(found)
