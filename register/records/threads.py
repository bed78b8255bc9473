"""Threads by name: M3, M3x0.35, #4-40, 1/4-20, and ST2.9 for a self-tapping screw.

Which pitches a size has is ISO 261 (metric coarse and fine series) and ASME B1.1 (UNC, UNF);
the coarse pitches and the inch sizes were read in public copies, the fine metric ones are
from memory. A size that stands in neither list is not known, and nothing is interpolated.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Literal, NamedTuple

System = Literal["metric", "inch", "tapping"]
INCH = Decimal("25.4")
#: No name of a thread is longer.
MOST_LETTERS = 24


class Thread(NamedTuple):
    """One thread. Lengths in mm; `tpi` is threads per inch, for inch threads only.

    A tapping screw has a diameter and neither pitch nor standard figures.
    """

    name: str
    size: str
    system: System
    diameter: Decimal
    pitch: Decimal | None
    tpi: int | None
    is_coarse: bool


#: Size -> pitches in mm, the coarse one first. ISO 261.
_METRIC: dict[str, tuple[str, ...]] = {
    "1": ("0.25", "0.2"),
    "1.2": ("0.25", "0.2"),
    "1.4": ("0.3", "0.2"),
    "1.6": ("0.35", "0.2"),
    "2": ("0.4", "0.25"),
    "2.5": ("0.45", "0.35"),
    "3": ("0.5", "0.35"),
    "3.5": ("0.6", "0.35"),
    "4": ("0.7", "0.5"),
    "5": ("0.8", "0.5"),
    "6": ("1", "0.75"),
    "8": ("1.25", "1", "0.75"),
    "10": ("1.5", "1.25", "1", "0.75"),
    "12": ("1.75", "1.5", "1.25", "1"),
}
#: Sizes that ISO 261 lists as second choice, and inch sizes that are hardly sold.
_SELDOM = ("1.4", "3.5", "#1", "#3", "#5")
#: Size -> threads per inch, the coarse series first. ASME B1.1; #0 has only the fine one.
_INCH: dict[str, tuple[int, ...]] = {
    "#0": (80,),
    "#1": (64, 72),
    "#2": (56, 64),
    "#3": (48, 56),
    "#4": (40, 48),
    "#5": (40, 44),
    "#6": (32, 40),
    "#8": (32, 36),
    "#10": (24, 32),
    "1/4": (20, 28),
    "5/16": (18, 24),
    "3/8": (16, 24),
}
_METRIC_FORM = re.compile(r"m ?(\d+(?:\.\d+)?)(?: ?[x*] ?(\d+(?:\.\d+)?))?", re.ASCII)
_INCH_FORM = re.compile(r"(?:(#|no\.? ?)?(\d{1,2})|(\d)/(\d{1,2}))(?: ?- ?(\d{1,2}))?", re.ASCII)
_TAPPING_FORM = re.compile(r"st ?(\d{1,2}(?:\.\d{1,2})?)", re.ASCII)


class ThreadError(Exception):
    """A thread that cannot be told: why, and the names that may be meant, nearest first."""

    def __init__(self, says: str, names: tuple[str, ...], more: str = ""):
        super().__init__(says)
        self.says = says
        self.names = names
        self.more = more

    @property
    def for_file(self) -> str:
        """As written in a file: quoted, because # begins a comment there."""
        return " or ".join(f'"{name}"' for name in self.names) + self.more

    @property
    def for_line(self) -> str:
        """As typed on a command line: without the #, which begins a comment there too."""
        return " or ".join(name.removeprefix("#") for name in self.names) + self.more


