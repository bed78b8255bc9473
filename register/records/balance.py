"""The balance of an aircraft as built: datum, arms, chord, limits, tank, class limits, items.

Arms are millimetres aft of the datum (ahead of it is negative), side distances millimetres to
the right of the centre line, masses kilograms. What is not known is left out: it is "not
stated" then, never zero.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from msgspec import Struct

from register.records.fields import Fields
from register.records.lengths import read_length, read_positive
from register.records.units import MASS_UNITS, read_quantity
from register.records.values import UNSTATED, ZERO, Basis, format_amount
from register.text.nodes import Scalar
from register.trouble import Place

MassKind = Literal["dry", "with-fuel", "take-off"]
#: What a class limit counts: without fuel, with full tanks, at take-off.
MASS_KINDS: tuple[MassKind, ...] = ("dry", "with-fuel", "take-off")
#: The state of the tanks to which the limits of the centre of gravity belong.
LIMIT_TANKS = ("empty", "full", "any", "not-stated")
_KEYS = (
    "datum", "arms", "tracks", "mean_chord", "limits", "lateral_limit",
    "attitude", "tank", "masses", "items", "items_whole", "ballast", "heaviest",
)  # fmt: skip


class Standing(Struct, frozen=True):
    """A point that stands on a scale: its arm, and how far right of the centre line."""

    name: str
    arm: Decimal | None
    track: Decimal | None
    place: Place


class Chord(Struct, frozen=True):
    """The mean chord: the arm of its leading edge, and its length."""

    edge: Decimal
    length: Decimal


class Limits(Struct, frozen=True):
    """Between which arms the centre of gravity has to lie, and with which tanks."""

    forward: Decimal | None
    aft: Decimal | None
    tanks: str
    basis: Basis
    place: Place


class Tank(Struct, frozen=True):
    """The fuel: its arm and side, what is in a full tank, what is gone before take-off.

    `density` in kilograms a litre.
    """

    arm: Decimal | None
    side: Decimal | None
    full: Decimal | None
    taxi: Decimal | None
    density: Decimal | None
    basis: Basis
    place: Place


class ClassLimit(Struct, frozen=True):
    """A mass at which another class of the owner's national body begins."""

    limit: Decimal
    kind: MassKind
    what: str
    basis: Basis
    place: Place


class Item(Struct, frozen=True):
    """Something that can be aboard. `to_come` is not aboard yet: it counts as finished."""

    name: str
    title: str
    mass: Decimal | None
    arm: Decimal | None
    side: Decimal | None
    to_come: bool
    basis: Basis
    place: Place


class Balance(Struct, frozen=True):
    """All of it. `heaviest` is more than the aircraft can ever weigh.

    `items_whole` says that the items listed are the whole aircraft, so that they add up to it.
    """

    datum: str
    points: dict[str, Standing]
    chord: Chord | None
    limits: Limits | None
    lateral_limit: Decimal | None
    lateral_basis: Basis
    level: Decimal | None
    level_tolerance: Decimal
    tank: Tank | None
    classes: tuple[ClassLimit, ...]
    items: dict[str, Item]
    items_whole: bool
    ballast: dict[str, Item]
    heaviest: Decimal | None
    place: Place


def read_balance(fields: Fields) -> Balance | None:
    """The `balance` section of a kit or aircraft file; None without one."""
    inner = fields.mapping("balance")
    if inner is None:
        return None
    attitude = inner.mapping("attitude")
    level = attitude.amount("level", negative=True) if attitude else None
    tolerance = attitude.amount("tolerance") if attitude else None
    lateral, lateral_basis = _read_lateral(inner)
    found = Balance(
        inner.text("datum") or "",
        _read_points(inner),
        _read_chord(inner),
        _read_limits(inner),
        lateral,
        lateral_basis,
        level,
        ZERO if tolerance is None else tolerance,
        _read_tank(inner),
        _read_classes(inner),
        _read_items(inner, "items"),
        inner.flag("items_whole"),
        _read_items(inner, "ballast"),
        read_quantity(inner, "heaviest", MASS_UNITS, "16", least=ZERO),
        inner.node.place,
    )
    _check_base(inner, found)
    inner.odd_keys(_KEYS)
    return found


def _read_points(fields: Fields) -> dict[str, Standing]:
    arms, tracks = _read_lengths(fields, "arms"), _read_lengths(fields, "tracks")
    found = {}
    for name in dict.fromkeys((*arms, *tracks)):
        arm, place = arms.get(name, (None, tracks.get(name, (None, Place("")))[1]))
        found[name] = Standing(name, arm, tracks.get(name, (None, place))[0], place)
    return found


