"""Faults that come again in the example: what was found when, and what was done. All invented.

One grows worse, one was ended by a fix, one is too seldom to tell, one is of the whole kit.
"""

from __future__ import annotations

from msgspec import Struct

from register.example.bench import Bench
from register.example.things import Data
from register.text.nodes import Plain


class Mend(Struct, frozen=True):
    """A fix of all that was found since the one before. `minutes` are those at the bench."""

    day: str
    action: str
    minutes: int
    cause: str | None = None


class Again(Struct, frozen=True):
    """One fault of one aircraft over the seasons: each finding in its words, with its day."""

    key: str
    aircraft: str
    system: str
    position: str
    mode: str
    severity: str
    found: str
    texts: tuple[str, ...]
    #: Days of finding; one written twice brought two. The texts go round.
    days: tuple[str, ...]
    mends: tuple[Mend, ...]
    zone: str | None = None
    mechanism: str | None = None
    circumstance: str | None = None


WORSE = Again(
    "silencer",
    "drover",
    "78",
    "silencer",
    "loose",
    "deferrable",
    "after-flight",
    (
        "Silencer bolt loose, turned by hand",
        "Two silencer bolts loose",
        "Silencer bolt loose again",
        "Silencer moves at the flange",
    ),
    (
        *("2024-08-25", "2025-04-20", "2025-06-08", "2025-07-06", "2025-07-27", "2025-08-10"),
        *("2025-09-07", "2025-09-28", "2026-04-12", "2026-04-19", "2026-04-26", "2026-04-26"),
        *("2026-05-10", "2026-05-10"),
    ),
    (
        Mend("2024-08-28", "Bolt tightened", 10),
        Mend("2025-04-23", "Bolts tightened, all four", 15),
        Mend("2025-06-11", "Spring washers under all four", 25),
        Mend("2025-07-09", "Spring washers pressed flat, new ones", 25, "they go soft hot"),
        Mend("2025-07-30", "Bolts tightened hot", 20, "the flange settles when hot"),
        Mend("2025-08-13", "New bolts, thread cleaned", 35, "threads worn"),
        Mend("2025-09-10", "Bolts tightened hot", 20, "the gasket has gone thin"),
        Mend("2025-10-04", "New gasket", 50, "the old one was burnt through at one bolt"),
        Mend("2026-04-15", "Bolts tightened hot", 20, "the new gasket has settled"),
        Mend("2026-04-22", "Longer bolts with nuts behind", 45, "thread in the head worn"),
        Mend("2026-04-29", "Nuts changed for locking ones", 30, "plain nuts shake off"),
        Mend("2026-05-13", "Second bracket to the firewall", 70, "the silencer swings at idle"),
    ),
    "nose",
    "vibration",
)
ENDED = Again(
    "nose-door",
    "heron",
    "52",
    "nose-door",
    "out-of-adjustment",
    "deferrable",
    "after-flight",
    (
        "Nose door stands open 5 mm after the gear comes up",
        "Nose door catches the leg",
        "Nose door does not close",
    ),
    (
        *("2024-03-30", "2024-04-13", "2024-04-13", "2024-05-04", "2024-05-25", "2024-06-08"),
        *("2024-06-29", "2024-06-29", "2024-07-20", "2024-08-10", "2024-08-10", "2024-09-07"),
        *("2024-09-07", "2024-10-05", "2025-03-29", "2025-04-12", "2025-04-26", "2025-04-26"),
        *("2025-05-03", "2025-05-17", "2025-05-17", "2025-05-31"),
    ),
    (
        Mend("2024-04-17", "Horn set again", 15),
        Mend("2024-05-28", "Horn set again, screw locked", 20),
        Mend("2024-07-24", "Longer screw in the horn", 15, "the screw finds no hold"),
        Mend("2024-08-14", "Link shortened by a turn", 20, "the door bends at speed"),
        Mend("2024-10-12", "Hinge pin changed", 40, "pin worn on one side"),
        Mend("2025-04-01", "Horn set again, wood hardened", 30, "soft wood under the horn"),
        Mend("2025-05-07", "Larger wood screw in the horn", 20, "soft wood under the horn"),
        Mend(
            "2025-06-05",
            "Horn bolted through with a plate behind it",
            75,
            "the screw pulled in soft wood; nothing held it but the filler",
        ),
    ),
    "nose",
    "looseness",
    "kit-or-manufacture",
)
SELDOM = Again(
    "hatch-magnet",
    "petrel",
    "52",
    "belly-hatch",
    "loose",
    "deferrable",
    "after-flight",
    ("Magnet of the belly hatch loose", "Belly hatch stands off at one corner"),
    ("2025-07-26", "2025-09-20", "2026-04-18", "2026-05-02", "2026-05-09"),
    (
        Mend("2025-07-30", "Magnet glued in again", 15),
        Mend("2025-09-24", "Seat roughened, magnet glued in", 20),
        Mend("2026-04-22", "New magnet, a size larger", 25, "the old one had lost a corner"),
        Mend("2026-05-06", "Glue of another kind", 20, "the glue stays soft when warm"),
        Mend("2026-05-12", "Second magnet beside it", 30, "one magnet is not enough"),
    ),
    mechanism="vibration",
)
OF_THE_KIT = (
    Again(
        "heron-stopper",
        "heron",
        "28",
        "header-tank",
        "leaks-outward",
        "grounding",
        "before-flight",
        ("Stopper of the header tank weeps", "Wet below the header tank"),
        ("2024-06-29", "2025-04-26", "2025-09-13"),
        (
            Mend("2024-07-03", "Stopper turned and tightened", 30),
            Mend("2025-04-30", "New stopper", 45),
            Mend("2025-09-17", "New stopper, neck smoothed", 60, "a seam in the neck of the tank"),
        ),
        "centre",
        "ageing",
        "kit-or-manufacture",
    ),
    Again(
        "kestrel-stopper",
        "kestrel",
        "28",
        "header-tank",
        "leaks-outward",
        "grounding",
        "before-flight",
        ("Fuel at the stopper of the header tank", "Header tank weeps at its stopper"),
        ("2024-07-28", "2025-06-29", "2026-04-12"),
        (
            Mend("2024-08-01", "New stopper", 40),
            Mend("2025-07-02", "Stopper turned, clamp added", 35),
            Mend("2026-04-15", "New stopper, neck smoothed", 60, "a seam in the neck, as in heron"),
        ),
        "centre",
        "ageing",
        "kit-or-manufacture",
    ),
)
AGAIN = (WORSE, ENDED, SELDOM, *OF_THE_KIT)


