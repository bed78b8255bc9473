"""Mass, centre of gravity and ballast, exact in fractions.

The centre of gravity is the sum of mass times arm over the sum of masses (FAA-H-8083-1B,
chapter 3, whose four forms for nose and tail wheels with the datum ahead or behind are this one
sum). Arms in millimetres aft of the datum, sides to the right of the centre line, masses in
kilograms; nothing here rounds.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Context, Decimal
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from register.records.balance import Balance, Tank

ZERO = Fraction(0)
#: Wide enough for any figure that a record can hold, times any other.
_WIDE = Context(prec=100)


class Row(Struct, frozen=True):
    """A mass at an arm and side; None where that is not known."""

    name: str
    mass: Fraction
    arm: Fraction | None
    side: Fraction | None


class Sheet(Struct, frozen=True):
    """Masses that add up to an aircraft."""

    rows: tuple[Row, ...]

    @property
    def mass(self) -> Fraction:
        """Kilograms."""
        return sum((row.mass for row in self.rows), ZERO)

    @property
    def moment(self) -> Fraction | None:
        """Kilogram-millimetres about the datum; None while an arm is not known."""
        return _moment((row.mass, row.arm) for row in self.rows)

    @property
    def side_moment(self) -> Fraction | None:
        """Kilogram-millimetres about the centre line, to the right."""
        return _moment((row.mass, row.side) for row in self.rows)

    @property
    def cg(self) -> Fraction | None:
        """The arm of the centre of gravity; None when it cannot be told."""
        return _over(self.moment, self.mass)

    @property
    def side(self) -> Fraction | None:
        """How far right of the centre line it lies."""
        return _over(self.side_moment, self.mass)


class Change(Struct, frozen=True):
    """What is tried: rows that come (or, with a mass below zero, go), in words."""

    says: str
    rows: tuple[Row, ...]


def apply_changes(sheet: Sheet, changes: Iterable[Change]) -> Sheet:
    """A sheet with changes tried on it, in order."""
    for change in changes:
        for row in change.rows:
            sheet = add_row(sheet, row)
    return sheet


def rounded(value: Fraction, places: int) -> Decimal:
    """For the eye only, half to even: nothing is computed from it."""
    found = round(value, places)
    exact = _WIDE.divide(Decimal(found.numerator), Decimal(found.denominator))
    # Adding nought takes the sign from a nought.
    return _WIDE.add(exact.quantize(Decimal(1).scaleb(-places), context=_WIDE), Decimal(0))


def _moment(pairs: Iterable[tuple[Fraction, Fraction | None]]) -> Fraction | None:
    total = ZERO
    for mass, arm in pairs:
        if arm is None:
            return None
        total += mass * arm
    return total


def _over(moment: Fraction | None, mass: Fraction) -> Fraction | None:
    return None if moment is None or mass <= 0 else moment / mass


def make_row(
    name: str, mass: Decimal | int, arm: Decimal | int | None, side: Decimal | int | None = None
) -> Row:
    """A row of written figures."""
    return Row(
        name,
        Fraction(mass),
        None if arm is None else Fraction(arm),
        None if side is None else Fraction(side),
    )


def add_row(sheet: Sheet, row: Row) -> Sheet:
    """With one mass more; what was added and is taken away again leaves no trace."""
    rows = list(sheet.rows)
    for n, other in enumerate(rows):
        if (other.name, other.arm, other.side) == (row.name, row.arm, row.side):
            total = other.mass + row.mass
            rows[n : n + 1] = [Row(row.name, total, row.arm, row.side)] if total else []
            return Sheet(tuple(rows))
    return Sheet((*rows, row) if row.mass else tuple(rows))


def take_row(sheet: Sheet, row: Row) -> Sheet:
    """With that mass less."""
    return add_row(sheet, Row(row.name, -row.mass, row.arm, row.side))


def percent_chord(cg: Fraction, edge: Decimal, length: Decimal) -> Fraction:
    """Percent of the mean chord behind its leading edge (FAA-H-8083-1B, chapter 3)."""
    return (cg - Fraction(edge)) / Fraction(length) * 100


def find_ballast(mass: Fraction, cg: Fraction, limit: Fraction, arm: Fraction) -> Fraction | None:
    """Ballast at an arm that brings the centre of gravity to a limit.

    W (limit - cg) / (arm - limit) (FAA-H-8083-1B, chapter 3); None where no mass there can do it.
    """
    if arm == limit:
        return None
    needed = mass * (limit - cg) / (arm - limit)
    return needed if needed >= 0 else None


def find_shift(
    mass: Fraction, cg: Fraction, limit: Fraction, start: Fraction, end: Fraction
) -> Fraction | None:
    """The mass to move from one arm to another so that the centre of gravity comes to a limit.

    w/W = change of the centre of gravity over the distance moved; None where that way is wrong.
    """
    if start == end:
        return None
    needed = mass * (limit - cg) / (end - start)
    return needed if needed >= 0 else None


# --- the tanks ---------------------------------------------------------------


class Load(Struct, frozen=True):
    """An aircraft as it stood on the scales: `fuel` is what was in it, None when not known.

    `most` is what it can have been at most, None when even that is not known. `is_part` says
    that there is more to the aircraft than the sheet lists.
    """

    sheet: Sheet
    fuel: Fraction | None
    most: Fraction | None
    is_part: bool = False


class State(Struct, frozen=True):
    """The aircraft with its tanks in one state. Masses between `low` and `high` (None: more)."""

    name: str
    low: Fraction
    high: Fraction | None
    cg: Fraction | None
    side: Fraction | None
    percent: Fraction | None
    why_not: str

    @property
    def mass(self) -> Fraction | None:
        """The mass, where only one is possible."""
        return self.low if self.high == self.low else None


def list_states(load: Load, layout: Balance, *, weighed: bool = True) -> tuple[State, ...]:
    """As weighed, with empty tanks, with full ones, and at take-off where that differs."""
    if load.is_part:
        why = "the listed items are not the whole aircraft"
        part = _sheet_state("listed so far", load.sheet, layout)
        return (replace(part, high=None, why_not=why),)
    tank = layout.tank
    # Weighed empty or full, the row of that state says it all.
    told = tank is not None and load.fuel is not None and load.fuel in (0, tank.full)
    found = [] if told or not weighed else [_sheet_state("as weighed", load.sheet, layout)]
    if tank is None and load.fuel is None:
        # No fuel is spoken of anywhere: an electric aircraft, or one not described yet.
        return tuple(found) or (_sheet_state("as listed", load.sheet, layout),)
    found.append(_with_fuel("tanks empty", load, ZERO, layout))
    full = None if tank is None or tank.full is None else Fraction(tank.full)
    found.append(_with_fuel("tanks full", load, full, layout))
    if tank is not None and tank.taxi is not None and full is not None:
        found.append(_with_fuel("at take-off", load, full - Fraction(tank.taxi), layout))
    return tuple(found)


def _sheet_state(name: str, sheet: Sheet, layout: Balance) -> State:
    cg = sheet.cg
    missing = [row.name for row in sheet.rows if row.arm is None]
    why = f"no arm is stated of {', '.join(missing)}" if missing else ""
    percent = (
        percent_chord(cg, layout.chord.edge, layout.chord.length)
        if cg is not None and layout.chord is not None
        else None
    )
    return State(name, sheet.mass, sheet.mass, cg, sheet.side, percent, why)


def _with_fuel(name: str, load: Load, wanted: Fraction | None, layout: Balance) -> State:
    if load.fuel is not None and wanted is not None:
        return _sheet_state(name, _put_fuel(load.sheet, wanted - load.fuel, layout.tank), layout)
    mass = load.sheet.mass
    if wanted is None:
        # What a full tank holds is not stated: at least as heavy as without it.
        low = mass - (load.most or ZERO) if load.fuel is None else mass - load.fuel
        return State(name, max(low, ZERO), None, None, None, None, "a full tank is not stated")
    low = ZERO if load.most is None else mass - load.most + wanted
    high = mass + wanted
    why = "what was in the tanks when it was weighed is not stated"
    return State(name, max(low, ZERO), high, None, None, None, why)


def _put_fuel(sheet: Sheet, more: Fraction, tank: Tank | None) -> Sheet:
    arm = None if tank is None or tank.arm is None else Fraction(tank.arm)
    side = None if tank is None or tank.side is None else Fraction(tank.side)
    return add_row(sheet, Row("fuel", more, arm, side))


# --- limits ------------------------------------------------------------------


class Verdict(Struct, frozen=True):
    """Where a centre of gravity lies: inside, ahead, behind, no-limits or cannot-tell.

    `by` is how far outside it lies, or how near the nearer limit, in millimetres.
    """

    state: str
    by: Fraction | None
    limit: Fraction | None


def judge_cg(state: State, layout: Balance) -> Verdict:
    """A state of the tanks against the limits that count for it."""
    limits = layout.limits
    if limits is None or (limits.forward is None and limits.aft is None):
        return Verdict("no-limits", None, None)
    if not _counts(state, layout):
        return Verdict("not-judged", None, None)
    if state.cg is None or state.high is None:
        return Verdict("cannot-tell", None, None)
    forward = None if limits.forward is None else Fraction(limits.forward)
    aft = None if limits.aft is None else Fraction(limits.aft)
    if forward is not None and state.cg < forward:
        return Verdict("ahead", forward - state.cg, forward)
    if aft is not None and state.cg > aft:
        return Verdict("behind", state.cg - aft, aft)
    near = [(abs(state.cg - limit), limit) for limit in (forward, aft) if limit is not None]
    return Verdict("inside", *min(near))


def _counts(state: State, layout: Balance) -> bool:
    """Limits stated for one state of the tanks say nothing of another."""
    tanks = layout.limits.tanks if layout.limits else "any"
    if tanks == "empty":
        return state.name in ("tanks empty", "as listed", "listed so far") or layout.tank is None
    if tanks == "full":
        return state.name in ("tanks full", "at take-off")
    return True


class BallastNeed(Struct, frozen=True):
    """So much at a place brings one state of the tanks to a limit. None: it cannot.

    `others_inside` says whether the other states are inside with it, too.
    """

    state: str
    place: str
    arm: Fraction
    mass: Fraction | None
    limit: Fraction
    side: str
    others_inside: bool | None


def list_ballast(
    load: Load, layout: Balance, places: Iterable[tuple[str, Fraction]], *, weighed: bool = True
) -> tuple[BallastNeed, ...]:
    """Ballast for every state that lies outside, at every place that is stated for it."""
    states = list_states(load, layout, weighed=weighed)
    found = []
    for state in states:
        verdict = judge_cg(state, layout)
        if verdict.state not in ("ahead", "behind") or verdict.limit is None or state.cg is None:
            continue
        side = "forward" if verdict.state == "ahead" else "aft"
        for place, arm in places:
            mass = find_ballast(state.low, state.cg, verdict.limit, arm)
            inside = None if mass is None else _all_inside(load, layout, place, mass, arm)
            found.append(BallastNeed(state.name, place, arm, mass, verdict.limit, side, inside))
    return tuple(_worth_saying(found))


def _worth_saying(needs: list[BallastNeed]) -> Iterable[BallastNeed]:
    """Of each place the least that brings every state inside, else whatever helps at all."""
    for place in dict.fromkeys(need.place for need in needs):
        helping = [need for need in needs if need.place == place and need.mass is not None]
        whole = [need for need in helping if need.others_inside]
        yield from sorted(whole, key=lambda need: need.mass or ZERO)[:1] or helping


class BallastTrial(Struct, frozen=True):
    """What `TRIAL` kilograms at a place do: the centre of gravity then, and how far it moved."""

    state: str
    place: str
    arm: Fraction
    cg: Fraction
    moved: Fraction
    verdict: str


#: Kilograms tried at a place where no ballast is needed.
TRIAL = Fraction(1, 10)


def list_trials(
    load: Load, layout: Balance, places: Iterable[tuple[str, Fraction]], *, weighed: bool = True
) -> tuple[BallastTrial, ...]:
    """Of every state whose centre of gravity is known, at every place."""
    before = list_states(load, layout, weighed=weighed)
    found = []
    for place, arm in places:
        sheet = add_row(load.sheet, Row(f"ballast at {place}", TRIAL, arm, None))
        after = list_states(replace(load, sheet=sheet), layout, weighed=weighed)
        for one, two in zip(before, after, strict=True):
            if one.cg is None or two.cg is None:
                continue
            verdict = judge_cg(two, layout).state
            found.append(BallastTrial(one.name, place, arm, two.cg, two.cg - one.cg, verdict))
    return tuple(found)


def _all_inside(load: Load, layout: Balance, place: str, mass: Fraction, arm: Fraction) -> bool:
    sheet = add_row(load.sheet, Row(f"ballast at {place}", mass, arm, None))
    states = list_states(replace(load, sheet=sheet), layout)
    return all(judge_cg(state, layout).state not in ("ahead", "behind") for state in states)


class ClassVerdict(Struct, frozen=True):
    """A mass against a class limit: under, at, over or cannot-tell; `by` is the difference."""

    state: str
    low: Fraction | None
    high: Fraction | None
    by: Fraction | None


#: kind of class limit -> the states of the tanks that it means, the first found counts.
_MEANT = {
    "dry": ("tanks empty",),
    "with-fuel": ("tanks full",),
    "take-off": ("at take-off", "tanks full"),
}


def judge_class(states: tuple[State, ...], kind: str, limit: Decimal) -> ClassVerdict:
    """Which side of a class limit the aircraft lies; at the limit itself it is said so."""
    by_name = {state.name: state for state in states}
    chosen = next((by_name[name] for name in _MEANT[kind] if name in by_name), None)
    if chosen is None:
        # No fuel anywhere: the one mass is all of them.
        chosen = states[0] if states else None
    if chosen is None:
        return ClassVerdict("cannot-tell", None, None, None)
    line = Fraction(limit)
    if chosen.high is not None and chosen.high < line:
        return ClassVerdict("under", chosen.low, chosen.high, line - chosen.high)
    if chosen.low > line:
        return ClassVerdict("over", chosen.low, chosen.high, chosen.low - line)
    if chosen.low == chosen.high == line:
        return ClassVerdict("at", chosen.low, chosen.high, ZERO)
    return ClassVerdict("cannot-tell", chosen.low, chosen.high, None)
