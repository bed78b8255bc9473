"""Sheets of throws told in one line."""

from __future__ import annotations

from register.ledger.ledger import Ledger
from register.records.values import format_amount
from register.records.workshop_bodies import ThrowSheet


def tell_throws(_: Ledger, body: ThrowSheet) -> str:
    """aileron-left, high rate: up 16 mm, down 12 mm chordal, as set up; play 0.4 mm."""
    unit = "°" if body.measure == "degrees" else " mm"
    shown = ", ".join(f"{item.way} {format_amount(item.value)}{unit}" for item in body.throws)
    how = {"degrees": "", "not-stated": " (measure not stated)"}.get(body.measure)
    words = f"throws of {body.surface}, {body.rate} rate: {shown}"
    words += f" {body.measure}" if how is None else how
    if body.sets_up:
        words += ", as set up"
    for item in body.readings:
        value = "?" if item.value is None else format_amount(item.value)
        words += f"; {item.name} {value} {item.unit}".rstrip()
    return words