def write_faults(bench: Bench) -> None:
    """Every finding, and every fix of what was open then."""
    for fault in AGAIN:
        ids = [(day, _find(bench, fault, n, day)) for n, day in enumerate(fault.days)]
        since = ""
        for n, mend in enumerate(fault.mends):
            snags: list[Plain] = [id_ for day, id_ in ids if since <= day < mend.day]
            body: dict[str, Plain] = {
                "snags": snags,
                "action": mend.action,
                "closes": True,
                "cause": mend.cause,
                "seen": [*snags],
                "minutes": mend.minutes,
            }
            key = f"{fault.key}-fix-{n}"
            bench.put(key, f"aircraft/{fault.aircraft}", "fix", mend.day, body)
            since = mend.day


def _find(bench: Bench, fault: Again, n: int, day: str) -> str:
    body: Data = {
        "aircraft": bench.ref(fault.aircraft),
        "position": fault.position,
        "text": fault.texts[n % len(fault.texts)],
        "severity": fault.severity,
        "found": fault.found,
        "zone": fault.zone,
        "system": fault.system,
        "mode": fault.mode,
        "mechanism": fault.mechanism,
        "circumstance": fault.circumstance,
    }
    clock = f"17:{10 + n:02d}" if fault.found == "after-flight" else f"08:{10 + n:02d}"
    return bench.put(
        f"{fault.key}-{n}", f"aircraft/{fault.aircraft}", "snag", day, body, clock=clock
    )
