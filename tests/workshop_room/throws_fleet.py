"""A fleet with surfaces and linkages: a jet with ailerons and a pair of brakes on one servo."""

from __future__ import annotations

from pathlib import Path

from fleets import make_fleet
from register.git.commit import init_repository

KIT = """
id: kitg000001
title: "Gull"
positions:
  aileron-servo-left: {kind: "servo"}
  aileron-servo-right: {kind: "servo"}
  brake-servo: {kind: "servo"}
surfaces:
  aileron-left:
    title: "Left aileron"
    pair: "aileron-right"
    chord: 60
    whole_chord: 240
    span: 400
    stops: {up: 26, down: 30}
    throws:
      - {rate: "high", measure: "chordal", up: 18, down: 14, tolerance: 1,
         basis: {kind: "maker", reference: "page 9"}}
      - {rate: "low", measure: "chordal", up: 10, down: 8, tolerance: 1}
  aileron-right: {pair: "aileron-left", chord: 60, span: 400}
  tab: {on: "aileron-left", chord: 12}
  brake-left:
    kind: "brake"
    moves: "one-way"
    pair: "brake-right"
    chord: 40
    span: 150
    throws:
      - {rate: "high", measure: "degrees", open: 55, tolerance: 2}
  brake-right:
    {kind: "brake", moves: "one-way", pair: "brake-left", chord: 40, span: 150}
linkages:
  aileron-left:
    servo: "aileron-servo-left"
    arm: {hole: "3", holes: {"1": 12, "2": 15, "3": 18}, side: "bottom", angle: 90,
          at_pulse: 1500}
    horn: {radius: 20, offset: 0, angle: 90}
    pivots: 70
    rod: {pin_to_pin: 70.4, cut: 50, thread: "M3", hands: ["right", "left"],
          engagement: [7, 6.8], fittings: [17, 17.2], ends: ["ball-link", "clevis"],
          forked: [false, true]}
    manual_rod: {length: 51, means: "not-stated"}
    travel: {degrees_per_us: 0.1, low: 1150, mid: 1500, high: 1850}
    torque: {value: 25, unit: "kg·cm", at_volts: 7.4, basis: {kind: "maker", reference: "sheet"}}
  aileron-right:
    servo: "aileron-servo-right"
    arm: {radius: 18, side: "bottom"}
    rod: {thread: "M3", engagement: [7, 4]}
  brake-left:
    servo: "brake-servo"
    arm: {radius: 14, side: "top", angle: 55, at_pulse: 1000}
    horn: {radius: 15, offset: 2, angle: 62}
    pivots: 96
    travel: {degrees_per_us: 0.065, low: 1000, high: 2000}
  brake-right:
    servo: "brake-servo"
    arm: {radius: 17, side: "bottom", angle: 125, at_pulse: 1000}
    horn: {radius: 15, offset: 2, angle: 118}
    pivots: 96
    travel: {degrees_per_us: 0.065, low: 1000, high: 2000}
"""
AIRCRAFT = 'id: hern000001\ntitle: "Heron"\nkit: "gull"\n'


def make_throws_fleet(folder: Path, aircraft: str = AIRCRAFT) -> Path:
    """The fleet below `folder`, as a repository; `aircraft` is the text of heron's own file."""
    fleet = make_fleet(
        folder,
        {
            "kits/gull.yaml": KIT,
            "aircraft/heron/aircraft.yaml": aircraft,
            "aircraft/petrel/aircraft.yaml": 'id: petr000001\ntitle: "Petrel"\n',
        },
    )
    init_repository(fleet)
    return fleet
