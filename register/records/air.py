"""Air systems of an aircraft as built: how much air, and how far its pressure may fall.

Pressures are gauge readings in bar, volumes millilitres, times minutes.
"""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from register.records.fields import Fields
from register.records.units import PRESSURE_UNITS, VOLUME_UNITS, parse_quantity, read_quantity
from register.records.values import ZERO, Basis, format_amount
from register.trouble import Place


class LossLimit(Struct, frozen=True):
    """What a leak-down of so many minutes may lose, in bar."""

    bar: Decimal
    minutes: Decimal
    basis: Basis


class AirSystem(Struct, frozen=True):
    """One air system. `losses` is what a leak-down may lose, for one time or several.

    `ambient` is the usual pressure of the place it is flown from, in bar absolute.
    """

    name: str
    title: str
    volume_ml: Decimal | None
    full: Decimal | None
    minimum: Decimal | None
    basis: Basis
    losses: tuple[LossLimit, ...]
    ambient: Decimal | None
    place: Place


def read_air(fields: Fields) -> dict[str, AirSystem]:
    """The `air` section of a kit or aircraft file."""
    listed = fields.mapping("air")
    if listed is None:
        return {}
    found = {}
    for entry in listed.node.entries:
        inner = listed.mapping(entry.key)
        if inner is not None:
            name = entry.key.strip().lower()
            found[name] = _read_system(inner, name, entry.key_place)
    return found


def _read_system(fields: Fields, name: str, place: Place) -> AirSystem:
    full = read_quantity(fields, "full", PRESSURE_UNITS, "8.0", least=ZERO)
    minimum = read_quantity(fields, "minimum", PRESSURE_UNITS, "5.0")
    if full is not None and minimum is not None and minimum >= full:
        fields.report(
            fields.place("minimum"),
            "air-minimum",
            f"minimum: {format_amount(minimum)} bar is not below the full "
            f"{format_amount(full)} bar",
            f"write  minimum: {format_amount(min(full, minimum))}  and  "
            f"full: {format_amount(max(full, minimum))}, or the two right figures",
        )
        full = minimum = None
    system = AirSystem(
        name,
        fields.text("title") or name.replace("-", " "),
        _read_volume(fields),
        full,
        minimum,
        fields.basis(),
        _read_losses(fields),
        read_quantity(fields, "ambient", PRESSURE_UNITS, "1.013", least=ZERO),
        place,
    )
    fields.odd_keys(())
    return system


def _read_losses(fields: Fields) -> tuple[LossLimit, ...]:
    """`loss: {bar, minutes, basis}`, or a list of them; the shortest time first."""
    found = []
    for inner in fields.mappings("loss"):
        for key, example in (("bar", "0.35"), ("minutes", "15")):
            if not inner.has(key):
                inner.missing(key, example)
        bar = read_quantity(inner, "bar", PRESSURE_UNITS, "0.35", least=ZERO)
        minutes = inner.amount("minutes")
        basis = inner.basis()
        inner.odd_keys(())
        if bar is not None and minutes:
            found.append(LossLimit(bar, minutes, basis))
    return tuple(sorted(found, key=lambda item: item.minutes))


def _read_volume(fields: Fields) -> Decimal | None:
    """A bare number is millilitres; `0.35 l` is converted."""
    node = fields.scalar("volume_ml")
    found = parse_quantity(node.text, VOLUME_UNITS) if node is not None else None
    if node is None or (found is not None and found.value > 0):
        if found is None:
            return None
        return found.value if found.is_bare else found.value * 1000
    fields.report(
        node.place,
        "number-wrong",
        f"volume_ml: {node.text[:20]!r} is not a volume above 0",
        "write, for example  volume_ml: 350",
    )
    return None
