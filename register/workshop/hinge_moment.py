"""Estimates of the moment about a hinge in flight. Estimates: each carries its assumptions.

Thin aerofoil (Houghton and Carpenter, Aerodynamics for Engineering Students, section 4.5;
form of the formulas read, confirmed by quadrature): a plain flap behind a sealed hinge at its
own leading edge, small angles, attached flow, no gap, no balance. Real surfaces show less.

Flat plate: a plate square to a separated stream, normal force 2·sin δ on its area (a long plate
broadside has a drag coefficient near 2: from memory, Hoerner, Fluid-Dynamic Drag), acting at
mid-chord; no wing ahead of it. H = q·S·c·sin δ for a plate hinged at its edge.
"""

from __future__ import annotations

import math

from msgspec import Struct

from register.records.surfaces import Surface

#: kg/m³ at sea level, 15 °C: the standard atmosphere, ISO 2533.
AIR_DENSITY = 1.225
#: Degrees up to which the thin-aerofoil figure is given.
MOST_THIN = 15.0
_PLATE = 2.0


class Moment(Struct, frozen=True):
    """One estimate, in newton metres, or why there is none (`newton_metres` None)."""

    newton_metres: float | None
    method: str
    says: tuple[str, ...]


def flap_derivatives(ratio: float) -> tuple[float, float]:
    """b1 (of incidence) and b2 (of deflection): dCh for each radian, of a plain flap.

    The flap takes `ratio` of the whole chord, 0 < ratio <= 1; the coefficients are on its own
    chord and area.
    """
    if not 0 < ratio <= 1:
        raise ValueError("a flap takes more than none and at most all of the chord")
    phi = math.acos(2 * ratio - 1)
    rest, square = math.pi - phi, 4 * ratio * ratio
    b1 = -(2 * rest * (2 * math.cos(phi) - 1) + 4 * math.sin(phi) - math.sin(2 * phi)) / square
    b2 = -(
        (1 - math.cos(2 * phi)) - 2 * rest**2 * (1 - 2 * math.cos(phi)) + 4 * rest * math.sin(phi)
    ) / (square * math.pi)
    return b1, b2


def dynamic_pressure(speed: float) -> float:
    """In pascals, at sea level in the standard atmosphere. `speed` in m/s."""
    return AIR_DENSITY * speed * speed / 2


def hinge_coefficient(moment: float, pressure: float, area: float, chord: float) -> float:
    """Ch = H / (q·S·c), in SI units."""
    return moment / (pressure * area * chord)


def estimate_moment(surface: Surface, degrees: float, speed: float) -> Moment:
    """The moment that holds a surface at a deflection against the stream, without sign.

    `degrees` from flush, `speed` in m/s. No figure is given where a size is not stated.
    """
    if surface.chord is None or surface.span is None:
        lacking = "chord" if surface.chord is None else "span"
        return Moment(None, "not estimated", (f"{lacking} of {surface.name} is not stated",))
    chord, span = float(surface.chord) / 1000, float(surface.span) / 1000
    load = dynamic_pressure(speed) * span * chord * chord
    turn = math.radians(min(abs(degrees), 90.0))
    small = abs(degrees) <= MOST_THIN
    if surface.kind == "all-moving":
        return _all_moving(surface, load, turn, small=small)
    if surface.kind == "plain" and small:
        if surface.whole_chord is None:
            says = f"whole_chord of {surface.name} is not stated: the flap's share of it decides"
            return Moment(None, "not estimated", (says,))
        ratio = float(surface.chord) / float(surface.whole_chord)
        moment = load * abs(flap_derivatives(ratio)[1]) * turn
        return Moment(
            moment,
            "thin aerofoil",
            (
                f"plain flap of {ratio:.0%} of the chord, sealed, no balance, attached flow, "
                "wing at no lift",
                "real surfaces show less; angle of attack, sideslip and gusts add to it",
            ),
        )
    return Moment(
        load * math.sin(turn) * _PLATE / 2,
        "flat plate",
        (
            "separated flow, normal force 2·sin of the angle, acting at mid-chord, no wing ahead",
            "a coarse upper figure for a plate; flutter, buffet and wake are not in it",
        ),
    )


def _all_moving(surface: Surface, load: float, turn: float, *, small: bool) -> Moment:
    if surface.hinge_at is None:
        says = f"hinge_at of {surface.name} is not stated: the axis decides everything here"
        return Moment(None, "not estimated", (says,))
    axis = float(surface.hinge_at)
    if small:
        return Moment(
            load * 2 * math.pi * turn * abs(axis - 0.25),
            "thin aerofoil",
            (
                f"whole surface about an axis at {axis:.0%} of its chord, lift at a quarter, "
                "two-dimensional",
                "near a quarter chord the figure is the difference of two large ones: small "
                "errors of the axis outweigh it",
            ),
        )
    return Moment(
        load * _PLATE * math.sin(turn) * abs(0.5 - axis),
        "flat plate",
        (f"separated flow, force at mid-chord, axis at {axis:.0%} of the chord",),
    )
