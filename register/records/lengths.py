"""Lengths and angles of what is built: bare numbers, in millimetres and degrees.

One written with its unit is not guessed at: it is named, with the number to write instead.
"""

from __future__ import annotations

import re
from decimal import Decimal

from register.records.fields import Fields
from register.records.scalars import read_amount
from register.records.values import format_amount
from register.text.nodes import Scalar

_WITH_UNIT = re.compile(r'([+-]?\d{1,6}(?:\.\d{1,6})?) ?(mm|cm|m|in|inch|inches|"|°|deg|degrees)')
#: Millimetres in one of each; an inch is 25.4 mm by definition.
_LENGTHS = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
    "in": Decimal("25.4"),
    "inch": Decimal("25.4"),
    "inches": Decimal("25.4"),
    '"': Decimal("25.4"),
}
_ANGLES = ("°", "deg", "degrees")


def read_length(fields: Fields, key: str, *, negative: bool = False) -> Decimal | None:
    """A length in millimetres; a zero or a negative one where none can be is reported."""
    return _read(fields, key, "mm", negative=negative)


def read_positive(fields: Fields, key: str) -> Decimal | None:
    """A length in millimetres that cannot be zero: an arm, a horn, a chord."""
    value = _read(fields, key, "mm", negative=False)
    if value is not None and value == 0:
        fields.report(
            fields.place(key),
            "length-zero",
            f"{key}: a length of 0 mm cannot be; unknown is not zero",
            f"measure it, or take the line out:  # {key}: not measured yet",
        )
        return None
    return value


def read_angle(fields: Fields, key: str, *, negative: bool = False) -> Decimal | None:
    """An angle in degrees."""
    return _read(fields, key, "degrees", negative=negative)


def read_in_unit(
    fields: Fields, key: str, node: Scalar, wanted: str, *, negative: bool = False
) -> Decimal | None:
    """A bare number of the unit wanted ("mm" or "degrees")."""
    found = _WITH_UNIT.fullmatch(node.text.strip())
    if not found:
        return read_amount(fields, key, node, negative=negative)
    value, unit = Decimal(found[1]), found[2]
    same_sort = (unit in _ANGLES) == (wanted == "degrees")
    number = format_amount(value * _LENGTHS.get(unit, Decimal(1))) if same_sort else "…"
    says = (
        f"{key}: {node.text.strip()!r} has a unit; here everything is in {wanted}"
        if same_sort
        else f"{key}: {node.text.strip()!r} is not in {wanted}; two units are mixed here"
    )
    fields.report(node.place, "units-mixed", says, f"write the bare number:  {key}: {number}")
    return None


def _read(fields: Fields, key: str, wanted: str, *, negative: bool) -> Decimal | None:
    node = fields.scalar(key)
    return None if node is None else read_in_unit(fields, key, node, wanted, negative=negative)
