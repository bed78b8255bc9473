"""A small fleet whose jet has joints, lines and a shelf, for tests of fasteners.

Import what you need: `from workshop_room.jointed_fleet import make_jointed_fleet`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from event_fleet import make_event_fleet

from register.desk import open_fleet
from register.workshop.fasteners import FittedJoint, fit_joints

KIT = """
    id: "k1tjets001"
    title: "Small grey jet"
    joints:
      nose-gear:
        zone: "nose"
        title: "Nose gear plate"
        thread: "M3"
        length: 16
        head: "cap"
        count: 4
        least_holding: 3
        material: "steel-12.9"
        friction: "zinc"
        into: "steel"
        thread_lock: "medium"
        holds: ["nose-gear"]
        basis: {kind: "maker", reference: "sheet 4"}
      canopy:
        zone: "nose"
        thread: "M2.5"
        length: 8
        head: "countersunk"
        count: 12
        into: "insert"
      tail-tray:
        zone: "tail"
        thread: "ST2.2"
        length: 9
        head: "self-tapping"
        count: 6
        into: "plywood"
      pump-clamp:
        thread: "M3"
        length: 6
        head: "button"
        into: "aluminium"
        material: "steel-8.8"
    lines:
      up: {medium: "air", colour: "green", function: "gear up", bundle: "floor", from: "valve",
        to: "nose leg", route: ["nose"], protection: "sleeve", clear_of: "the leg as it folds"}
      brake: {medium: "air", colour: "green", function: "brakes", bundle: "floor"}
      feed: {medium: "fuel", colour: "clear", function: "feed"}
    """
AIRCRAFT = """
    id: "hern000001"
    title: "Heron"
    kit: "small-grey.k1tjets001"
    programmes: ["jet.prgjet0001"]
    positions:
      engine: {kind: "turbine", required: true}
      aileron-servo-left: {kind: "servo"}
      aileron-servo-right: {kind: "servo"}
      left-wing: {kind: "wing"}
    joints:
      canopy: {head: "cap", torque: {value: 3, unit: "in·lbf", basis: {kind: "owner"}}}
      spinner:
        thread: "1/4-28"
        length: 30
        head: "cap"
        count: 1
        left_hand: true
        material: "steel-12.9"
        into: "steel"
    """
STOCK = """
    # What lies in the drawers.
    items:
      screw-m3x16-cap: {title: "M3 x 16", count: 7, wanted: 5, where: "second drawer"}
      screw-m4x16-cap: {count: 9}
      insert-m2-5: 4
      glue: {wanted: 1, unit: "bottles"}
    """
FILES = {
    "kits/small-grey.yaml": KIT,
    "aircraft/heron/aircraft.yaml": AIRCRAFT,
    "stock.yaml": STOCK,
}


def make_jointed_fleet(folder: Path, files: Mapping[str, str] | None = None) -> Path:
    """The fleet of the event tests, with joints on heron, in a repository of its own."""
    return make_event_fleet(folder, {**FILES, **(files or {})})


def joints_of(fleet: Path, aircraft: str = "heron") -> dict[str, FittedJoint]:
    """The joints of an aircraft as they are now."""
    return fit_joints(open_fleet(fleet).ledger, aircraft)[0]


def lots_of(fleet: Path, joint: str) -> list[tuple[int | None, str]]:
    """What is fitted at a joint: how many of what."""
    return [(lot.count, lot.text) for lot in joints_of(fleet)[joint].lots]
