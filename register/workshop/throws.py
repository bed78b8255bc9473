"""What a throw means: one deflection in four measures, two sides held together, drift.

A throw in millimetres belongs to a chord: the distance from the hinge line to the place at the
trailing edge where it is measured. chordal is the straight line between the two places of that
point, 2·c·sin(δ/2); perpendicular its height over the neutral line, c·sin δ; arc the way along
the circle, c·δ (trigonometry).
"""

from __future__ import annotations

import math
from decimal import Decimal

from msgspec import Struct

from register.records.surfaces import Surface, WantedThrows
from register.records.workshop_bodies import Throw, ThrowSheet

#: Left and right agree within so much at the trailing edge where the owner says nothing:
#: common practice, no source.
TOLERANCE_MM = 1.0
POSITIVE_WAYS = ("up", "left")
_ROUNDING = 1e-9


class Deflection(Struct, frozen=True):
    """One deflection in every measure: degrees, and millimetres where a chord is known."""

    degrees: float | None
    chordal: float | None
    perpendicular: float | None
    arc: float | None

    def in_measure(self, measure: str) -> float | None:
        """The figure in one measure."""
        found: float | None = getattr(self, measure)
        return found


def to_degrees(value: float, measure: str, chord: float | None) -> float | None:
    """The angle of a throw; None without a chord, or where the throw cannot be.

    A perpendicular throw cannot be more than the chord, nor a chordal one more than twice it.
    """
    if measure == "degrees":
        return value
    if chord is None or chord <= 0:
        return None
    share = value / chord
    if measure == "arc":
        return math.degrees(share)
    if measure == "perpendicular":
        return math.degrees(math.asin(share)) if share <= 1 + _ROUNDING else None
    if measure == "chordal":
        return math.degrees(2 * math.asin(share / 2)) if share <= 2 + _ROUNDING else None
    return None


def from_degrees(angle: float, measure: str, chord: float) -> float:
    """A throw of so many degrees, in a measure, at a chord."""
    turn = math.radians(angle)
    return {
        "degrees": angle,
        "chordal": 2 * chord * math.sin(turn / 2),
        "perpendicular": chord * math.sin(turn),
        "arc": chord * turn,
    }[measure]


def deflect(value: float, measure: str, chord: float | None) -> Deflection:
    """A throw in every measure that can be told from it."""
    angle = to_degrees(value, measure, chord)
    if angle is None or chord is None:
        own = {name: None for name in ("degrees", "chordal", "perpendicular", "arc")}
        return Deflection(**{**own, measure: value}) if measure in own else Deflection(**own)
    found = {name: from_degrees(angle, name, chord) for name in ("chordal", "perpendicular", "arc")}
    return Deflection(degrees=angle, **found)


class Difference(Struct, frozen=True):
    """How far one throw is from another, with what is allowed.

    `millimetres` is along the arc at the chord that both are held to; None without one.
    `tolerance` is in the measure's own unit. None for `within` cannot be told.
    """

    way: str
    one: float
    other: float
    measure: str
    amount: float
    tolerance: float | None
    within: bool | None


def chord_of(sheet: ThrowSheet, surface: Surface | None) -> float | None:
    """The chord a sheet was measured at: its own station, else the surface's chord."""
    if sheet.station is not None:
        return float(sheet.station)
    return float(surface.chord) if surface is not None and surface.chord is not None else None


def sheet_degrees(sheet: ThrowSheet, surface: Surface | None, way: str) -> float | None:
    """A sheet's throw one way, in degrees; None when it was not measured or cannot be told."""
    value = next((item.value for item in sheet.throws if item.way == way), None)
    if value is None:
        return None
    return to_degrees(float(value), sheet.measure, chord_of(sheet, surface))


def wanted_degrees(wanted: WantedThrows, surface: Surface, way: str) -> float | None:
    """A throw asked for, in degrees."""
    value = wanted.way(way)
    chord = float(surface.chord) if surface.chord is not None else None
    return None if value is None else to_degrees(float(value), wanted.measure, chord)


def compare_sheets(
    one: tuple[ThrowSheet, Surface | None],
    other: tuple[ThrowSheet, Surface | None],
    tolerance: Decimal | None,
) -> tuple[Difference, ...]:
    """Two sheets way by way, in the measure of the first.

    Measured alike at the same chord they are held together as written; else both go through
    degrees and are held at the chord of the first. `tolerance` is the owner's; without it
    `TOLERANCE_MM` at the trailing edge.
    """
    found = []
    for item in one[0].throws:
        second = _as_measured(one, other, item.way)
        if second is None:
            continue
        first = float(item.value)
        amount = first - second
        allowed = _allowed(one, tolerance)
        within = None if allowed is None else abs(amount) <= allowed + _ROUNDING
        found.append(Difference(item.way, first, second, one[0].measure, amount, allowed, within))
    return tuple(found)


def _as_measured(
    one: tuple[ThrowSheet, Surface | None], other: tuple[ThrowSheet, Surface | None], way: str
) -> float | None:
    """The other sheet's throw in the measure, and at the chord, of the first."""
    value = next((item.value for item in other[0].throws if item.way == way), None)
    if value is None:
        return None
    chord, theirs = chord_of(*one), chord_of(*other)
    if one[0].measure == other[0].measure and (one[0].measure == "degrees" or chord == theirs):
        return float(value)
    angle = to_degrees(float(value), other[0].measure, theirs)
    if angle is None or (chord is None and one[0].measure != "degrees"):
        return None
    return from_degrees(angle, one[0].measure, chord or 0.0)


def _allowed(one: tuple[ThrowSheet, Surface | None], tolerance: Decimal | None) -> float | None:
    if tolerance is not None:
        return float(tolerance)
    if one[0].measure != "degrees":
        return TOLERANCE_MM
    chord = chord_of(*one)
    return None if chord is None else math.degrees(TOLERANCE_MM / chord)


def compare_wanted(
    sheet: ThrowSheet, surface: Surface, wanted: WantedThrows
) -> tuple[Difference, ...]:
    """Throws measured against those asked for, in the measure they are asked in."""
    asked = ThrowSheet(
        None, surface.name, wanted.rate, wanted.measure, wanted.throws, surface.chord, False
    )
    found = compare_sheets((asked, surface), (sheet, surface), wanted.tolerance)
    return tuple(
        Difference(
            item.way,
            item.other,
            item.one,
            item.measure,
            -item.amount,
            item.tolerance,
            item.within,
        )
        for item in found
    )


def find_way(throws: tuple[Throw, ...], deflection: float) -> Throw | None:
    """The throw or stop that a deflection runs towards; up and left are positive."""
    for item in throws:
        if item.way == "open" or (item.way in POSITIVE_WAYS) == (deflection > 0):
            return item
    return None