def parse_thread(text: str) -> Thread:
    """The thread a name means. Raises ThreadError."""
    word = " ".join(text[:MOST_LETTERS].lower().replace(",", ".").replace("\u00d7", "x").split())
    found = _METRIC_FORM.fullmatch(word)
    if found:
        return _metric(text, found[1], found[2])
    found = _TAPPING_FORM.fullmatch(word)
    if found and Decimal(found[1]):
        diameter = Decimal(found[1])
        return Thread(f"ST{diameter}", f"ST{diameter}", "tapping", diameter, None, None, False)
    found = _INCH_FORM.fullmatch(word.removesuffix(" unc").removesuffix(" unf"))
    if found and (found[1] or found[3] or found[5]):
        return _inch(text, found)
    raise ThreadError(
        f"{text.strip()[:40]!r} is not the name of a thread",
        ("M3", "M3x0.35", "#4-40", "1/4-20", "ST2.9"),
    )


def _metric(text: str, size: str, pitch: str | None) -> Thread:
    key = format(Decimal(size).normalize(), "f")
    pitches = _METRIC.get(key)
    if pitches is None:
        raise ThreadError(
            f"{text.strip()[:40]!r}: M{key} is none of the sizes M{', M'.join(_METRIC)}",
            (f"M{_nearest(key)}",),
        )
    if pitch is None:
        return _make_metric(key, Decimal(pitches[0]), is_coarse=True)
    given = Decimal(pitch)
    if given in map(Decimal, pitches):
        return _make_metric(key, given, is_coarse=given == Decimal(pitches[0]))
    if given >= max(Decimal(4), Decimal(key)):
        raise ThreadError(
            f"{text.strip()[:40]!r}: {pitch} reads like a length, not a pitch",
            (f"M{key}",),
            f", and the length beside it: {pitch}",
        )
    raise ThreadError(
        f"{text.strip()[:40]!r}: M{key} has no pitch of {pitch} mm",
        (f"M{key}", *(f"M{key}x{known}" for known in pitches[1:])),
    )


def _nearest(size: str) -> str:
    return min(_METRIC, key=lambda known: abs(Decimal(known) - Decimal(size)))


def _make_metric(size: str, pitch: Decimal, *, is_coarse: bool) -> Thread:
    name = f"M{size}" if is_coarse else f"M{size}x{pitch}"
    return Thread(name, f"M{size}", "metric", Decimal(size), pitch, None, is_coarse)


def _inch(text: str, found: re.Match[str]) -> Thread:
    size = f"#{int(found[2])}" if found[2] else f"{found[3]}/{found[4]}"
    known = _INCH.get(size)
    if known is None:
        raise ThreadError(
            f"{text.strip()[:40]!r}: {size} is none of the sizes {', '.join(_INCH)}",
            ("#4-40", "1/4-20"),
        )
    names = tuple(f"{size}-{count}" for count in known)
    if found[5] is None and len(known) > 1:
        raise ThreadError(f"{text.strip()[:40]!r}: {size} has more than one thread", names)
    tpi = int(found[5]) if found[5] else known[0]
    if tpi not in known:
        raise ThreadError(f"{text.strip()[:40]!r}: {size} has no {tpi} threads per inch", names)
    # A numbered size is 0.060 in and 0.013 in for each number.
    inches = (
        Decimal("0.060") + Decimal("0.013") * int(found[2])
        if found[2]
        else Decimal(int(found[3])) / int(found[4])
    )
    return Thread(f"{size}-{tpi}", size, "inch", inches * INCH, INCH / tpi, tpi, tpi == known[0])


def next_larger(thread: Thread) -> Thread | None:
    """The next coarse size of the same system; None above the table or for tapping screws."""
    if thread.system == "metric":
        larger = [
            size for size in _METRIC if Decimal(size) > thread.diameter and size not in _SELDOM
        ]
        return parse_thread(f"M{larger[0]}") if larger else None
    if thread.system == "inch":
        sizes = (f"{size}-{counts[0]}" for size, counts in _INCH.items() if size not in _SELDOM)
        found = (parse_thread(name) for name in sizes)
        return next((item for item in found if item.diameter > thread.diameter), None)
    return None
