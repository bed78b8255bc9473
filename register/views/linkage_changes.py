"""What if: a linkage with other figures; and the turns for a shift of neutral."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.records.linkages import Linkage
from register.records.surfaces import Surface
from register.trouble import Problem
from register.views.linkage import LinkageState, PairState, view_linkage, view_pair
from register.workshop.drive import Drive, view_point
from register.workshop.four_bar import rod_between
from register.workshop.rods import Adjustment, ways_to_change
from register.workshop.what_if import ROD_KEYS, change_linkage, figure_of, keep_neutral


class WhatIf(Struct, frozen=True):
    """A linkage before and after a change; `rod_kept` is false when the rod was set anew.

    `pairs` are the one-way pair it belongs to, as built and with the change.
    """

    aircraft: str
    before: LinkageState
    after: LinkageState
    changed: tuple[tuple[str, float | None, float], ...]
    rod_kept: bool
    pairs: tuple[PairState, PairState] | None
    problems: tuple[Problem, ...]


class Shift(Struct, frozen=True):
    """A wanted shift of neutral: the rod's change, and the ways to bring it about.

    `now` and `wanted` are degrees from flush; `reached` what each way gives, in degrees.
    """

    aircraft: str
    state: LinkageState
    asked: str
    now: float
    wanted: float
    change: float | None
    ways: tuple[Adjustment, ...]
    reached: tuple[float | None, ...]
    problems: tuple[Problem, ...]


def view_what_if(
    aircraft: str,
    before: LinkageState,
    surfaces: dict[str, Surface],
    others: dict[str, Linkage],
    throws: tuple[tuple[str, float], ...],
    changes: tuple[tuple[str, Decimal], ...],
    problems: tuple[Problem, ...] = (),
) -> WhatIf:
    """A linkage as built beside one with other figures.

    Unless the rod is among the changes it is set anew so that neutral stays where it is.
    """
    linkage, surface = before.linkage, before.surface
    changed = change_linkage(linkage, changes)
    kept = any(key in ROD_KEYS for key, _ in changes)
    if not kept and before.drive is not None:
        changed = keep_neutral(changed, surface, before.drive.neutral_deflection)
    after = view_linkage(changed, surface, others, throws, before.speed)
    told = tuple((key, figure_of(linkage, key), float(value)) for key, value in changes)
    pairs = _pairs(linkage, changed, surfaces, others)
    return WhatIf(aircraft, before, after, told, kept, pairs, problems)


def _pairs(
    linkage: Linkage,
    changed: Linkage,
    surfaces: dict[str, Surface],
    others: dict[str, Linkage],
) -> tuple[PairState, PairState] | None:
    """The one-way pair of a linkage on one servo, before and after."""
    mine = surfaces[linkage.surface]
    if not mine.one_way or linkage.servo is None:
        return None
    for other in others.values():
        theirs = surfaces.get(other.surface)
        if other.servo == linkage.servo and other.surface == mine.pair and theirs is not None:
            partner = (other, theirs)
            return view_pair((linkage, mine), partner), view_pair((changed, mine), partner)
    return None


def view_shift(
    aircraft: str,
    state: LinkageState,
    drive: Drive,
    asked: str,
    wanted: float,
    problems: tuple[Problem, ...] = (),
) -> Shift:
    """What brings neutral to `wanted` degrees from flush. `drive` is the state's own."""
    bar = drive.bar
    length = rod_between(
        bar.arm, drive.neutral.arm_angle, bar.horn, drive.horn_of(wanted), bar.pivots
    )
    change = length - bar.rod
    ways = ways_to_change(state.linkage.rod, change)
    reached = tuple(_neutral_with(drive, way.change) for way in ways)
    now = drive.neutral_deflection
    return Shift(aircraft, state, asked, now, wanted, change, ways, reached, problems)


def _neutral_with(drive: Drive, change: float | None) -> float | None:
    """Where neutral stands with a rod so much longer, in degrees from flush."""
    if change is None:
        return None
    longer = replace(drive, bar=replace(drive.bar, rod=drive.bar.rod + change))
    point = view_point(longer, drive.neutral.arm_angle)
    return None if point is None else point.deflection
