"""Part kinds and the counters each gains: a landing counts for gear, not for a pack."""

from __future__ import annotations

_AIR = ("flights", "minutes")
_FRAME = ("flights", "minutes", "landings")
_GEAR = ("flights", "landings", "gear-cycles")
_ENGINE = ("engine-minutes", "engine-starts", "flights", "minutes")

#: kind -> counters it gains from its host or its uses (common practice, no source).
PART_KINDS: dict[str, tuple[str, ...]] = {
    "turbine": _ENGINE,
    "petrol-engine": _ENGINE,
    "engine": _ENGINE,
    "ignition": _ENGINE,
    "ecu": _ENGINE,
    "fuel-pump": _ENGINE,
    "propeller": ("engine-minutes", "flights", "minutes"),
    "electric-motor": _AIR,
    "fan": _AIR,
    "speed-controller": _AIR,
    "servo": _AIR,
    "receiver": _AIR,
    "gyro": _AIR,
    "regulator": _AIR,
    "switch": _AIR,
    "battery": ("charges", "flights", "minutes"),
    "retract": _GEAR,
    "gear-leg": _GEAR,
    "wheel": ("flights", "landings"),
    "brake": ("flights", "landings"),
    "air-tank": ("flights", "gear-cycles"),
    "air-valve": ("flights", "gear-cycles"),
    "fuel-tank": _AIR,
    "wing": _FRAME,
    "tail": _FRAME,
    "fuselage": _FRAME,
    "canopy": _AIR,
    "tow-release": ("tows", "flights"),
    "tow-line": ("tows",),
    "extinguisher": (),
}
#: What a part of any other kind gains.
OTHER_KIND: tuple[str, ...] = (
    "flights",
    "minutes",
    "landings",
    "engine-minutes",
    "gear-cycles",
    "tows",
)
#: Kinds that run: an aircraft with one of these has engine minutes.
ENGINE_KINDS: frozenset[str] = frozenset({"turbine", "petrol-engine", "engine"})


def gains_counter(kind: str, counter: str, own: tuple[str, ...] | None) -> bool:
    """Does a part of this kind gain this counter? `own` is the part's stated list."""
    if own is not None:
        return counter in own
    listed = PART_KINDS.get(kind)
    if listed is not None:
        # A counter that the fleet declared itself counts for every moving part.
        return counter in listed
    return counter in OTHER_KIND
