"""What is asked of throws as typed: which surface or linkage, what if, a shift, a speed."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.entry.naming import match_name
from register.ledger.ledger import Ledger
from register.records.linkages import Linkage
from register.records.surfaces import WAYS
from register.trouble import RegisterError
from register.views.linkage import LinkageState, throws_of, view_linkage
from register.views.linkage_changes import Shift, WhatIf, view_shift, view_what_if
from register.views.throws import AsBuilt, ThrowsView, read_as_built, sheets_of, view_throws
from register.workshop.throws import POSITIVE_WAYS, to_degrees
from register.workshop.travel import sign_of
from register.workshop.what_if import CHANGES, UNITS

_FIGURE = re.compile(r'([+-]?\d{1,6}(?:\.\d{1,6})?) ?(mm|cm|in|"|deg|°|us|µs|turns?)?')
_SPEED = re.compile(r"(\d{1,4}(?:\.\d{1,3})?) ?(m/s|ms|km/h|kmh|kph|mph|kt|kts|knots)?")
#: Metres a second in one of each. The mile is 1609.344 m, the knot 1852 m an hour, by definition.
_SPEEDS = {
    "m/s": 1.0,
    "ms": 1.0,
    "km/h": 1 / 3.6,
    "kmh": 1 / 3.6,
    "kph": 1 / 3.6,
    "mph": 1609.344 / 3600,
    "kt": 1852 / 3600,
    "kts": 1852 / 3600,
    "knots": 1852 / 3600,
}
#: m/s; the estimates are of incompressible flow.
_MOST_SPEED = 150.0
_MILLIMETRES = {"mm": Decimal(1), "cm": Decimal(10), "in": Decimal("25.4"), '"': Decimal("25.4")}
_OTHER_WORDS = {"offset": "horn-offset", "angle": "arm-angle", "pin-to-pin": "rod"}


class ThrowsQuestion(Struct, frozen=True):
    """As typed: names, rate, KEY=VALUE changes, WAY=VALUE of a shift, speed with its unit."""

    surface: str | None = None
    rate: str | None = None
    what_if: tuple[str, ...] = ()
    shift: str | None = None
    speed: str | None = None


def ask_throws(
    ledger: Ledger, aircraft: str, day: date, unread: tuple[str, ...], asked: ThrowsQuestion
) -> ThrowsView | WhatIf | Shift:
    """The answer to what was typed. Raises RegisterError (USAGE) on words it cannot mean."""
    built = read_as_built(ledger, aircraft)
    speed = None if asked.speed is None else read_speed(asked.speed)
    surface, linkage = find_surface(ledger, aircraft, built, asked.surface)
    rate = asked.rate.strip().lower() if asked.rate else None
    if not asked.what_if and asked.shift is None:
        return view_throws(
            ledger,
            aircraft,
            day,
            unread,
            surface=surface,
            linkage=linkage,
            rate=rate,
            speed=speed,
        )
    chosen = _one_linkage(aircraft, built, surface, linkage)
    of = built.surfaces.get(chosen.surface)
    if of is None:
        raise _no_linkage(aircraft, chosen.surface)
    throws = throws_of(
        of, [item.body for item in sheets_of(ledger, aircraft).get(of.name, [])], rate
    )
    state = view_linkage(chosen, of, built.linkages, throws, speed)
    if state.drive is None:
        says = state.unsolved.says if state.unsolved else "cannot be computed"
        mend = state.unsolved.mend if state.unsolved else "give its figures"
        raise RegisterError(f"linkage {chosen.name}: {says}", mend=mend, code="linkage-cannot-tell")
    if asked.shift is not None:
        return _shift(aircraft, state, asked.shift, built)
    changes = tuple(read_change(chosen, text) for text in asked.what_if)
    return view_what_if(
        aircraft, state, built.surfaces, built.linkages, throws, changes, built.problems
    )


def find_surface(
    ledger: Ledger, aircraft: str, built: AsBuilt, typed: str | None
) -> tuple[str | None, str | None]:
    """The surface meant, and the linkage if it was that which was named."""
    if typed is None:
        return None, None
    known = {*built.surfaces, *sheets_of(ledger, aircraft), *built.linkages}
    name = match_name(
        typed,
        known,
        "surface",
        add="" if known else f"write surfaces: in the kit of {aircraft}, or record its throws",
    )
    if name in built.linkages and name not in built.surfaces:
        return built.linkages[name].surface, name
    return name, None


def _one_linkage(
    aircraft: str, built: AsBuilt, surface: str | None, linkage: str | None
) -> Linkage:
    if linkage is not None:
        return built.linkages[linkage]
    found = [item for item in built.linkages.values() if item.surface == surface]
    if surface is None:
        raise RegisterError(
            "which linkage?",
            mend=f"tailsheaf throws {aircraft} SURFACE --what-if arm=12",
            code="usage",
        )
    if not found:
        raise _no_linkage(aircraft, surface)
    if len(found) > 1:
        names = " or ".join(item.name for item in found)
        raise RegisterError(
            f"{surface} has {len(found)} linkages",
            mend=f"name one instead of the surface: {names}",
            code="linkage-which",
        )
    return found[0]


def _no_linkage(aircraft: str, surface: str) -> RegisterError:
    return RegisterError(
        f"no linkage of {surface} is described",
        mend=f"add it under  linkages:  in the kit or in aircraft/{aircraft}/aircraft.yaml",
        code="linkage-unknown",
    )


def read_change(linkage: Linkage, text: str) -> tuple[str, Decimal]:
    """`arm=12`, `hole=2`, `arm-angle=95`, `end-1=0.5`: what changes, and to what."""
    word, equals, value = text.partition("=")
    key = word.strip().lower().replace("_", "-").replace(" ", "-")
    key = _OTHER_WORDS.get(key, key)
    if not equals:
        raise RegisterError(
            f"{text[:40]!r} has no value", mend="write KEY=VALUE, for example arm=12", code="usage"
        )
    if key == "hole":
        return "arm", _radius_of_hole(linkage, value.strip())
    key = match_name(key, [*CHANGES, "hole"], "change")
    if key == "hole":
        return "arm", _radius_of_hole(linkage, value.strip())
    number = _read_figure(key, value, UNITS.get(key, "mm"))
    if number <= 0 and key in ("arm", "horn", "pivots", "rod"):
        raise RegisterError(
            f"{key}: {value.strip()} mm cannot be", mend=f"give {key}=12 in mm", code="length-zero"
        )
    if key.startswith("end-"):
        _check_turned(linkage, int(key[-1]))
    return key, number


def _check_turned(linkage: Linkage, number: int) -> None:
    thread = linkage.rod.ends[number - 1].thread
    lacking = "thread" if thread is None or thread.pitch is None else "pin_to_pin"
    if lacking == "thread" or linkage.rod.pin_to_pin is None:
        raise RegisterError(
            f"what a turn of end {number} does cannot be told: rod.{lacking} is not stated",
            mend=f"write  {lacking}:  under  rod:  of linkage {linkage.name}",
            code="linkage-cannot-tell",
        )


def _radius_of_hole(linkage: Linkage, hole: str) -> Decimal:
    holes = dict(linkage.arm.holes)
    name = match_name(
        hole, holes, "hole", add=f"arm.holes of linkage {linkage.name} gives their radii"
    )
    return holes[name]


def _read_figure(key: str, text: str, unit: str) -> Decimal:
    found = _FIGURE.fullmatch(text.strip().lower())
    if not found:
        raise RegisterError(
            f"{key}: {text.strip()[:20]!r} is not a number",
            mend=f"write {key}=12 in {unit}",
            code="amount-wrong",
        )
    value, given = Decimal(found[1]), (found[2] or unit).rstrip("s")
    sort = {"deg": "degree", "°": "degree", "us": "µ", "µ": "µ", "u": "µ"}.get(given, given)
    if unit == "mm" and sort in _MILLIMETRES:
        return value * _MILLIMETRES[sort]
    if sort != unit.rstrip("s"):
        raise RegisterError(
            f"{key}: {text.strip()} is not in {unit}",
            mend=f"write {key}=12 in {unit}",
            code="units-mixed",
        )
    return value


def read_speed(text: str) -> float:
    """A speed in m/s: "60", "60 m/s", "216 km/h", "134 mph", "117 kt"."""
    found = _SPEED.fullmatch(" ".join(text.lower().split()))
    if not found:
        raise RegisterError(
            f"speed: {text[:30]!r} is not a speed",
            mend="--speed 60 (m/s), 216km/h, 134mph or 117kt",
            code="amount-wrong",
        )
    speed = float(found[1]) * _SPEEDS[found[2] or "m/s"]
    if not 0 < speed <= _MOST_SPEED:
        raise RegisterError(
            f"speed: {speed:.0f} m/s is not between 0 and {_MOST_SPEED:.0f}",
            mend="--speed 60 is 60 m/s; write 216km/h for kilometres an hour",
            code="amount-unlikely",
        )
    return speed


def _shift(aircraft: str, state: LinkageState, text: str, built: AsBuilt) -> Shift:
    """`up=1.5` (mm along the arc at the trailing edge), `down=2deg`: where neutral should go."""
    drive = state.drive
    word, equals, value = text.partition("=")
    way = match_name(word, WAYS, "way")
    found = _FIGURE.fullmatch(value.strip().lower())
    if not equals or not found or found[2] in ("us", "µs", "turn", "turns") or drive is None:
        raise RegisterError(
            f"shift: {text[:30]!r} is not a way and how far",
            mend="--shift up=1.5 (mm at the trailing edge) or --shift down=2deg",
            code="amount-wrong",
        )
    figure = float(found[1])
    if found[2] in ("deg", "°"):
        degrees: float | None = figure
    else:
        chord = float(state.surface.chord) if state.surface.chord is not None else None
        millimetres = figure * float(_MILLIMETRES[found[2] or "mm"])
        degrees = to_degrees(millimetres, "arc", chord)
    if degrees is None:
        raise RegisterError(
            f"{state.surface.name}: the chord is not stated, so mm cannot be told in degrees",
            mend=f"--shift {way}=2deg, or write  chord:  of {state.surface.name}",
            code="chord-not-stated",
        )
    sign = sign_of(drive, way) if way == "open" else 1 if way in POSITIVE_WAYS else -1
    wanted = drive.neutral_deflection + sign * degrees
    return view_shift(aircraft, state, drive, text.strip(), wanted, built.problems)
