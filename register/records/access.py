"""Access: what comes off an aircraft to reach what, in which order, and what that disturbs.

    access:
      radio-hatch:
        title: "Radio hatch"
        opens: [receiver, aileron-servo-left]
        needs: [canopy]
        fasteners: [hatch-screws]
        minutes_off: 3
        minutes_on: 4
        disturbs: [range-check]
        order: [{what: duct, before: tank}]
        checks: ["no lead trapped under the rim"]

An entry is anything that comes off: a cover, but also a servo that hides a line. `opens` names
what is reached with it off: positions, joints, lines, surfaces, linkages, zones, or a task.
`needs` names entries that come off before it, and go on after it. `order` says what goes in
before what. `disturbs` names tasks to be done again when it was off. Minutes are labour.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from register.records.fields import Fields
from register.records.scalars import NAME_PATTERN, nearest
from register.text.nodes import Mapping
from register.trouble import Place

_EXAMPLE = "radio-hatch: {opens: [receiver], fasteners: [hatch-screws], minutes_off: 3}"


class Link(Struct, frozen=True):
    """A name written in a list, and where."""

    name: str
    place: Place


class GoesIn(Struct, frozen=True):
    """`what` goes in before `before` does."""

    what: str
    before: str
    place: Place


class Access(Struct, frozen=True):
    """One thing that comes off. What is not stated is None or empty."""

    name: str
    title: str
    zone: str | None
    opens: tuple[str, ...]
    needs: tuple[Link, ...]
    fasteners: tuple[str, ...]
    minutes_off: Decimal | None
    minutes_on: Decimal | None
    disturbs: tuple[Link, ...]
    order: tuple[GoesIn, ...]
    checks: tuple[str, ...]
    tools: tuple[str, ...]
    materials: tuple[str, ...]
    place: Place


class Rule(Struct, frozen=True):
    """One arrow of the order: `first` comes off before `then`, which goes on before `first`."""

    then: str
    first: str
    says: str
    place: Place


def read_access(fields: Fields) -> dict[str, Access]:
    """The section `access`, in the order written."""
    inner = fields.mapping("access")
    found: dict[str, Access] = {}
    for entry in inner.node.entries if inner is not None else ():
        name = entry.key.strip().lower()
        if not NAME_PATTERN.fullmatch(name):
            fields.report(
                entry.key_place,
                "name-wrong",
                f"access: {entry.key[:40]!r} is not a name (a-z, 0-9 and -)",
                f"write, for example  {_EXAMPLE}",
            )
        elif not isinstance(entry.value, Mapping):
            fields.report(
                entry.value.place,
                "value-shape",
                f"{name}: keys and values are wanted here",
                f"write  {_EXAMPLE}",
            )
        else:
            item = Fields(entry.value, fields.problems)
            found[name] = _read_entry(item, name, entry.key_place)
    _check_names(fields, found)
    _check_circles(fields, found)
    return found


def _read_entry(fields: Fields, name: str, place: Place) -> Access:
    access = Access(
        name,
        fields.text("title") or name.replace("-", " "),
        fields.text("zone"),
        tuple(item.name for item in _links(fields, "opens")),
        _links(fields, "needs"),
        tuple(item.name for item in _links(fields, "fasteners")),
        fields.amount("minutes_off"),
        fields.amount("minutes_on"),
        _links(fields, "disturbs"),
        tuple(_read_order(fields)),
        fields.texts("checks"),
        fields.texts("tools"),
        fields.texts("materials"),
        place,
    )
    fields.odd_keys(("note", "basis"))
    return access


def _links(fields: Fields, key: str) -> tuple[Link, ...]:
    """Names once each, with their places."""
    found: dict[str, Link] = {}
    for node in fields.scalars(key):
        word = node.text.strip().lower()
        found.setdefault(word, Link(word, node.place))
    return tuple(found.values())


def _read_order(fields: Fields) -> Iterator[GoesIn]:
    for item in fields.mappings("order"):
        what, before = item.text("what"), item.text("before")
        item.odd_keys(())
        if not what or not before:
            item.report(
                item.node.place,
                "order-half",
                "order: it takes two: what goes in, and before what",
                "write  - {what: duct, before: tank}",
            )
            continue
        yield GoesIn(what.strip().lower(), before.strip().lower(), item.node.place)


def _check_names(fields: Fields, found: dict[str, Access]) -> None:
    """What an entry needs must be one. Names of other sections: `checks/built_names.py`."""
    for access in found.values():
        for need in access.needs:
            if need.name not in found:
                guess = nearest(need.name, found) or next(
                    (name for name in found if name != access.name), None
                )
                fields.report(
                    need.place,
                    "access-unknown",
                    f"{access.name}: needs {need.name!r} off first, which is no entry of access:",
                    f"write  {guess}  there, or add  {need.name}:  to access:"
                    if guess
                    else f"add  {need.name}:  to access:, or take it out of needs",
                )


# --- what can never be done ---------------------------------------------------


def list_rules(found: dict[str, Access]) -> tuple[Rule, ...]:
    """Every arrow: needs, and what an order makes of itself, by name."""
    rules = []
    for access in found.values():
        for need in access.needs:
            says = f"{access.name} needs {need.name} off first"
            rules.append(Rule(access.name, need.name, says, need.place))
        for item in access.order:
            says = f"{item.what} goes in before {item.before}"
            rules.append(Rule(item.what, item.before, says, item.place))
    return tuple(sorted(rules, key=lambda rule: (rule.then, rule.first, rule.says)))


def find_circles(found: dict[str, Access]) -> Iterator[tuple[Rule, ...]]:
    """Entries that must each come off before the other: the shortest ring from each, once."""
    links: dict[str, list[Rule]] = {}
    for rule in list_rules(found):
        links.setdefault(rule.then, []).append(rule)
    told: set[frozenset[str]] = set()
    for start in sorted(links):
        ring = _ring(start, links)
        names = frozenset(rule.then for rule in ring)
        if ring and names not in told:
            told.add(names)
            yield tuple(ring)


def _ring(start: str, links: dict[str, list[Rule]]) -> list[Rule]:
    before: dict[str, Rule] = {}
    front = [start]
    while front:
        following = []
        for here in front:
            for rule in links.get(here, ()):
                if rule.first == start:
                    way = [rule]
                    while way[-1].then != start:
                        way.append(before[way[-1].then])
                    return way[::-1]
                if rule.first not in before:
                    before[rule.first] = rule
                    following.append(rule.first)
        front = following
    return []


def _check_circles(fields: Fields, found: dict[str, Access]) -> None:
    for ring in find_circles(found):
        here = ring[0].place
        told = ", and ".join(f"{rule.says} ({_line(rule.place, here)})" for rule in ring)
        lines = " or ".join(dict.fromkeys(_line(rule.place, here) for rule in ring))
        ends = "it can never come off" if len(ring) == 1 else "neither can be first"
        fields.report(
            here,
            "access-circle",
            f"access: {told}: {ends}",
            f"change {lines}: one of them must go"
            if len(ring) > 1
            else f"take {ring[0].first} out of {lines}",
        )


def _line(place: Place, here: Place) -> str:
    """A line by its number; with its file, where that is another one."""
    return f"line {place.line}" if place.file == here.file else f"{place.file} line {place.line}"
