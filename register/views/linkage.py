"""One linkage: its travel, what its throws take of the servo, its rod, torque; what if."""

from __future__ import annotations

import math

from msgspec import Struct

from register.records.linkages import Linkage
from register.records.surfaces import WAYS, Surface
from register.records.values import UNSTATED
from register.records.workshop_bodies import ThrowSheet
from register.workshop.drive import Drive, Unsolved, build_drive
from register.workshop.hinge_moment import Moment, estimate_moment
from register.workshop.pairs import OneWayPair, compare_pair
from register.workshop.rods import (
    cut_of_pins,
    engaged_now,
    judge_engagement,
    pins_of_cut,
    shortest_cut,
)
from register.workshop.throws import (
    TOLERANCE_MM,
    sheet_degrees,
    to_degrees,
    wanted_degrees,
)
from register.workshop.travel import Sweep, Use, share_used, sweep_travel, use_of

#: Two ways to a length that differ by less are held to agree: half a turn of M3, in mm.
_AGREES = 0.3


class TorqueLine(Struct, frozen=True):
    """Torque at a deflection, newton metres: what the servo brings there, what is estimated."""

    way: str
    degrees: float
    available: float | None
    needed: Moment | None

    @property
    def ratio(self) -> float | None:
        """Available for each newton metre estimated."""
        if self.available is None or self.needed is None or not self.needed.newton_metres:
            return None
        return self.available / self.needed.newton_metres


class RodState(Struct, frozen=True):
    """The rod's three lengths and what they say of each other, in millimetres."""

    pin_to_pin: float
    stated: bool
    from_cut: float | None
    cut: float | None
    cut_wanted: float | None
    shortest: float | None
    says: tuple[str, ...]
    unknown: str | None


class LinkageState(Struct, frozen=True):
    """One linkage as built. `drive` is None, and `unsolved` says why, when it cannot be computed.

    `per_us` is millimetres at the trailing edge for one µs, at neutral and at its coarsest;
    `refused` says why its rod makes no set-up.
    """

    linkage: Linkage
    surface: Surface
    shared_with: tuple[str, ...]
    drive: Drive | None
    unsolved: Unsolved | None
    sweep: Sweep | None
    uses: tuple[Use, ...]
    share: float | None
    per_us: tuple[float, float] | None
    rod: RodState | None
    torque: tuple[TorqueLine, ...]
    speed: float | None
    refused: str | None

    @property
    def open_items(self) -> int:
        """What a set-up must not have: stalls, dead centres, throws out of reach, thin thread."""
        found = int(self.refused is not None)
        if self.drive is None or self.sweep is None:
            cannot = self.unsolved is not None and self.unsolved.code != "not-stated"
            return found + int(cannot)
        found += sum(item.kind != "near-centre" for item in self.sweep.met)
        return found + sum(use.point is None or use.beyond or use.past_stop for use in self.uses)


class PairState(Struct, frozen=True):
    """A one-way pair on one servo, or why it cannot be computed."""

    names: tuple[str, str]
    servo: str
    found: OneWayPair | None
    why: str | None
    tolerance_says: str


def throws_of(
    surface: Surface, sheets: list[ThrowSheet], rate: str | None
) -> tuple[tuple[str, float], ...]:
    """The largest throw each way, in degrees: asked at the rate (or any), else last measured."""
    asked = [
        (way, degrees)
        for wanted in surface.wanted
        if rate in (None, wanted.rate)
        for way in WAYS
        if (degrees := wanted_degrees(wanted, surface, way)) is not None
    ]
    measured = [
        (item.way, degrees)
        for sheet in sheets[-1:]
        for item in sheet.throws
        if (degrees := sheet_degrees(sheet, surface, item.way)) is not None
    ]
    found: dict[str, float] = {}
    for way, degrees in asked or measured:
        found[way] = max(found.get(way, 0.0), degrees)
    return tuple(found.items())


def view_linkage(
    linkage: Linkage,
    surface: Surface,
    others: dict[str, Linkage],
    throws: tuple[tuple[str, float], ...],
    speed: float | None = None,
) -> LinkageState:
    """A linkage computed. `throws` is (way, degrees) that it must make; `speed` in m/s."""
    shared = tuple(
        other.name
        for other in others.values()
        if other.name != linkage.name and linkage.servo and other.servo == linkage.servo
    )
    refused, _ = judge_engagement(linkage.rod, engaged_now(linkage.rod))
    drive = build_drive(linkage, surface)
    if isinstance(drive, Unsolved):
        return LinkageState(
            linkage, surface, shared, None, drive, None, (), None, None, None, (), speed, refused
        )
    sweep = sweep_travel(drive, surface)
    uses = tuple(use_of(drive, surface, way, degrees) for way, degrees in throws if degrees)
    return LinkageState(
        linkage,
        surface,
        shared,
        drive,
        None,
        sweep,
        uses,
        share_used(drive, uses),
        _resolution(surface, sweep, uses),
        _view_rod(linkage, drive),
        tuple(_torque_line(linkage, surface, use, speed) for use in uses),
        speed,
        refused,
    )


