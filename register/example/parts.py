"""The parts of the example, and where each stands first. All invented."""

from __future__ import annotations

from msgspec import Struct, field

from register.example.things import UNKNOWN, Data, about, known, owner


class Part(Struct, frozen=True):
    """One part of the example, and where it stands first."""

    kind: str
    title: str
    aircraft: tuple[str, ...] = ()
    position: str | None = None
    assigned: bool = False
    since: str = "2024-02-24"
    more: Data = field(default_factory=dict)


def _opened(as_of: str, **counters: Data) -> Data:
    named: Data = {key.replace("_", "-"): value for key, value in counters.items()}
    return {"opening": {"as_of": as_of, "counters": named}}


def _pack_life(charges: int) -> Data:
    basis = owner("my own figure")
    return {"life": [{"counter": "charges", "limit": charges, "basis": basis}]}


_SERVO = "Servo, 40 kg cm, metal gears"
_SERVO_LIFE: Data = {
    "life": [{"counter": "flights", "limit": 400, "basis": owner("replace before it asks")}]
}
_FLIGHT_PACK = "Flight pack 12S, 5000 mAh"
PARTS: dict[str, Part] = {
    "te-114": Part(
        "turbine",
        "Turbine, 90 N class",
        ("heron",),
        "engine",
        since="2024-02-17",
        more={"serial": "114-0372"},
    ),
    "te-120": Part(
        "turbine",
        "Turbine, 90 N class, bought with kestrel",
        ("kestrel",),
        "engine",
        since="2024-02-17",
        more={
            "serial": "120-0091",
            **_opened("2024-02-17", engine_minutes=about(1740), engine_starts=about(130)),
        },
    ),
    "sv-205": Part("servo", _SERVO, ("heron",), "aileron-servo-left", more=_SERVO_LIFE),
    "sv-206": Part("servo", _SERVO, ("heron",), "aileron-servo-right", more=_SERVO_LIFE),
    "sv-207": Part("servo", _SERVO, ("heron",), "elevator-servo", more=_SERVO_LIFE),
    "sv-208": Part("servo", _SERVO, more=_SERVO_LIFE),
    "sv-215": Part(
        "servo",
        _SERVO,
        ("kestrel",),
        "aileron-servo-left",
        more={**_opened("2024-02-17", flights=known(63)), **_SERVO_LIFE},
    ),
    "sv-216": Part(
        "servo",
        _SERVO,
        ("kestrel",),
        "aileron-servo-right",
        more={**_opened("2024-02-17", flights=known(63)), **_SERVO_LIFE},
    ),
    "sv-217": Part(
        "servo",
        _SERVO,
        ("kestrel",),
        "elevator-servo",
        more={**_opened("2024-02-17", flights=known(63)), **_SERVO_LIFE},
    ),
    "gear-l-1": Part("retract", "Air retract, left", ("heron",), "main-gear-left"),
    "gear-r-1": Part("retract", "Air retract, right", ("heron",), "main-gear-right"),
    "gear-l-2": Part(
        "retract",
        "Air retract, left",
        ("kestrel",),
        "main-gear-left",
        more=_opened("2024-02-17", gear_cycles=about(80), landings=known(63)),
    ),
    "gear-r-2": Part(
        "retract",
        "Air retract, right",
        ("kestrel",),
        "main-gear-right",
        more=_opened("2024-02-17", gear_cycles=about(80), landings=known(63)),
    ),
    "gear-l-5": Part(
        "retract",
        "Air retract, left, second-hand",
        more={
            **_opened("2026-02-14", gear_cycles=UNKNOWN, landings=UNKNOWN),
            "life": [
                {
                    "counter": "gear-cycles",
                    "limit": 400,
                    "basis": {"kind": "maker", "reference": "leaflet in the box (invented)"},
                }
            ],
        },
    ),
    "rx-3": Part(
        "battery",
        "Receiver pack 2S, 4000 mAh, shared",
        ("heron", "kestrel"),
        assigned=True,
        more={
            "made": "2023-05-01",
            **_opened("2024-02-24", charges=known(21)),
            **_pack_life(250),
        },
    ),
    "rx-4": Part("battery", "Receiver pack 2S, 4000 mAh", ("heron",), assigned=True),
    "rx-5": Part(
        "battery",
        "Receiver pack 2S, 4000 mAh",
        ("kestrel",),
        assigned=True,
        more=_opened("2024-02-24", charges=about(35)),
    ),
    "ext-1": Part(
        "extinguisher",
        "Extinguisher, carbon dioxide, 2 kg",
        ("heron", "kestrel"),
        assigned=True,
        more={"made": "2023-11-01"},
    ),
    "em-52": Part("electric-motor", "Fan motor, 5.5 kW", ("petrel",), "engine"),
    "fan-12": Part("fan", "Twelve-blade rotor, 120 mm", ("petrel",), "rotor"),
    "rx-6": Part("battery", "Receiver pack 2S, 2600 mAh", ("petrel",), "receiver-pack"),
    "sv-221": Part("servo", "Servo, 25 kg cm", ("petrel",), "aileron-servo-left"),
    "sv-222": Part("servo", "Servo, 25 kg cm", ("petrel",), "aileron-servo-right"),
    "sv-223": Part("servo", "Servo, 25 kg cm", ("petrel",), "elevator-servo"),
    "gear-l-8": Part("retract", "Electric retract, left", ("petrel",), "main-gear-left"),
    "gear-r-8": Part("retract", "Electric retract, right", ("petrel",), "main-gear-right"),
    "pk-11": Part(
        "battery",
        _FLIGHT_PACK,
        assigned=True,
        more={**_opened("2024-02-24", charges=known(14)), **_pack_life(150)},
    ),
    "pk-12": Part(
        "battery",
        _FLIGHT_PACK,
        assigned=True,
        more={**_opened("2024-02-24", charges=known(14)), **_pack_life(150)},
    ),
    "pk-13": Part("battery", _FLIGHT_PACK, assigned=True, more=_pack_life(150)),
    "pk-14": Part(
        "battery", _FLIGHT_PACK, assigned=True, more={"made": "2025-01-01", **_pack_life(150)}
    ),
    "pe-38": Part(
        "petrol-engine",
        "Petrol engine, 120 cc twin",
        ("drover",),
        "engine",
        more=_opened("2024-02-24", engine_minutes=about(1900), engine_starts=UNKNOWN),
    ),
    "prop-27": Part("propeller", "Propeller 27 x 10, wood", ("drover",), "propeller"),
    "prop-28": Part("propeller", "Propeller 27 x 10, wood"),
    "rel-2": Part(
        "tow-release",
        "Tow release, fuselage top",
        ("drover",),
        "release",
        more=_opened("2024-02-24", tows=UNKNOWN),
    ),
    "tl-4": Part("tow-line", "Tow line 25 m, weak link 300 N", ("drover",), "tow-line"),
    "tl-5": Part("tow-line", "Tow line 25 m, weak link 300 N"),
    "tl-6": Part("tow-line", "Tow line 25 m, weak link 300 N"),
    "rx-7": Part(
        "battery",
        "Receiver pack 2S, 5000 mAh",
        ("drover",),
        "receiver-pack",
        more=_opened("2024-02-24", charges=about(60)),
    ),
    "ig-2": Part("battery", "Ignition pack 2S, 2600 mAh", ("drover",), "ignition-pack"),
    "sv-231": Part("servo", _SERVO, ("drover",), "aileron-servo-left"),
    "sv-232": Part("servo", _SERVO, ("drover",), "aileron-servo-right"),
    "sv-233": Part("servo", _SERVO, ("drover",), "elevator-servo"),
    "pe-41": Part("petrol-engine", "Petrol engine, 170 cc twin"),
    "sv-241": Part("servo", _SERVO, more={"lot": "b-17"}),
    "sv-242": Part("servo", _SERVO, more={"lot": "b-17"}),
}
