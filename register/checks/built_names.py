"""Names within an aircraft as built: what one entry says of another must be there.

One table of references (`REFERENCES`), held against the kit's file with the aircraft's own laid
over it, so that each problem stands where the name is written. A *place of the owner's own* (the
end of a line, what an opening reaches) may be in no section; such a name is pointed out only
where it is spelled almost like one that is.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from register.checks.survey import Survey, warn
from register.records.as_built import overlaid
from register.records.scalars import nearest
from register.records.stock import read_stock
from register.text.nodes import Mapping, Node, Scalar, Sequence
from register.trouble import Problem

#: As alike as this, one name is taken for a slip of the pen of the other.
_SLIP = 0.85
_PLACES = ("positions", "joints", "lines", "surfaces", "linkages", "zones", "access")
_HELD = ("positions", "joints", "surfaces", "linkages", "lines", "access")
_STOCK = "stock"


class Reference(NamedTuple):
    """Where names stand (`*` is any entry; lists are gone through), and in what they must be.

    `own`: a place of the owner's own will do.
    """

    path: tuple[str, ...]
    into: tuple[str, ...]
    own: bool = False


REFERENCES: tuple[Reference, ...] = (
    Reference(("zones", "*", "colour"), ("colours",)),
    Reference(("zones", "*", "holds"), _HELD),
    Reference(("surfaces", "*", "zone"), ("zones",)),
    Reference(("linkages", "*", "servo"), ("positions",)),
    Reference(("joints", "*", "zone"), ("zones",)),
    Reference(("joints", "*", "holds"), _PLACES, own=True),
    Reference(("joints", "*", "stock"), (_STOCK,)),
    Reference(("lines", "*", "route"), ("zones",)),
    Reference(("lines", "*", "from"), _PLACES, own=True),
    Reference(("lines", "*", "to"), _PLACES, own=True),
    Reference(("access", "*", "zone"), ("zones",)),
    Reference(("access", "*", "fasteners"), ("joints",)),
    Reference(("access", "*", "opens"), _PLACES, own=True),
    Reference(("access", "*", "order", "what"), _PLACES, own=True),
    Reference(("access", "*", "order", "before"), _PLACES, own=True),
    Reference(("notices", "*", "touches"), _PLACES, own=True),
)
#: Where none of these is listed at all, nobody has said that there are none.
_MAY_BE_UNSAID = (("zones",), ("colours",), (_STOCK,), _HELD)


class Named(NamedTuple):
    """One name as written: whose entry it is of, under which key."""

    entry: str
    key: str
    node: Scalar

    @property
    def word(self) -> str:
        """The name as it is compared."""
        return self.node.text.strip().lower()


def check_built_names(survey: Survey) -> Iterator[Problem]:
    """Every name in the sections of every aircraft, and of kits that no aircraft has."""
    records = survey.ledger.records
    stock = set(read_stock(records.stock)[0])
    used = {file.kit.name for file in records.aircraft.values() if file.kit is not None}
    nodes = [overlaid(records, name) for name in records.aircraft]
    nodes.extend(kit.node for name, kit in records.kits.items() if name not in used)
    found: list[Problem] = []
    for node in nodes:
        if node is not None:
            found.extend(_check_node(node, stock))
            found.extend(_check_points(node))
    yield from dict.fromkeys(found)


def _check_node(node: Mapping, stock: set[str]) -> Iterator[Problem]:
    sections = {key: _names_in(node, key) for key in (*_PLACES, "colours")}
    sections[_STOCK] = stock
    places = {word for key in _PLACES for word in sections[key]}
    own = {named.word for named in _walk(node, ("access", "*", "opens"))}
    own -= {word for word in own if _slip_of(word, places) is not None}
    for reference in REFERENCES:
        known = {word for key in reference.into for word in sections[key]}
        if not known and reference.into in _MAY_BE_UNSAID:
            continue
        for named in _walk(node, reference.path):
            if not named.word or named.word in known:
                continue
            if reference.own:
                yield from _check_own(named, places if named.key == "opens" else places | own)
            else:
                yield _tell(named, known, reference)


def _check_own(named: Named, known: set[str]) -> Iterator[Problem]:
    """A place of the owner's own, unless it is a slip of the pen of one that is known."""
    guess = _slip_of(named.word, known)
    if guess is not None:
        yield warn(
            named.node.place,
            "reach-unknown",
            f"{named.entry}: {named.key} {named.word!r}, which is no place of this aircraft",
            f"write  {guess}  there, or leave it if it is a place of its own",
        )