def _read_lengths(fields: Fields, key: str) -> dict[str, tuple[Decimal | None, Place]]:
    inner = fields.mapping(key)
    if inner is None:
        return {}
    return {
        entry.key.strip().lower(): (
            read_length(inner, entry.key, negative=True),
            entry.key_place,
        )
        for entry in inner.node.entries
    }


def _read_chord(fields: Fields) -> Chord | None:
    inner = fields.mapping("mean_chord")
    if inner is None:
        return None
    edge = read_length(inner, "leading_edge", negative=True)
    length = read_positive(inner, "length")
    for key, example in (("leading_edge", "-20"), ("length", "395")):
        if not inner.has(key):
            inner.missing(key, example)
    inner.odd_keys(())
    return Chord(edge, length) if edge is not None and length is not None else None


def _read_limits(fields: Fields) -> Limits | None:
    inner = fields.mapping("limits")
    if inner is None:
        return None
    forward = read_length(inner, "forward", negative=True)
    aft = read_length(inner, "aft", negative=True)
    if forward is not None and aft is not None and forward >= aft:
        inner.report(
            inner.place("aft"),
            "balance-limits",
            f"limits: forward {format_amount(forward)} is not ahead of aft {format_amount(aft)}; "
            "arms grow to the rear",
            f"write  forward: {format_amount(min(forward, aft))}  and  "
            f"aft: {format_amount(max(forward, aft))}, or the two right figures",
        )
        forward = aft = None
    tanks = inner.choice("tanks", LIMIT_TANKS, "not-stated") or "not-stated"
    found = Limits(forward, aft, tanks, inner.basis(), inner.node.place)
    inner.odd_keys(())
    return found


def _read_lateral(fields: Fields) -> tuple[Decimal | None, Basis]:
    """`lateral_limit: 5`, or `{limit: 5, basis: …}`."""
    node = fields.raw("lateral_limit")
    if node is None or isinstance(node, Scalar):
        limit = read_length(fields, "lateral_limit")
        return limit, UNSTATED
    inner = fields.mapping("lateral_limit")
    if inner is None:
        return None, UNSTATED
    return read_length(inner, "limit"), inner.basis()


def _read_tank(fields: Fields) -> Tank | None:
    inner = fields.mapping("tank")
    if inner is None:
        return None
    found = Tank(
        read_length(inner, "arm", negative=True),
        read_length(inner, "side", negative=True),
        read_quantity(inner, "full", MASS_UNITS, "2.9"),
        read_quantity(inner, "taxi", MASS_UNITS, "0.2"),
        inner.amount("density"),
        inner.basis(),
        inner.node.place,
    )
    inner.odd_keys(())
    return found


def _read_classes(fields: Fields) -> tuple[ClassLimit, ...]:
    found = []
    for inner in fields.mappings("masses"):
        limit = read_quantity(inner, "limit", MASS_UNITS, "25", least=ZERO)
        if not inner.has("limit"):
            inner.missing("limit", "25")
        if not inner.has("kind"):
            inner.missing("kind", '"dry"   (or with-fuel, or take-off)')
        word = inner.choice("kind", MASS_KINDS, None)
        kind = next((item for item in MASS_KINDS if item == word), None)
        what = inner.text("what") or "class limit"
        basis = inner.basis()
        inner.odd_keys(())
        if limit is not None and kind is not None:
            found.append(ClassLimit(limit, kind, what, basis, inner.node.place))
    return tuple(sorted(found, key=lambda item: (item.limit, item.kind)))


def _read_items(fields: Fields, key: str) -> dict[str, Item]:
    listed = fields.mapping(key)
    if listed is None:
        return {}
    found = {}
    for entry in listed.node.entries:
        inner = listed.mapping(entry.key)
        if inner is None:
            continue
        name = entry.key.strip().lower()
        found[name] = Item(
            name,
            inner.text("title") or name.replace("-", " "),
            read_quantity(inner, "mass", MASS_UNITS, "0.62", least=ZERO),
            read_length(inner, "arm", negative=True),
            read_length(inner, "side", negative=True),
            inner.flag("to_come"),
            inner.basis(),
            entry.key_place,
        )
        inner.odd_keys(())
    return found


def _check_base(fields: Fields, found: Balance) -> None:
    """Points that all stand at one arm carry any load alike: they tell nothing."""
    arms = [point.arm for point in found.points.values() if point.arm is not None]
    if len(found.points) > 1 and arms and len(set(arms)) == 1 and len(arms) == len(found.points):
        fields.report(
            fields.place("arms"),
            "balance-points",
            f"arms: every point stands at {format_amount(arms[0])} mm, so no centre of gravity "
            "follows from their readings",
            "write the arm of each point from the datum, for example  "
            "arms: {nose: -610, main-left: 240, main-right: 240}",
        )
