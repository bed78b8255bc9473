"""Words for faults: how it failed, why physically, what lay behind it, and in which system.

Four things that people mix are kept apart: what was seen (the text of a snag), the mode, the
mechanism, and the circumstance. Modes, mechanisms and circumstances follow the ideas of ISO 14224
and EN 13306 in plain words, with additions for models (common practice, no source). Systems go by
the two-digit chapters of the aircraft industry's numbering (ATA 100, as in the FAA's JASC table);
four digits may be written and are kept. A fleet adds words of its own in fleet.yaml; any other
word is kept as written, and `check` says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from msgspec import Struct, field

MODES: tuple[str, ...] = (
    "does-not-operate",
    "operates-late",
    "operates-unasked",
    "stops-in-use",
    "no-output",
    "low-output",
    "intermittent",
    "wrong-reading",
    "leaks-outward",
    "leaks-inward",
    "blocked",
    "jammed",
    "stiff",
    "loose",
    "worn",
    "play",
    "slipped",
    "cracked",
    "broken",
    "bent",
    "detached",
    "lost",
    "overheats",
    "vibrates",
    "noisy",
    "out-of-adjustment",
    "surface-damaged",
    "not-fitted",
    "fitted-wrong",
)
MECHANISMS: tuple[str, ...] = (
    "wear",
    "fatigue",
    "overload",
    "looseness",
    "corrosion",
    "heat",
    "contamination",
    "electrical-open",
    "electrical-short",
    "adhesion-loss",
    "ageing",
    "deformation",
    "vibration",
    "moisture",
)
CIRCUMSTANCES: tuple[str, ...] = (
    "design",
    "kit-or-manufacture",
    "builders-installation",
    "adjustment",
    "handling-or-transport",
    "field-operation",
    "maintenance-action",
    "age-or-storage",
    "unknown",
)
WORDS: dict[str, tuple[str, ...]] = {
    "mode": MODES,
    "mechanism": MECHANISMS,
    "circumstance": CIRCUMSTANCES,
}
#: Where a fleet writes words of its own, in fleet.yaml under `fault_words`.
OWN_LISTS: dict[str, str] = {
    "mode": "modes",
    "mechanism": "mechanisms",
    "circumstance": "circumstances",
}

#: Chapter: its title here. 36 is from memory of the JASC table; 90 is this register's own.
CHAPTERS: dict[str, str] = {
    "11": "markings and paint",
    "22": "gyro, stabiliser",
    "23": "radio link",
    "24": "electrical power",
    "25": "cockpit, equipment",
    "26": "fire protection",
    "27": "flight controls",
    "28": "fuel",
    "29": "hydraulic power",
    "31": "telemetry, logs",
    "32": "landing gear",
    "33": "lights",
    "34": "navigation sensors",
    "36": "pneumatic",
    "51": "structure in general",
    "52": "doors and hatches",
    "53": "fuselage",
    "54": "nacelles, engine bay",
    "55": "tail surfaces",
    "56": "canopy glazing",
    "57": "wings",
    "61": "propeller",
    "71": "power plant",
    "72": "turbine engine",
    "73": "engine fuel and control",
    "74": "ignition",
    "75": "cooling air",
    "76": "engine controls",
    "77": "engine indicating",
    "78": "exhaust",
    "79": "engine oil",
    "80": "starting",
    "85": "piston engine",
    "90": "towing and drops",
}
#: Words in use for systems, and the chapter each means.
_MEANT: dict[str, str] = {
    "11": "markings marking placards paint finish decals decal livery",
    "22": "autoflight auto-flight gyro stabiliser stabilizer",
    "23": "radio communications communication receiver aerial antenna radio-link link",
    "24": "electrical electrical-power electrics power radio-power battery batteries supply",
    "25": "cockpit equipment furnishings scale-detail pilot",
    "26": "fire fire-protection extinguisher",
    "27": "controls flight-controls servos servo linkage linkages aileron elevator rudder flaps",
    "28": "fuel tank tanks fuel-system",
    "29": "hydraulic hydraulics",
    "31": "telemetry indicating recording log instruments",
    "32": "gear landing-gear undercarriage retract retracts brake brakes wheel wheels steering",
    "33": "lights light lighting",
    "34": "navigation airspeed gps",
    "36": "air pneumatic pneumatics air-system",
    "51": "structure structures airframe",
    "52": "doors door hatch hatches canopy gear-doors",
    "53": "fuselage body",
    "54": "nacelle nacelles pylon engine-bay",
    "55": "tail stabilizers stabilisers tailplane fin empennage",
    "56": "windows window glazing",
    "57": "wing wings",
    "61": "propeller propellers prop spinner",
    "71": "cowl cowling engine power-plant powerplant motor fan propulsion",
    "72": "turbine",
    "73": "engine-fuel ecu fuel-pump",
    "74": "ignition spark",
    "75": "cooling",
    "76": "engine-controls throttle",
    "77": "engine-indicating",
    "78": "exhaust muffler tailpipe",
    "79": "oil engine-oil",
    "80": "starting starter",
    "85": "petrol-engine piston-engine",
    "90": "tow towing tow-release drops smoke",
}
SYSTEM_WORDS: dict[str, str] = {
    word: chapter for chapter, words in _MEANT.items() for word in words.split()
}
#: Words of every day, and the word of the lists each means (common practice, no source).
_SAID: dict[str, dict[str, str]] = {
    "mode": {
        "does-not-operate": "dead failed does-not-work not-working inoperative no-go",
        "operates-late": "slow late sluggish delayed",
        "operates-unasked": "by-itself uncommanded runaway moves-by-itself",
        "stops-in-use": "cuts-out quits quit stopped stops flameout flame-out dies died stalled",
        "low-output": "weak low-power down-on-power underpowered",
        "intermittent": "glitch glitches glitching drops-out dropout dropouts flickers sometimes",
        "wrong-reading": "misreads reads-wrong wrong-value",
        "leaks-outward": "drips dripping weeps weeping",
        "leaks-inward": "lets-air-in bubbles sucks-air draws-air",
        "blocked": "clogged plugged clogs kinked",
        "jammed": "jam jams jamming stuck sticks seized seizes seize binds binding",
        "stiff": "tight hard-to-move heavy",
        "loose": "loosened came-loose works-loose slack",
        "worn": "worn-out worn-through chafed chafes frayed rubbed rubs",
        "play": "slop sloppy wobbly wobbles wobble lash backlash free-play",
        "slipped": "slips slipping crept creeps moved",
        "cracked": "crack cracks split splits hairline",
        "broken": "snapped snaps sheared shears fractured torn tore ripped broke stripped burst",
        "bent": "bowed crushed buckled kinking deformed warped twisted",
        "detached": "fell-off came-off off peeled-off unglued debonded lifted lifts delaminated",
        "lost": "missing gone fell-out",
        "overheats": "hot overheating overheated burnt burned melted",
        "vibrates": "vibration vibrating buzzes buzz flutters flutter shakes",
        "noisy": "noise rattles rattle squeaks grinds whines",
        "out-of-adjustment": "misaligned out-of-trim out-of-line "
        "maladjusted not-centred off-centre",
        "surface-damaged": "chip chipped chips scratch scratched scuffed scuff dent dented ding "
        "dinged flaked flaking peeling blistered faded stained",
        "not-fitted": "forgotten left-off left-out",
        "fitted-wrong": "reversed upside-down wrong-way backwards swapped",
    },
    "mechanism": {
        "wear": "worn wearing abrasion chafing",
        "fatigue": "fatigued",
        "overload": "overloaded impact shock hard-landing",
        "looseness": "loose slack",
        "corrosion": "rust rusty corroded",
        "heat": "hot overheating burnt",
        "contamination": "dirt dirty dust debris fod oil-soaked",
        "electrical-open": "open-circuit broken-wire bad-contact",
        "electrical-short": "short short-circuit",
        "adhesion-loss": "unglued debonded glue delamination debonding",
        "ageing": "age aged old aging brittle",
        "deformation": "bent deformed creep",
        "moisture": "wet water damp humidity",
    },
    "circumstance": {
        "kit-or-manufacture": "kit manufacture factory maker",
        "builders-installation": "build builder my-build installation",
        "adjustment": "setup set-up trim",
        "handling-or-transport": "transport handling hangar-rash car storage-rack",
        "field-operation": "flying landing take-off pilot field",
        "maintenance-action": "maintenance repair workshop",
        "age-or-storage": "age storage old",
        "unknown": "not-known dont-know",
    },
}
EVERYDAY: dict[str, dict[str, str]] = {
    key: {word: meant for meant, words in listed.items() for word in words.split()}
    for key, listed in _SAID.items()
}
_NUMBERED = re.compile(r"(\d\d)(?:[-. ]?\d\d)?(?:[-. ].*)?")

#: Counters that faults of a system are counted against: what makes them, not the calendar.
LANDED = frozenset({"32"})
RUN = frozenset({"71", "72", "73", "74", "76", "77", "78", "79", "80", "85"})


class FaultRules(Struct, frozen=True):
    """What a fleet says of its faults: words of its own, and what counts as a repeat.

    So many reports within so many flights, or one within so many flights of a fix (common practice)
    or, where the owner says so, within so many days of it. `basis` says whose figures they are.
    """

    modes: tuple[str, ...] = ()
    mechanisms: tuple[str, ...] = ()
    circumstances: tuple[str, ...] = ()
    systems: dict[str, str] = field(default_factory=dict)
    repeat_reports: int = 3
    repeat_flights: int = 15
    refix_flights: int = 5
    refix_days: int = 0
    basis: str = "common practice, no source"

    def words(self, key: str) -> tuple[str, ...]:
        """Every word known under a key of a snag: the register's, then the fleet's own."""
        own: tuple[str, ...] = getattr(self, OWN_LISTS[key])
        return tuple(dict.fromkeys((*WORDS[key], *own)))

    def chapter_of(self, system: str | None) -> str | None:
        """The two digits a system's word or number means; None where it means none."""
        if system is None:
            return None
        word = plain_word(system)
        numbered = _NUMBERED.fullmatch(word)
        if numbered and (numbered[1] in CHAPTERS or numbered[1] in self.systems.values()):
            return numbered[1]
        return self.systems.get(word) or SYSTEM_WORDS.get(word)

    def system_words(self) -> Iterable[str]:
        """Every word that means a system."""
        return dict.fromkeys((*self.systems, *SYSTEM_WORDS))

    def system_title(self, chapter: str) -> str:
        """A chapter with its title, "32 landing gear", or with the fleet's own word for it."""
        own = next((word for word, number in self.systems.items() if number == chapter), "")
        return f"{chapter} {CHAPTERS.get(chapter, own)}".rstrip()


def plain_word(written: str) -> str:
    """A word as it is compared: lower case, with hyphens."""
    return re.sub(r"[\s_]+", "-", written.strip().lower())
