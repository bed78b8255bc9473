"""The standing files of the example: fleet, people, kits, aircraft, papers. All invented."""

from __future__ import annotations

from decimal import Decimal

from register.text.nodes import Plain

Data = dict[str, Plain]

FLEET: Data = {
    "schema": 1,
    "name": "Example fleet",
    "home_zone": "CET",
    "season_start": "03-01",
    "season_gap_days": 90,
    "soon": {"days": 14, "flights": 5, "minutes": 60},
}
PRIVATE: Data = {
    "people": {"owner": {"name": "Aldus Pennarow"}, "second": {"name": "Mirre Oskold"}},
    "prices": {"te-120": "1900 with the airframe", "gear-l-5": "140"},
    "spending": [
        "2024-04-06 fleet insurance 96 EUR the year",
        "2024-05-29 heron gear 18 EUR grease and air line",
        "2024-05-22 drover propeller 64 EUR after the stone",
        "2025-01-11 fleet insurance 104 EUR the year",
        "2025-04-30 heron fuel-system 12 EUR stopper",
        "2025-07-24 kestrel engine 410 EUR service with both bearings",
        "2025-09-25 heron gear 46 EUR ring kit",
        "2025-08-13 drover exhaust 9 EUR bolts",
        "2025-10-04 drover exhaust 22 EUR gasket",
        "2025-11-08 bulwark airframe 1180 EUR kit",
        "2026-01-10 fleet insurance 112 EUR the year",
        "2026-02-21 bulwark engine 890 EUR petrol engine, 170 cc",
        "2026-05-04 heron gear 31 EUR brake rings, both sides",
    ],
}


def known(value: int) -> Data:
    """A value the owner is sure of."""
    return {"value": value, "known": "known"}


def about(value: int) -> Data:
    """An estimated value."""
    return {"value": value, "known": "estimated"}


UNKNOWN: Data = {"known": "unknown"}


def _place(kind: str, system: str, required: bool = True) -> Data:
    return {"kind": kind, "required": required, "system": system}


def owner(words: str) -> Data:
    """A figure of the owner's own."""
    return {"kind": "owner", "reference": words}


_SERVOS: Data = {
    "aileron-servo-left": _place("servo", "controls"),
    "aileron-servo-right": _place("servo", "controls"),
    "elevator-servo": _place("servo", "controls"),
}
_GEAR: Data = {
    "main-gear-left": _place("retract", "gear"),
    "main-gear-right": _place("retract", "gear"),
}
KITS: dict[str, Data] = {
    "longreach-90": {
        "title": "Longreach 90, sport jet, 2.1 m",
        "positions": {
            "engine": _place("turbine", "engine"),
            **_SERVOS,
            "brake-servo": _place("servo", "controls", required=False),
            **_GEAR,
            "nose-door": _place("door", "gear-doors", required=False),
            "header-tank": _place("fuel-tank", "fuel", required=False),
        },
        "per_flight": {"landings": 1, "gear-cycles": 1},
    },
    "quillet-12": {
        "title": "Quillet 12, fan jet, 1.6 m",
        "positions": {
            "engine": _place("electric-motor", "engine"),
            "rotor": _place("fan", "engine"),
            "receiver-pack": _place("battery", "radio-power"),
            **_SERVOS,
            **_GEAR,
            "belly-hatch": _place("hatch", "hatches", required=False),
        },
        "per_flight": {"landings": 1, "gear-cycles": 1},
    },
    "bastion-260": {
        "title": "Bastion 260, petrol warbird, 2.6 m",
        "positions": {
            "engine": _place("petrol-engine", "engine"),
            "propeller": _place("propeller", "engine"),
            "rudder-servo": _place("servo", "controls"),
            **_SERVOS,
        },
        "per_flight": {"landings": 1},
    },
    "packmule-320": {
        "title": "Packmule 320, tug, 3.2 m",
        "positions": {
            "engine": _place("petrol-engine", "engine"),
            "propeller": _place("propeller", "engine"),
            "release": _place("tow-release", "towing"),
            "tow-line": _place("tow-line", "towing"),
            "receiver-pack": _place("battery", "radio-power"),
            "ignition-pack": _place("battery", "engine"),
            **_SERVOS,
            "silencer": _place("silencer", "exhaust", required=False),
        },
        "per_flight": {"landings": 1},
    },
}
AIRCRAFT: dict[str, Data] = {
    "heron": {
        "title": "Heron, grey over white",
        "kit": "longreach-90",
        "programmes": ["turbine-jet"],
        "stage": "ready-for-first-flight",
        "opening": {"as_of": "2024-02-17"},
    },
    "kestrel": {
        "title": "Kestrel, red with black tips",
        "kit": "longreach-90",
        "programmes": ["turbine-jet"],
        "stage": "in-service",
        "opening": {
            "as_of": "2024-02-17",
            "counters": {
                "flights": known(63),
                "landings": known(63),
                "minutes": about(480),
                "gear-cycles": about(80),
            },
            "tasks": [
                {
                    "task": "skin-tap",
                    "when": "2023-09-30",
                    "at": {"flights": 51},
                    "known": "estimated",
                }
            ],
        },
        "per_flight": {
            "engine-minutes": {
                "value": Decimal("9.5"),
                "basis": owner("mean of ten flights by the stop watch, 2023"),
            }
        },
    },
    "petrel": {
        "title": "Petrel, blue fan jet",
        "kit": "quillet-12",
        "programmes": ["fan-jet"],
        "stage": "in-service",
        "opening": {
            "as_of": "2024-02-24",
            "counters": {
                "flights": known(28),
                "landings": known(28),
                "minutes": about(125),
                "gear-cycles": known(31),
            },
        },
    },
    "bulwark": {
        "title": "Bulwark, petrol warbird",
        "kit": "bastion-260",
        "programmes": ["petrol-giant"],
        "stage": "on-order",
        "opening": {"as_of": "2025-09-20"},
    },
    "drover": {
        "title": "Drover, tug, bought second-hand",
        "kit": "packmule-320",
        "programmes": ["glider-tug"],
        "stage": "in-service",
        "opening": {
            "as_of": "2024-02-24",
            "counters": {
                "flights": about(184),
                "landings": about(190),
                "minutes": about(1650),
                "tows": UNKNOWN,
            },
        },
        "per_flight": {
            "engine-minutes": {
                "value": 9,
                "basis": owner("stop watch over ten tows, April 2024"),
            }
        },
    },
}


PAPERS: dict[str, Data] = {
    "insurance": {
        "title": "Third-party insurance",
        "kind": "insurance",
        "covers": ["fleet"],
        "valid": [{"from": "2026-01-01", "until": "2026-12-31"}],
        "warn_days": 30,
        "basis": {"kind": "rule", "reference": "the insurer's letter (invented)"},
    },
    "jet-permit": {
        "title": "Permit for turbine models",
        "kind": "permit",
        "covers": ["heron", "kestrel"],
        "valid": [{"from": "2024-06-09", "until": "2026-06-08"}],
        "warn_days": 30,
        "basis": {"kind": "rule", "reference": "the permit itself (invented)"},
    },
    "pilot-competence": {
        "title": "Competence of the pilot",
        "kind": "competence",
        "covers": ["fleet"],
        "valid": [{"from": "2023-04-22", "until": "2028-04-21"}],
        "warn_days": 60,
        "basis": {"kind": "rule", "reference": "the card in the flight box (invented)"},
    },
}
