"""A small fleet with a drawn aircraft: a jet with wings, fin, body, colours and some marks."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from event_fleet import make_event_fleet

KIT = """
    id: "kt00000001"
    title: "Sandpiper 70"
    positions:
      aileron-servo-left: {kind: "servo"}
    outline:
      length: 1800
      span: 1600
      plan:
        wing: [[600, 90], [760, 780], [960, 790], [1010, 90]]
        fuselage: [[0, 0], [120, 60], [500, 90], [1300, 90], [1780, 40], [1780, 0]]
      side:
        fuselage: [[0, 0], [200, 80], [900, 120], [1780, 50], [1780, -40], [700, -100], [150, -60]]
        fin: [[1400, 80], [1600, 380], [1780, 380], [1780, 50]]
    zones:
      body:
        title: "Fuselage"
        number: "200"
        plan: [[0, 0], [120, 60], [500, 90], [1300, 90], [1780, 40], [1780, 0]]
        side: [[0, 0], [200, 80], [900, 120], [1780, 50], [1780, -40], [700, -100], [150, -60]]
      left-wing:
        title: "Left wing"
        number: "500"
        hand: left
        colour: upper
        plan: [[600, -90], [760, -780], [960, -790], [1010, -90]]
        holds: [aileron-servo-left]
      right-wing: {title: "Right wing", number: "600", mirrors: left-wing}
      fin:
        title: "Fin"
        number: "330"
        side: [[1400, 80], [1600, 380], [1780, 380], [1780, 50]]
    colours:
      upper: {paint: "pale green, acrylic", code: "P-7"}
      lower: "cream, acrylic"
    """
KESTREL = """
    id: "kest000001"
    title: "Kestrel"
    kit: "sandpiper-70.kt00000001"
    zones:
      left-wing: {colour: lower}
    """


def make_drawn_fleet(folder: Path, files: Mapping[str, str] | None = None) -> Path:
    """The fleet of event_fleet, in which kestrel is drawn and heron is not."""
    return make_event_fleet(
        folder,
        {
            "kits/sandpiper-70.yaml": KIT,
            "aircraft/kestrel/aircraft.yaml": KESTREL,
            **(files or {}),
        },
    )
