"""Weighings, cure clocks and readings of air systems, each told in one line."""

from __future__ import annotations

from decimal import Decimal

from register.ledger.ledger import Ledger
from register.records.bodies import Reading
from register.records.values import format_amount
from register.records.workshop_bodies import Cure, Weighing

_GRAM = Decimal("0.001")


def tell_weighing(_: Ledger, body: Weighing) -> str:
    """The sum of the scales, without tare, and the state of the tanks."""
    nets = [None if item.reading is None else item.reading - item.tare for item in body.weights]
    points = ", ".join(
        f"{item.point} {'?' if net is None else format_amount(net.quantize(_GRAM))}"
        for item, net in zip(body.weights, nets, strict=True)
    )
    known = [net for net in nets if net is not None]
    least = "" if len(known) == len(nets) else "at least "
    total = format_amount(sum(known, Decimal(0)).quantize(_GRAM))
    return f"weighed {least}{total} kg, tanks {body.tanks.replace('-', ' ')}: {points}"


def tell_cure(_: Ledger, body: Cure) -> str:
    """What cures, and the maker's times."""
    what = body.text or body.at or ""
    times = [
        f"{word} {format_amount(minutes)} min"
        for word, minutes in (
            ("handling", body.handling_minutes),
            ("full load", body.full_minutes),
        )
        if minutes is not None
    ]
    heat = f" at {format_amount(body.temperature)} °C" if body.temperature is not None else ""
    words = f"curing: {what}, {body.adhesive}" if what else f"curing: {body.adhesive}"
    return f"{words} ({', '.join(times) or 'no time recorded'}{heat})"


def tell_air(body: Reading) -> str:
    """What is kept with a reading of an air system."""
    words = ""
    if body.temperature is not None:
        words += f" at {format_amount(body.temperature)} °C"
    if body.ambient is not None:
        words += f", ambient {format_amount(body.ambient)} bar"
    return words + ("; a leak-down begins" if body.begins else "")