def _slip_of(word: str, known: Iterable[str]) -> str | None:
    """The known name that was meant. One that differs in its number alone is another thing."""
    bare = re.sub(r"\d+", "#", word)
    others = [name for name in known if name == word or re.sub(r"\d+", "#", name) != bare]
    near = difflib.get_close_matches(word, others, n=1, cutoff=_SLIP)
    return near[0] if near and near[0] != word else None


def _tell(named: Named, known: set[str], reference: Reference) -> Problem:
    key, word, place = named.key, named.word, named.node.place
    guess = nearest(word, known)
    says, section = f"{named.entry}: {key} {word!r}", reference.into[0]
    there = f"write  {guess}  there" if guess else f"add  {word}:  to {section}:, or take it out"
    if reference.into == ("zones",):
        return warn(place, "zone-not-listed", f"{says} is no entry of zones:", there)
    if reference.into == ("colours",):
        return warn(place, "colour-unknown", f"{says} is no entry of colours:", there)
    if reference.into == ("joints",):
        return warn(place, "joint-unknown", f"{says} is no entry of joints:", there)
    if reference.into == ("positions",):
        return warn(place, "position-unknown", f"{says} is no entry of positions:", there)
    if reference.into == (_STOCK,):
        mend = there if guess else f"tailsheaf stock {word} --add --count 10"
        return warn(place, "stock-unknown", f"{says} is no item of stock.yaml", mend)
    return warn(
        place,
        "holds-unknown",
        f"{says}, which is no position, joint, surface or line",
        there if guess else "add it, or take it out of holds",
    )


def _check_points(node: Mapping) -> Iterator[Problem]:
    """A track of a point that has no arm: two names for one point of the scales."""
    balance = node.get("balance")
    if not isinstance(balance, Mapping):
        return
    arms, tracks = balance.get("arms"), balance.get("tracks")
    if not isinstance(arms, Mapping) or not isinstance(tracks, Mapping) or not arms.entries:
        return
    known = [entry.key.strip().lower() for entry in arms.entries]
    for entry in tracks.entries:
        word = entry.key.strip().lower()
        if word not in known:
            guess = nearest(word, known)
            yield warn(
                entry.key_place,
                "point-unknown",
                f"tracks: {word!r} is no point of arms:, so nothing stands there",
                f"write  {guess}:  there" if guess else f"add  {word}:  to arms:",
            )


def _names_in(node: Mapping, key: str) -> set[str]:
    inner = node.get(key)
    entries = inner.entries if isinstance(inner, Mapping) else ()
    return {entry.key.strip().lower() for entry in entries}


def _walk(node: Node, path: tuple[str, ...], entry: str = "", key: str = "") -> Iterator[Named]:
    """The names at a path, in written order."""
    if isinstance(node, Sequence):
        for item in node.items:
            yield from _walk(item, path, entry, key)
    elif not path:
        if isinstance(node, Scalar) and not (node.plain and node.text in ("", "~", "null")):
            yield Named(entry, key, node)
    elif isinstance(node, Mapping):
        if path[0] == "*":
            for name, _, value in node.entries:
                yield from _walk(value, path[1:], name.strip().lower(), key)
        else:
            inner = node.get(path[0])
            if inner is not None:
                yield from _walk(inner, path[1:], entry, path[0])
