"""Recording throws: how far each way, how it was measured, and what that comes to."""

from __future__ import annotations

import re
from decimal import Decimal

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.measures import parse_measured
from register.entry.naming import match_name
from register.entry.subjects import find_aircraft
from register.entry.throw_questions import find_surface
from register.records.surfaces import Surface
from register.records.values import format_amount
from register.records.workshop_bodies import MEASURES, Throw, ThrowSheet
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError
from register.views.throws import AsBuilt, read_as_built, sheets_of, unlisted
from register.workshop.rods import engaged_now, judge_engagement
from register.workshop.throws import (
    Difference,
    chord_of,
    compare_sheets,
    compare_wanted,
    sheet_degrees,
    to_degrees,
)

_VALUE = re.compile(r'(\d{1,4}(?:\.\d{1,3})?) ?(mm|cm|in|"|deg|degrees|°)?')
_MILLIMETRES = {"mm": Decimal(1), "cm": Decimal(10), "in": Decimal("25.4"), '"': Decimal("25.4")}
_ANGLES = ("deg", "degrees", "°")
_MOST_DEGREES = 120
_HUNDREDTH = Decimal("0.01")
#: Degrees that are gone when an angle is told to a tenth.
_NEARLY = 0.05


class ThrowsWish(Struct, frozen=True):
    """What was typed: (way, value with perhaps a unit), and how it was measured."""

    ways: tuple[tuple[str, str], ...]
    measure: str | None = None
    rate: str | None = None
    chord: str | None = None
    set_up: bool = False
    readings: tuple[str, ...] = ()


def plan_throws(
    clerk: Clerk, aircraft: str, surface: str | None, wish: ThrowsWish, stamp: Stamp
) -> Plan:
    """Throws measured on one surface. Raises RegisterError (USAGE) on figures that cannot be,
    (REFUSED) on a set-up whose rods hold too little thread.
    """
    draft = Draft(clerk, stamp)
    name = find_aircraft(clerk, aircraft)
    built = read_as_built(clerk.ledger, name)
    of = _find(clerk, name, built, surface)
    earlier = [sheet.body for sheet in sheets_of(clerk.ledger, name).get(of.name, [])]
    rate = _find_rate(of, earlier, wish.rate)
    values, unit = _read_ways(wish.ways)
    measure, why = _find_measure(of, earlier, rate, wish.measure, unit)
    station = None if wish.chord is None else _read_chord(wish.chord)
    throws = tuple(Throw(way, value) for way, value in values)
    readings = tuple(parse_measured(text, None) for text in wish.readings)
    sheet = ThrowSheet(None, of.name, rate, measure, throws, station, wish.set_up, readings)
    _check_possible(sheet, of)
    if wish.set_up:
        _check_thread(built, of)
    body: dict[str, Plain] = {
        "aircraft": clerk.ref(("aircraft", name)),
        "surface": of.name,
        "rate": rate,
        "measure": measure,
        "throws": {item.way: item.value for item in throws},
        "station": station,
        "sets_up": True if wish.set_up else None,
        "readings": [_plain_reading(draft, item.name, item.value, item.unit) for item in readings]
        or None,
    }
    draft.write(f"aircraft/{name}", "throws", body)
    draft.touch(("aircraft", name))
    _say(draft, name, sheet, of, why)
    _warn_stops(draft, sheet, of)
    _say_compared(draft, built, sheet, of, earlier, clerk, name)
    return draft.plan(f"Record throws of {name}: {of.name}")


def _find(clerk: Clerk, aircraft: str, built: AsBuilt, typed: str | None) -> Surface:
    """The surface meant. Where no file describes any, a new name is taken as it is."""
    if typed is None:
        known = ", ".join([*built.surfaces][:6])
        raise RegisterError(
            "throws of which surface?",
            mend=f"tailsheaf throws {aircraft} SURFACE --up 12 --down 10"
            + (f"   ({known})" if known else ""),
            code="usage",
        )
    word = typed.strip().lower()
    known_names = {*built.surfaces, *sheets_of(clerk.ledger, aircraft)}
    if not known_names:
        check_words(word, "surface")
        if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,62}", word):
            raise RegisterError(
                f"{typed[:40]!r} cannot be the name of a surface",
                mend="use a-z, 0-9 and -, for example aileron-left",
                code="name-wrong",
            )
        return unlisted(word)
    found, _ = find_surface(clerk.ledger, aircraft, built, word)
    return built.surfaces.get(found or word) or unlisted(found or word)


