"""Words of private.yaml: whose names they are, and which must never leave.

    people:
      me: {name: "Aldus Pennarow", phone: "..."}
    suppliers: ["..."]
    places: {field: "..."}
    never: ["Thessaly", "412 EUR"]

Every value of the file is private. Of a person's name each single word is; what stands under
`never` is left out of whatever goes to another owner, however short or ordinary it is.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator

from msgspec import Struct

from register.text import nodes
from register.text.nodes import Plain
from register.trouble import Place, Problem

#: Keys of private.yaml that the program reads.
KEYS = ("people", "prices", "spending", "suppliers", "places", "never")
#: Letters of a word of a name at least; shorter ones are initials.
SHORTEST_NAME = 3
#: Digits of an amount that may be known again without its currency.
SHORTEST_FIGURE = 3
_WORD = re.compile(r"[^\W\d_]+(?:['\u2019][^\W\d_]+)*")
_FIGURE = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)*(?![\w-]|[.,]\d)")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\d(?:[T ].*)?|\d\d:\d\d(?::\d\d)?")
_NAME_KEYS = frozenset(("first", "family", "last", "called", "nick", "alias"))


class PrivateWords(Struct, frozen=True):
    """Single words of people's names as written, what must never leave, and bare amounts."""

    names: frozenset[str] = frozenset()
    never: frozenset[str] = frozenset()
    figures: frozenset[str] = frozenset()


def read_private_words(data: dict[str, Plain]) -> PrivateWords:
    """The words of one private.yaml, whatever their shape."""
    names: set[str] = set()
    for name in _read_names(data.get("people")):
        names.update(split_name(name))
    figures = {
        figure
        for key in ("prices", "spending")
        for text in _values(data.get(key))
        for figure in _FIGURE.findall(_DAY.sub(" ", text))
        if sum(sign.isdigit() for sign in figure) >= SHORTEST_FIGURE
    }
    never = (text for text in _values(data.get("never")) if is_sought(text))
    return PrivateWords(frozenset(names), frozenset(never), frozenset(figures))


def _read_names(people: Plain) -> Iterator[str]:
    for person in people.values() if isinstance(people, dict) else (people,):
        yield from _names_of(person)


def _names_of(person: Plain) -> Iterator[str]:
    """The names in one entry: it is the name itself, or holds it under a key that says so."""
    if isinstance(person, str):
        yield person
    elif isinstance(person, list):
        for item in person:
            yield from _names_of(item)
    elif isinstance(person, dict):
        for key, value in person.items():
            if isinstance(value, str) and (key.lower() in _NAME_KEYS or "name" in key.lower()):
                yield value


def split_name(name: str) -> tuple[str, ...]:
    """The single words of a name that are masked; a particle in small letters is none."""
    words = [word for word in _WORD.findall(name) if len(word) >= SHORTEST_NAME]
    capitals = [word for word in words if not word.islower()]
    return tuple(dict.fromkeys(capitals or words))


def _values(data: Plain) -> Iterator[str]:
    if isinstance(data, (list, dict)):
        for item in data.values() if isinstance(data, dict) else data:
            yield from _values(item)
    elif data is not None and not isinstance(data, bool):
        yield str(data).strip()


def is_sought(text: str) -> bool:
    """Whether a word under `never` can be looked for: one sign says nothing, and every record
    has dates and times."""
    return len(text.strip()) > 1 and _MOMENT.fullmatch(text.strip()) is None


def check_private(node: nodes.Mapping) -> tuple[Problem, ...]:
    """What of private.yaml is not read as its owner may think."""
    return (*_check_keys(node), *_check_never(node.get("never")))


def _check_keys(node: nodes.Mapping) -> Iterable[Problem]:
    taken = {entry.key for entry in node.entries}
    for entry in node.entries:
        if entry.key in KEYS:
            continue
        near = difflib.get_close_matches(entry.key, KEYS, n=1, cutoff=0.8)
        if near:
            what = f"move its lines below {near[0]}:" if near[0] in taken else f"write  {near[0]}:"
            yield Problem(
                entry.key_place,
                "private-key-near",
                f"{entry.key}: is private like all of this file, but is not read as {near[0]}:",
                what,
                "warning",
            )


def _check_never(never: nodes.Node | None) -> Iterable[Problem]:
    if never is None:
        return
    if isinstance(never, nodes.Mapping):
        yield _odd(never.place, "is a mapping, where a list of words is read")
        return
    for item in never.items if isinstance(never, nodes.Sequence) else (never,):
        if not isinstance(item, nodes.Scalar):
            yield _odd(item.place, "this is no single word or text")
        elif not is_sought(item.text):
            why = (
                "is too short to be looked for"
                if len(item.text.strip()) < 2
                else ("is a date or time, which every record has")
            )
            yield _odd(item.place, f"{item.text!r} {why}")


def _odd(place: Place, says: str) -> Problem:
    return Problem(
        place,
        "never-odd",
        f"never: {says}",
        'write words or amounts, each as it stands in your texts:  never: ["Thessaly", "412 EUR"]',
        "warning",
    )
