"""How the single snags of the example failed, in which system, and how long their mending took."""

from __future__ import annotations

from msgspec import Struct

from register.example.things import Data


class How(Struct, frozen=True):
    """The words of one snag, as far as its owner knows them, and the minutes of its fix."""

    system: str
    mode: str | None = None
    mechanism: str | None = None
    minutes: int | None = None

    @property
    def body(self) -> Data:
        """The keys of the snag."""
        return {"system": self.system, "mode": self.mode, "mechanism": self.mechanism}


HOW: dict[str, How] = {
    "heron-gear-1": How("32", "operates-late", None, 40),
    "heron-gear-2": How("32", "operates-late", None, 35),
    "heron-gear-3": How("32", "operates-late", "wear", 90),
    "heron-chip": How("57", "surface-damaged"),
    "heron-hatch": How("52", "lost", "vibration", 10),
    "heron-strut": How("32", "bent", "overload", 120),
    "heron-brake": How("32", "low-output"),
    "heron-servo": How("27", "intermittent", None, 55),
    "kestrel-brake": How("32", "stiff", "contamination", 45),
    "kestrel-latch": How("52", "worn", "wear", 30),
    "kestrel-bearing": How("72", "noisy", "wear"),
    "kestrel-number": How("11", "detached", "adhesion-loss", 15),
    "kestrel-flap": How("57", "detached", "adhesion-loss"),
    "petrel-rotor": How("71", "surface-damaged", "overload", 60),
    "petrel-light": How("33", "no-output", "electrical-open", 50),
    "petrel-puffed": How("24"),
    "petrel-lip": How("54", "cracked", "fatigue"),
    "petrel-scuff": How("53", "surface-damaged"),
    "drover-tailwheel": How("32", "cracked", "fatigue", 40),
    "drover-release": How("90", "operates-late", None, 50),
    "drover-soot": How("78", "leaks-outward", "heat", 60),
    "drover-cowl": How("71", "lost", "vibration", 10),
    "bulwark-bond": How("57", "detached", "adhesion-loss"),
    "bulwark-horn": How("27", "broken", None, 65),
}