def _find_rate(surface: Surface, earlier: list[ThrowSheet], typed: str | None) -> str:
    known = dict.fromkeys(item.rate for item in surface.wanted)
    if typed is not None:
        word = typed.strip().lower()
        check_words(word, "rate")
        return match_name(word, known, "rate") if known else word
    if "high" in known or not known:
        return "high"
    if len(known) == 1:
        return next(iter(known))
    raise RegisterError(
        f"{surface.name} has the rates {', '.join(known)}",
        mend=f"say which: --rate {next(iter(known))}",
        code="rate-which",
    )


def _read_ways(ways: tuple[tuple[str, str], ...]) -> tuple[list[tuple[str, Decimal]], str | None]:
    """Values by way, all in mm or all in degrees; the unit is None when none was typed."""
    if not ways:
        raise RegisterError(
            "no throw was given", mend="--up 12 --down 10, or --open 55deg", code="usage"
        )
    found, units = [], set()
    for way, text in ways:
        match = _VALUE.fullmatch(text.strip().lower())
        if not match:
            raise RegisterError(
                f"{way}: {text[:20]!r} is not a throw",
                mend=f"--{way} 12, --{way} 12mm or --{way} 12deg, without a sign",
                code="amount-wrong",
            )
        unit = match[2]
        value = Decimal(match[1])
        units.add("degrees" if unit in _ANGLES else "mm" if unit else None)
        found.append((way, value * _MILLIMETRES.get(unit or "mm", Decimal(1))))
    if len(units) > 1 and "degrees" in units:
        raise RegisterError(
            "two units are mixed: " + ", ".join(f"{way} {text}" for way, text in ways),
            mend="give all in mm with --measure, or all in degrees",
            code="units-mixed",
        )
    units.discard(None)
    return found, next(iter(units), None)


def _find_measure(
    surface: Surface, earlier: list[ThrowSheet], rate: str, typed: str | None, unit: str | None
) -> tuple[str, str]:
    """How it was measured, and why that is taken to be so when it was not said."""
    if typed is not None:
        measure = match_name(typed, MEASURES, "measure")
        if unit is not None and (unit == "degrees") != (measure == "degrees"):
            raise RegisterError(
                f"the throws are in {unit}, the measure is {measure}",
                mend="leave --measure out, or give the throws in its unit",
                code="units-mixed",
            )
        return measure, ""
    if unit == "degrees":
        return "degrees", ""
    wanted = surface.wanted_at(rate)
    known = [wanted.measure] if wanted is not None else []
    known.extend(sheet.measure for sheet in reversed(earlier) if sheet.rate == rate)
    taken = [item for item in known if item in MEASURES and (item != "degrees" or unit is None)]
    if taken:
        return taken[0], "as asked" if wanted is not None else "as the time before"
    return "chordal", "taken as chordal; say --measure if it was another"


def _read_chord(text: str) -> Decimal:
    match = _VALUE.fullmatch(text.strip().lower())
    value = Decimal(match[1]) * _MILLIMETRES.get(match[2] or "mm", Decimal(0)) if match else None
    if not value:
        raise RegisterError(
            f"chord: {text[:20]!r} is not a length over 0",
            mend="--chord 62: mm from the hinge line to where it was measured",
            code="length-zero",
        )
    return value


def _check_possible(sheet: ThrowSheet, surface: Surface) -> None:
    """A throw no surface of that chord can make is a slip of the pen."""
    chord = chord_of(sheet, surface)
    for item in sheet.throws:
        angle = to_degrees(float(item.value), sheet.measure, chord)
        if angle is None and chord is None:
            continue
        if angle is None or angle > _MOST_DEGREES:
            shown = f"{format_amount(item.value)}{_unit(sheet.measure)}"
            at = f" on a chord of {chord:g} mm" if chord and sheet.measure != "degrees" else ""
            raise RegisterError(
                f"{item.way}: {shown} {sheet.measure}{at} cannot be",
                mend="look at the figure, the chord (--chord) and --measure",
                code="throw-impossible",
            )


