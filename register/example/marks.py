"""Marks on the example's aircraft, and screws that went: where, how large, and what was done."""

from __future__ import annotations

from msgspec import Struct

from register.example.bench import Bench
from register.example.things import Data
from register.text.nodes import Plain


def _spot(along: int, along_from: str, across: int, across_from: str) -> Data:
    return {
        "along": along,
        "along_from": along_from,
        "across": across,
        "across_from": across_from,
    }


class Mark(Struct, frozen=True):
    """One mark; `place` is None where it is only known to be in the zone."""

    key: str
    aircraft: str
    day: str
    text: str
    severity: str
    found: str
    zone: str
    place: Data | None = None
    size: int | None = None
    joint: str | None = None
    rest: str | None = None
    mode: str = "surface-damaged"
    system: str = "11"


MARKS = (
    Mark(
        "heron-fin",
        "heron",
        "2025-06-14",
        "Hairline in the paint at the fin root",
        "monitor",
        "after-flight",
        "fin",
        _spot(60, "trailing edge", 25, "root"),
        14,
        mode="cracked",
        system="55",
    ),
    Mark(
        "heron-nut",
        "heron",
        "2025-08-21",
        "Captive nut spins in the right gear plate",
        "grounding",
        "workshop",
        "main-gear",
        joint="gear-plate-right",
        rest="out",
        mode="loose",
        system="32",
    ),
    Mark(
        "heron-frame",
        "heron",
        "2026-04-12",
        "Canopy frame scuffed",
        "cosmetic",
        "workshop",
        "canopy",
    ),
    Mark(
        "heron-stones",
        "heron",
        "2026-05-02",
        "Stone marks behind the nose leg",
        "cosmetic",
        "after-flight",
        "centre",
        _spot(210, "front", 30, "bottom"),
    ),
    Mark(
        "heron-head",
        "heron",
        "2026-05-09",
        "Screw head sheared while closing",
        "monitor",
        "workshop",
        "tail-cone",
        joint="rear-hatch",
        rest="in-hole",
        mode="broken",
        system="52",
    ),
    Mark(
        "bulwark-filler",
        "bulwark",
        "2026-04-25",
        "Filler low at the left wing fillet",
        "cosmetic",
        "build",
        "left-wing",
        _spot(40, "leading edge", 30, "root"),
        45,
    ),
    Mark(
        "drover-film",
        "drover",
        "2026-04-26",
        "Film lifting at the right tip",
        "monitor",
        "after-flight",
        "right-wing",
        _spot(90, "trailing edge", 60, "tip"),
        70,
        mode="detached",
        system="57",
    ),
)
#: Day, and size in mm of the hairline at heron's fin.
GROWN = (("2025-09-20", 19), ("2026-04-26", 23))


def write_marks(bench: Bench) -> None:
    """Every mark, how one grew, and the fix of the nut with the departure it left."""
    for mark in MARKS:
        body: Data = {
            "aircraft": bench.ref(mark.aircraft),
            "text": mark.text,
            "severity": mark.severity,
            "found": mark.found,
            "zone": mark.zone,
            "joint": mark.joint,
            "broken": 1 if mark.joint else None,
            "rest": mark.rest,
            "place": mark.place,
            "size": mark.size,
            "system": mark.system,
            "mode": mark.mode,
        }
        bench.put(mark.key, f"aircraft/{mark.aircraft}", "snag", mark.day, body)
    for day, size in GROWN:
        grown: dict[str, Plain] = {
            "subject": bench.ref("heron"),
            "snag": bench.keys["heron-fin"],
            "name": "size",
            "value": size,
            "unit": "mm",
        }
        bench.put(f"heron-fin-{day}", "aircraft/heron", "reading", day, grown)
    _mend_nut(bench)


def _mend_nut(bench: Bench) -> None:
    spun = bench.keys["heron-nut"]
    fix: Data = {
        "snags": [spun],
        "action": "Drilled through, new nut let in from above",
        "closes": True,
        "seen": [spun],
        "mending": "larger-thread",
        "draws": [{"item": "screw-m5x20-cap", "count": 1}],
        "minutes": 55,
    }
    bench.put("heron-nut-fix", "aircraft/heron", "fix", "2025-08-22", fix)
    kept: Data = {
        "aircraft": bench.ref("heron"),
        "at": "gear-plate-right",
        "text": "gear-plate-right: 1 of 4 now M5 x 20 cap",
        "manual": "M4 x 20 cap",
        "why": "nut spun in the plate",
        "state": "fixed",
        "fastener": {"joint": "gear-plate-right", "count": 1, "thread": "M5"},
    }
    bench.put("heron-nut-kept", "aircraft/heron", "modification", "2025-08-22", kept)
