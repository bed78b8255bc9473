"""The geometry of a thread. Lengths in mm, areas in mm².

Metric: d2 = d - 0.649519 P, d3 = d - 1.226869 P, D1 = d - 1.082532 P (ISO 724), and
As = pi/4 (d - 0.938194 P)² (ISO 898-1). Inch: As = pi/4 (D - 0.9743/n)² (ASME B1.1). The two
factors differ and must not be exchanged.
"""

from __future__ import annotations

import math

from msgspec import Struct

from register.records.threads import INCH, Thread
from register.workshop.fastener_sizes import (
    CLEARANCE,
    Figure,
    find_tapping_drill,
)

METRIC_FACTOR = 0.938194
INCH_FACTOR = 0.9743


class Geometry(Struct, frozen=True):
    """Diameters of a thread in mm and its stress area in mm², with where the formula stands."""

    pitch_diameter: float
    core_diameter: float
    bore_diameter: float
    stress_area: float
    source: str
    area_source: str


def build_geometry(thread: Thread) -> Geometry | None:
    """Diameters and stress area; None for a tapping screw, which has no standard core."""
    if thread.pitch is None:
        return None
    d, p = float(thread.diameter), float(thread.pitch)
    if thread.tpi is not None:
        # The basic profile of ASME B1.1 is the same sixty degrees; only the stress area differs.
        area = inch_stress_area(d / float(INCH), thread.tpi) * float(INCH) ** 2
        sources = ("ASME B1.1", "ASME B1.1")
    else:
        area = metric_stress_area(d, p)
        sources = ("ISO 724", "ISO 898-1")
    return Geometry(d - 0.649519 * p, d - 1.226869 * p, d - 1.082532 * p, area, *sources)


def metric_stress_area(diameter: float, pitch: float) -> float:
    """ISO 898-1: mm² of a thread of diameter and pitch in mm."""
    return math.pi / 4 * (diameter - METRIC_FACTOR * pitch) ** 2


def inch_stress_area(diameter: float, tpi: int) -> float:
    """ASME B1.1: square inches of a thread of a diameter in inches and threads per inch."""
    return math.pi / 4 * (diameter - INCH_FACTOR / tpi) ** 2


class Holes(Struct, frozen=True):
    """What to drill: before tapping, and for the screw to pass. None is not in the tables."""

    tapping: Figure | None
    clearance: dict[str, Figure]


def build_holes(thread: Thread) -> Holes:
    """Drills for a thread, from the tables alone: no standard is interpolated."""
    clearance = {
        fit: figure
        for fit, table in CLEARANCE.items()
        if (figure := table.find(thread.size)) is not None
    }
    return Holes(find_tapping_drill(thread.name), clearance)