def _check_thread(built: AsBuilt, surface: Surface) -> None:
    for linkage in built.linkages.values():
        if linkage.surface != surface.name:
            continue
        refused, _ = judge_engagement(linkage.rod, engaged_now(linkage.rod))
        if refused is not None:
            raise RegisterError(
                f"not taken as a set-up: linkage {linkage.name}, {refused}",
                mend="record the throws without --set-up; or fit a longer rod, and mend "
                "rod.engagement in the file",
                exit_code=Exit.REFUSED,
                code="thread-short",
            )


def _plain_reading(draft: Draft, name: str, value: Decimal | None, unit: str) -> dict[str, Plain]:
    check_words(name, "name of the reading")
    return {"name": name, "value": value, "unit": unit or None}


def _unit(measure: str) -> str:
    return "°" if measure == "degrees" else " mm"


def _say(draft: Draft, aircraft: str, sheet: ThrowSheet, surface: Surface, why: str) -> None:
    unit = _unit(sheet.measure)
    shown = ", ".join(f"{item.way} {format_amount(item.value)}{unit}" for item in sheet.throws)
    how = "" if sheet.measure == "degrees" else f" {sheet.measure}"
    how += f" ({why})" if why else ""
    set_up = ", as set up" if sheet.sets_up else ""
    draft.say(f"{aircraft} {surface.name}, {sheet.rate} rate: {shown}{how}{set_up}{draft.day}")
    if sheet.measure != "degrees":
        angles = [
            f"{item.way} {angle:.1f}°"
            for item in sheet.throws
            if (angle := sheet_degrees(sheet, surface, item.way)) is not None
        ]
        chord = chord_of(sheet, surface)
        draft.say(
            f"that is {', '.join(angles)} at a chord of {chord:g} mm"
            if angles
            else "in degrees: cannot tell, the chord is not stated (--chord)"
        )
    for reading in sheet.readings:
        value = "?" if reading.value is None else format_amount(reading.value)
        draft.say(f"{reading.name} {value} {reading.unit}".rstrip())


def _warn_stops(draft: Draft, sheet: ThrowSheet, surface: Surface) -> None:
    """Beyond its stop a surface cannot be: one figure or the other is wrong, or the stop gave."""
    for stop in surface.stops:
        angle = sheet_degrees(sheet, surface, stop.way)
        if angle is not None and angle > float(stop.value) + _NEARLY:
            draft.warn(
                f"{stop.way}: {angle:.1f}° is beyond its own stop of {format_amount(stop.value)}°; "
                "recorded as written: look at the figure, the chord, or stops: in the file"
            )


def _say_compared(
    draft: Draft,
    built: AsBuilt,
    sheet: ThrowSheet,
    surface: Surface,
    earlier: list[ThrowSheet],
    clerk: Clerk,
    aircraft: str,
) -> None:
    """What it comes to: against what is asked, the other side, and the set-up."""
    wanted = surface.wanted_at(sheet.rate)
    tolerance = wanted.tolerance if wanted is not None else None
    if wanted is not None:
        _say_off(draft, "asked", compare_wanted(sheet, surface, wanted))
    pair = built.surfaces.get(surface.pair or "")
    sheets = sheets_of(clerk.ledger, aircraft).get(surface.pair or "", [])
    others = [item.body for item in sheets if item.body.rate == sheet.rate]
    if others:
        found = compare_sheets((sheet, surface), (others[-1], pair), tolerance)
        _say_off(draft, surface.pair or "", found)
    set_ups = [item for item in earlier if item.rate == sheet.rate and item.sets_up]
    if set_ups and not sheet.sets_up:
        found = compare_sheets((sheet, surface), (set_ups[-1], surface), tolerance)
        _say_off(draft, "the set-up", found)


def _say_off(draft: Draft, whom: str, found: tuple[Difference, ...]) -> None:
    for item in found:
        if item.within is not False:
            continue
        unit = _unit(item.measure)
        allowed = "" if item.tolerance is None else f", {item.tolerance:.2g}{unit} allowed"
        more = "more" if item.amount > 0 else "less"
        draft.warn(f"{item.way}: {abs(item.amount):.1f}{unit} {more} than {whom}{allowed}")
