"""Amounts written with their unit: masses, lengths, pressures, temperatures, litres.

Exact in decimals. A bare number is in the register's own unit (kilograms, millimetres, bar,
degrees Celsius); anything else is converted by the factor that defines its unit. Factors of the
pound and the inch are exact by definition (international yard and pound agreement, 1959);
1 psi is one pound-force on a square inch, with standard gravity 9.80665 m/s2.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal

from msgspec import Struct

from register.records.fields import Fields
from register.records.values import format_amount
from register.text.nodes import Scalar

POUND = Decimal("0.45359237")
INCH = Decimal("25.4")
#: kilograms in one
MASS_UNITS: dict[str, Decimal] = {
    "kg": Decimal(1),
    "g": Decimal("0.001"),
    "lb": POUND,
    "lbs": POUND,
    "oz": POUND / 16,
}
#: millimetres in one
LENGTH_UNITS: dict[str, Decimal] = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
    "in": INCH,
}
#: bar in one
PRESSURE_UNITS: dict[str, Decimal] = {
    "bar": Decimal(1),
    "mbar": Decimal("0.001"),
    "hpa": Decimal("0.001"),
    "kpa": Decimal("0.01"),
    "psi": Decimal("0.0689475729317"),
}
#: litres in one
VOLUME_UNITS: dict[str, Decimal] = {"l": Decimal(1), "ml": Decimal("0.001")}
TEMPERATURE_UNITS = ("c", "f", "k")
ABSOLUTE_ZERO = Decimal("-273.15")

_NUMBER = r"[+-]?\d{1,9}(?:\.\d{1,9})?"
_AMOUNT = re.compile(rf"({_NUMBER})\s*(°?[a-z]{{1,4}})?", re.IGNORECASE | re.ASCII)
_SIGNED = re.compile(rf"({_NUMBER})\s*°?\s*([a-z])?", re.IGNORECASE)
_POUNDS = re.compile(r"(\d{1,6})\s*lbs?\s*(\d{1,3}(?:\.\d{1,4})?)\s*oz", re.IGNORECASE | re.ASCII)
_GRAIN = Decimal("0.000001")


class Quantity(Struct, frozen=True):
    """An amount in the register's unit, and the unit it was written in (empty: none)."""

    value: Decimal
    unit: str
    typed: str

    @property
    def is_bare(self) -> bool:
        """True when no unit was written."""
        return not self.unit


def parse_quantity(text: str, units: dict[str, Decimal]) -> Quantity | None:
    """A number with or without one of the units; None when it is neither.

    Converted figures are rounded to a millionth, half to even; bare ones are kept as written.
    """
    word = text.strip()
    if units is MASS_UNITS:
        both = _POUNDS.fullmatch(word)
        if both:
            pounds = Decimal(both[1]) + Decimal(both[2]) / 16
            return Quantity(_round(pounds * POUND), "lb", word)
    found = _AMOUNT.fullmatch(word)
    if not found:
        return None
    unit = (found[2] or "").lower()
    if unit and unit not in units:
        return None
    value = Decimal(found[1])
    if unit and units[unit] != 1:
        value = _round(value * units[unit])
    return Quantity(value, unit, word)


def parse_temperature(text: str) -> Quantity | None:
    """Degrees Celsius from `18`, `18C`, `64F` or `291K`; None when it is none of these."""
    found = _SIGNED.fullmatch(text.strip())
    if not found:
        return None
    unit = (found[2] or "").lower()
    if unit and unit not in TEMPERATURE_UNITS:
        return None
    value = Decimal(found[1])
    if unit == "f":
        value = _round((value - 32) * 5 / 9)
    elif unit == "k":
        value = value + ABSOLUTE_ZERO
    return None if value <= ABSOLUTE_ZERO else Quantity(value, unit, text.strip())


def _round(value: Decimal) -> Decimal:
    rounded = value.quantize(_GRAIN, ROUND_HALF_EVEN)
    return Decimal(format_amount(rounded))


def read_quantity(
    fields: Fields,
    key: str,
    units: dict[str, Decimal],
    example: str,
    *,
    negative: bool = False,
    least: Decimal | None = None,
) -> Decimal | None:
    """An amount of a record in the register's unit; a wrong unit or sign is reported.

    `least` refuses what is not above it (a chord of 0).
    """
    node = fields.scalar(key)
    if node is None:
        return None
    found = parse_quantity(node.text, units)
    known = ", ".join(units)
    if found is None:
        _refuse(fields, key, node, f"is not a number, or not in {known}", example)
        return None
    if found.value < 0 and not negative:
        fields.report(
            node.place,
            "number-negative",
            f"{key}: {node.text} is negative",
            f"write  {key}: {node.text.strip().lstrip('-')}",
        )
        return None
    if least is not None and found.value <= least:
        _refuse(fields, key, node, f"is not above {format_amount(least)}", example)
        return None
    return found.value


def read_temperature(fields: Fields, key: str) -> Decimal | None:
    """A temperature of a record in degrees Celsius, above absolute zero."""
    node = fields.scalar(key)
    if node is None:
        return None
    found = parse_temperature(node.text)
    if found is None:
        _refuse(fields, key, node, "is not a temperature (C, F or K)", "18")
        return None
    return found.value


def _refuse(fields: Fields, key: str, node: Scalar, why: str, example: str) -> None:
    shown = node.text if len(node.text) <= 24 else node.text[:20] + "…"
    fields.report(
        node.place,
        "number-wrong",
        f"{key}: {shown!r} {why}",
        f"write, for example  {key}: {example}",
    )
