"""Control surfaces as built: their sizes, stops, and the throws asked of them.

surfaces:
  aileron-left:
    pair: aileron-right
    kind: plain            # plain, split, brake, all-moving
    moves: both            # both, or one-way: closed and open
    on: flap-left          # another moving surface that carries it
    chord: 62              # mm, hinge to trailing edge
    whole_chord: 250       # mm, of the wing or tail there
    span: 410
    stops: {up: 28, down: 30}          # degrees
    throws: [{rate: high, measure: chordal, up: 16, down: 12, tolerance: 1, basis: {…}}]
"""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from register.records.fields import Fields
from register.records.lengths import read_in_unit, read_length, read_positive
from register.records.scalars import nearest
from register.records.values import Basis
from register.records.workshop_bodies import MEASURES, Throw
from register.text.nodes import Mapping, Scalar
from register.trouble import Place

KINDS = ("plain", "split", "brake", "all-moving")
MOVES = ("both", "one-way")
#: The ways a surface goes. The first of each pair is the positive one.
WAYS = ("up", "down", "left", "right", "open")
_HANDS = ("left", "right", "none")
_KEYS = (
    *("zone", "hand", "pair", "kind", "moves", "on", "title", "chord", "whole_chord", "span"),
    *("hinge_at", "stops", "throws"),
)
_RATE_KEYS = ("rate", "measure", "tolerance", "basis", *WAYS)
#: Beyond a quarter turn a stop or a throw is a slip of the pen.
_MOST_DEGREES = 120


class WantedThrows(Struct, frozen=True):
    """Throws asked of a surface at one rate, in one measure: millimetres, or degrees."""

    rate: str
    measure: str
    throws: tuple[Throw, ...]
    tolerance: Decimal | None
    basis: Basis
    place: Place

    def way(self, name: str) -> Decimal | None:
        """How far one way."""
        return next((item.value for item in self.throws if item.way == name), None)


class Surface(Struct, frozen=True):
    """One control surface. Lengths in millimetres, stops in degrees; None is not stated.

    `hinge_at` is the place of an all-moving surface's axis, as a share of its chord from the
    leading edge.
    """

    name: str
    title: str | None
    zone: str | None
    hand: str
    pair: str | None
    kind: str
    one_way: bool
    on: str | None
    chord: Decimal | None
    whole_chord: Decimal | None
    span: Decimal | None
    hinge_at: Decimal | None
    stops: tuple[Throw, ...]
    wanted: tuple[WantedThrows, ...]
    place: Place

    def wanted_at(self, rate: str) -> WantedThrows | None:
        """The throws asked for at a rate."""
        return next((item for item in self.wanted if item.rate == rate), None)


def read_surfaces(fields: Fields) -> dict[str, Surface]:
    """The surfaces of a kit or aircraft, by name; what is wrong is reported."""
    section = fields.mapping("surfaces")
    if section is None:
        return {}
    found = {}
    for entry in section.node.entries:
        inner = section.mapping(entry.key)
        if inner is not None:
            name = entry.key.strip().lower()
            found[name] = _read_surface(inner, name, entry.key_place)
    _check_names(section, found)
    _check_carriers(section, found)
    return found


def _read_surface(fields: Fields, name: str, place: Place) -> Surface:
    chord, whole = read_positive(fields, "chord"), read_positive(fields, "whole_chord")
    if chord is not None and whole is not None and chord > whole:
        fields.report(
            fields.place("chord"),
            "chord-wider",
            f"chord: {chord} mm from hinge to trailing edge is more than the whole chord of "
            f"{whole} mm",
            f"write  chord: {whole}  or mend whole_chord",
        )
        whole = None
    surface = Surface(
        name,
        fields.text("title"),
        _lower(fields.text("zone")),
        fields.choice("hand", _HANDS, "none") or "none",
        _lower(fields.text("pair")),
        fields.choice("kind", KINDS, "plain") or "plain",
        fields.choice("moves", MOVES, "both") == "one-way",
        _lower(fields.text("on")),
        chord,
        whole,
        read_positive(fields, "span"),
        _read_share(fields, "hinge_at"),
        _read_stops(fields),
        tuple(wanted for item in fields.mappings("throws") if (wanted := _read_wanted(item))),
        place,
    )
    fields.odd_keys(_KEYS)
    return surface


def _lower(text: str | None) -> str | None:
    return text.strip().lower() or None if text else None


def _read_share(fields: Fields, key: str) -> Decimal | None:
    value = fields.amount(key)
    if value is not None and value >= 1:
        fields.report(
            fields.place(key),
            "number-wrong",
            f"{key}: {value} is not a share of the chord between 0 and 1",
            f"write, for a quarter of the chord,  {key}: 0.25",
        )
        return None
    return value


def _read_stops(fields: Fields) -> tuple[Throw, ...]:
    inner = fields.mapping("stops")
    return _read_ways(inner, "degrees") if inner is not None else ()


def _read_wanted(fields: Fields) -> WantedThrows | None:
    measure = fields.choice("measure", MEASURES, None)
    if measure is None and not fields.has("measure"):
        fields.report(
            fields.node.place,
            "measure-missing",
            "throws: not said how they are measured; on one surface the measures differ",
            f"add  measure: chordal  (one of {', '.join(MEASURES)})",
        )
    wanted = WantedThrows(
        (fields.text("rate") or "high").strip().lower(),
        measure or "not-stated",
        _read_ways(fields, "degrees" if measure == "degrees" else "mm"),
        read_length(fields, "tolerance") if measure != "degrees" else fields.amount("tolerance"),
        fields.basis(),
        fields.node.place,
    )
    fields.odd_keys(_RATE_KEYS)
    return wanted if wanted.throws and measure is not None else None


def _read_ways(fields: Fields, unit: str) -> tuple[Throw, ...]:
    found = []
    for way in WAYS:
        node = fields.raw(way)
        if not isinstance(node, Scalar):
            continue
        value = read_in_unit(fields, way, node, unit)
        if value is not None and unit == "degrees" and value > _MOST_DEGREES:
            fields.report(
                node.place,
                "number-wrong",
                f"{way}: {value}° is more than any surface turns",
                f"write degrees, for example  {way}: 30",
            )
        elif value is not None:
            found.append(Throw(way, value))
    return tuple(found)


def _check_names(section: Fields, surfaces: dict[str, Surface]) -> None:
    """Names of pair and carrier must be surfaces of the same aircraft."""
    for surface in surfaces.values():
        for key, name in (("pair", surface.pair), ("on", surface.on)):
            if name is None or (name in surfaces and name != surface.name):
                continue
            inner = section.node.get(surface.name)
            node = inner.get(key) if isinstance(inner, Mapping) else None
            others = [other for other in surfaces if other != surface.name]
            guess = nearest(name, others)
            section.report(
                node.place if node is not None else surface.place,
                "surface-unknown",
                f"{key}: {name!r} is not another surface of this aircraft",
                f'write  {key}: "{guess}"' if guess else f"take {key} out, or add {name} below",
            )


def _check_carriers(section: Fields, surfaces: dict[str, Surface]) -> None:
    """No surface may carry itself through others."""
    told: set[str] = set()
    for surface in surfaces.values():
        chain = [surface.name]
        on = surface.on
        while on in surfaces and on not in chain:
            chain.append(on)
            on = surfaces[on].on
        if on is not None and on in chain and len(chain) > 1 and not told & set(chain):
            told |= set(chain)
            section.report(
                surface.place,
                "surface-circle",
                f"{' sits on '.join([*chain, on])}: a surface cannot carry itself",
                f"take  on:  out of {chain[-1]}",
            )