def _resolution(
    surface: Surface, sweep: Sweep | None, uses: tuple[Use, ...]
) -> tuple[float, float] | None:
    """At neutral, and the coarsest of the throws that are made (or of the whole travel)."""
    if surface.chord is None or sweep is None or sweep.neutral.per_us is None:
        return None
    points = [use.point for use in uses if use.point is not None] or list(sweep.points)
    found = [point.per_us for point in points if point.per_us is not None]
    chord = float(surface.chord)
    coarsest = max([sweep.neutral.per_us, *found])
    return math.radians(sweep.neutral.per_us) * chord, math.radians(coarsest) * chord


def _view_rod(linkage: Linkage, drive: Drive) -> RodState:
    rod = linkage.rod
    length = drive.bar.rod
    from_cut, wanted = pins_of_cut(rod), cut_of_pins(rod, length)
    shortest = shortest_cut(rod)
    says = list(_manual_says(linkage, length))
    if drive.rod_stated and from_cut is not None and abs(from_cut - length) > _AGREES:
        says.append(
            f"cut length and fittings make {from_cut:.1f} mm from pin to pin, not the "
            f"{length:.1f} mm written down: one of them is wrong"
        )
    cut = float(rod.cut) if rod.cut is not None else wanted
    if shortest is not None and cut is not None and cut < shortest - 1e-6:
        blank = float(rod.blank.length) if rod.blank is not None else 0.0
        least = "no piece" if math.isinf(shortest) else f"nothing under {shortest:.1f} mm"
        says.append(
            f"{cut:.1f} mm cannot be cut from the {blank:.0f} mm rod: threaded at its ends "
            f"only, {least} of it keeps thread enough at both"
        )
    _, unknown = judge_engagement(rod, engaged_now(rod))
    stated = float(rod.cut) if rod.cut is not None else None
    return RodState(
        length, drive.rod_stated, from_cut, stated, wanted, shortest, tuple(says), unknown
    )


def _manual_says(linkage: Linkage, length: float) -> tuple[str, ...]:
    """A manual's figure, as what it means: one number can name two rods."""
    manual, rod = linkage.manual_rod, linkage.rod
    if manual is None:
        return ()
    figure = float(manual.length)
    if manual.means == "pin-to-pin":
        return (f"manual: {figure:.1f} mm pin to pin, {figure - length:+.1f} against the rod",)
    if manual.means == "cut":
        if rod.cut is not None:
            off = figure - float(rod.cut)
            return (f"manual: {figure:.1f} mm cut, {off:+.1f} against the rod as cut",)
        return (f"manual: {figure:.1f} mm cut; the rod's own cut length is not stated",)
    cut = cut_of_pins(rod, figure)
    other = "fittings not stated" if cut is None else f"as pin to pin it would be cut {cut:.1f}"
    return (f"manual: {figure:.1f} mm, not stated whether cut or pin to pin ({other})",)


def _torque_line(linkage: Linkage, surface: Surface, use: Use, speed: float | None) -> TorqueLine:
    available = None
    if linkage.torque is not None and use.point is not None:
        available = float(linkage.torque.newton_metres) * use.point.advantage
    needed = None if speed is None else estimate_moment(surface, use.degrees, speed)
    return TorqueLine(use.way, use.degrees, available, needed)


def view_pair(one: tuple[Linkage, Surface], other: tuple[Linkage, Surface]) -> PairState:
    """A one-way pair on one servo, from closed to open."""
    names, servo = (one[0].name, other[0].name), one[0].servo or ""
    tolerance, says = _tolerance(one[1])
    drives = [build_drive(*item) for item in (one, other)]
    for drive in drives:
        if isinstance(drive, Unsolved):
            return PairState(names, servo, None, f"{drive.name}: {drive.says}", says)
    first, second = (drive for drive in drives if isinstance(drive, Drive))
    ends = _open_and_closed(one[0], first)
    if ends is None or second.rate is None:
        why = "travel not stated: degrees_per_us, closed (or low) and open (or high)"
        return PairState(names, servo, None, why, says)
    if tolerance is None:
        return PairState(names, servo, None, f"chord of {one[1].name} is not stated", says)
    return PairState(names, servo, compare_pair(first, second, ends, tolerance), None, says)


def _open_and_closed(linkage: Linkage, drive: Drive) -> tuple[float, float] | None:
    travel = linkage.travel
    opened = travel.open if travel.open is not None else travel.high
    if drive.rate is None or drive.neutral_pulse is None or opened is None:
        return None
    return drive.neutral_pulse, float(opened)


def _tolerance(surface: Surface) -> tuple[float | None, str]:
    chord = float(surface.chord) if surface.chord is not None else None
    for wanted in surface.wanted:
        if wanted.tolerance is not None:
            degrees = to_degrees(float(wanted.tolerance), wanted.measure, chord)
            unit = "°" if wanted.measure == "degrees" else " mm"
            basis = "basis unknown" if wanted.basis == UNSTATED else wanted.basis.text
            return degrees, f"{wanted.tolerance}{unit} ({basis})"
    found = None if chord is None else to_degrees(TOLERANCE_MM, "arc", chord)
    return found, f"{TOLERANCE_MM:.0f} mm at the trailing edge (common practice, no source)"
