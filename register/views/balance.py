"""The balance of one aircraft: scales, tanks, limits, classes, ballast, and what is tried."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import radians, tan

from msgspec import Struct
from msgspec.structs import replace

from register.ledger.ledger import Ledger
from register.records.as_built import read_section
from register.records.balance import Balance, ClassLimit
from register.records.bodies import Install, Remove
from register.records.events import Event
from register.records.values import format_amount
from register.records.workshop_bodies import Modification, Weighing, Weight
from register.workshop.balance import (
    BallastNeed,
    BallastTrial,
    Change,
    ClassVerdict,
    Load,
    State,
    Verdict,
    apply_changes,
    judge_cg,
    judge_class,
    list_ballast,
    list_states,
    list_trials,
)
from register.workshop.weighing import (
    Fault,
    find_faults,
    list_weighings,
    make_item_load,
    make_load,
    net_of,
    rows_to_come,
)

#: Shown wherever masses and limits stand.
CAUTIONS = (
    "Scales, arms and limits are only as good as they were measured; the maker's manual and "
    "your own trimmed flights come first. Weigh again after any change.",
    "A class limit decides who has to inspect, permit and insure. What counts is the rule of "
    "your national body and of the law, in its own words, and the scale they use.",
)


class PointLine(Struct, frozen=True):
    """One scale: kilograms, and the arm and side it stands at."""

    point: str
    reading: Decimal | None
    tare: Decimal
    net: Decimal | None
    arm: Decimal | None
    track: Decimal | None
    as_read: str


class StateLine(Struct, frozen=True):
    """The aircraft with its tanks in one state, and where its centre of gravity lies."""

    state: State
    verdict: Verdict
    side_out: bool | None


class Side(Struct, frozen=True):
    """One way to look at the aircraft: now, finished, or with what is tried."""

    name: str
    lines: tuple[StateLine, ...]


class ClassLine(Struct, frozen=True):
    """A class limit, and where each look at the aircraft lies; crossed since `crossed`."""

    limit: ClassLimit
    verdicts: tuple[ClassVerdict, ...]
    crossed: date | None


class Drift(Struct, frozen=True):
    """What changed since the weighing before: of one state of the tanks."""

    since: date
    event: Event
    state: str
    mass: Fraction | None
    cg: Fraction | None
    side: Fraction | None


class BalanceView(Struct, frozen=True):
    """The answer to `balance`. `layout` None: nothing is stated in the aircraft's file.

    `asked` are the places for ballast as typed, `trials` what a little there would do.
    """

    on: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: str
    title: str
    path: str
    layout: Balance | None
    weighing: Event | None
    points: tuple[PointLine, ...]
    attitude: str
    faults: tuple[Fault, ...]
    sides: tuple[Side, ...]
    classes: tuple[ClassLine, ...]
    ballast: tuple[BallastNeed, ...]
    ballast_places: tuple[str, ...]
    drift: Drift | None
    since: tuple[str, ...]
    no_mass: tuple[str, ...]
    tried: tuple[str, ...]
    cautions: tuple[str, ...]
    asked: tuple[str, ...] = ()
    trials: tuple[BallastTrial, ...] = ()

    @property
    def outside(self) -> tuple[StateLine, ...]:
        """States of the last look that lie outside the limits."""
        lines = self.sides[-1].lines if self.sides else ()
        return tuple(line for line in lines if line.verdict.state in ("ahead", "behind"))


def read_layout(ledger: Ledger, aircraft: str) -> Balance | None:
    """The balance section of an aircraft, as far as it could be read."""
    found: Balance | None = read_section(ledger.records, aircraft, "balance")[0]
    return found


def view_balance(
    ledger: Ledger,
    aircraft: str,
    day: date,
    unread: tuple[str, ...],
    changes: Sequence[Change] = (),
    places: Sequence[tuple[str, Fraction]] = (),
) -> BalanceView:
    """The last weighing, what it means with the tanks empty and full, and what is tried."""
    layout = read_layout(ledger, aircraft)
    weighings = list_weighings(ledger, aircraft)
    last = weighings[-1] if weighings else None
    weights = last.body.weights if last is not None and isinstance(last.body, Weighing) else ()
    faults = find_faults(weights, layout) if last is not None else ()
    load, no_mass = _load_of(last, layout, faults)
    looks = _looks(load, layout, changes) if layout is not None and load is not None else ()
    sides = _sides(looks, layout, is_weighed=last is not None)
    where = [*_ballast_places(layout), *places]
    file = ledger.records.aircraft[aircraft]
    return BalanceView(
        day,
        not unread,
        unread,
        aircraft,
        file.title,
        file.path,
        layout,
        last,
        tuple(_point_line(weight, layout) for weight in weights),
        _attitude_words(last, layout),
        faults,
        sides,
        _classes(weighings, layout, sides),
        _needs(looks, layout, where, is_weighed=last is not None),
        tuple(name for name, _ in where),
        _drift(weighings, layout),
        tuple(_since(ledger, aircraft, last)) if last is not None else (),
        no_mass,
        tuple(change.says for change in changes),
        CAUTIONS,
        tuple(name for name, _ in places),
        _trials(looks, layout, places, is_weighed=last is not None),
    )


def _load_of(
    last: Event | None, layout: Balance | None, faults: tuple[Fault, ...]
) -> tuple[Load | None, tuple[str, ...]]:
    if layout is None or any(fault.is_impossible for fault in faults):
        return None, ()
    if last is not None and isinstance(last.body, Weighing):
        return make_load(last.body, layout), ()
    load, no_mass = make_item_load(layout)
    return (load if load.sheet.rows else None), no_mass


def _looks(load: Load, layout: Balance, changes: Sequence[Change]) -> tuple[tuple[str, Load], ...]:
    found = [("now", load)]
    coming = rows_to_come(layout)
    is_listed = all(row in load.sheet.rows for row in coming)
    if coming and not is_listed:
        sheet = apply_changes(load.sheet, [Change("", coming)])
        found.append(("finished", replace(load, sheet=sheet)))
    if changes:
        base = found[-1][1]
        sheet = apply_changes(base.sheet, changes)
        found.append(("with the change", replace(base, sheet=sheet)))
    return tuple(found)


def _sides(
    looks: tuple[tuple[str, Load], ...], layout: Balance | None, *, is_weighed: bool
) -> tuple[Side, ...]:
    if layout is None:
        return ()
    return tuple(
        Side(name, _lines(load, layout, weighed=is_weighed and name == "now"))
        for name, load in looks
    )


def _needs(
    looks: tuple[tuple[str, Load], ...],
    layout: Balance | None,
    where: Sequence[tuple[str, Fraction]],
    *,
    is_weighed: bool,
) -> tuple[BallastNeed, ...]:
    """Ballast for the last look: what is tried, else what is finished, else what is now."""
    if layout is None or not looks:
        return ()
    weighed = is_weighed and len(looks) == 1
    return list_ballast(looks[-1][1], layout, where, weighed=weighed)


def _trials(
    looks: tuple[tuple[str, Load], ...],
    layout: Balance | None,
    places: Sequence[tuple[str, Fraction]],
    *,
    is_weighed: bool,
) -> tuple[BallastTrial, ...]:
    """What a little ballast does at the places asked for, in the same look."""
    if layout is None or not looks:
        return ()
    return list_trials(looks[-1][1], layout, places, weighed=is_weighed and len(looks) == 1)


def _lines(load: Load, layout: Balance, *, weighed: bool) -> tuple[StateLine, ...]:
    most = layout.lateral_limit
    return tuple(
        StateLine(
            state,
            judge_cg(state, layout),
            None if most is None or state.side is None else abs(state.side) > Fraction(most),
        )
        for state in list_states(load, layout, weighed=weighed)
    )


def _ballast_places(layout: Balance | None) -> tuple[tuple[str, Fraction], ...]:
    if layout is None:
        return ()
    return tuple(
        (item.name, Fraction(item.arm)) for item in layout.ballast.values() if item.arm is not None
    )


def _point_line(weight: Weight, layout: Balance | None) -> PointLine:
    point = layout.points.get(weight.point) if layout is not None else None
    return PointLine(
        weight.point,
        weight.reading,
        weight.tare,
        net_of(weight),
        point.arm if point else None,
        point.track if point else None,
        weight.as_read,
    )


def _attitude_words(last: Event | None, layout: Balance | None) -> str:
    """How it stood, and what that does to the figure where it was not level."""
    if last is None or not isinstance(last.body, Weighing):
        return ""
    attitude = last.body.attitude
    if attitude is None:
        return "attitude not stated; the arms hold for the level aircraft"
    level = layout.level if layout is not None and layout.level is not None else Decimal(0)
    tolerance = layout.level_tolerance if layout is not None else Decimal(0)
    off = attitude - level
    words = f"attitude {format_amount(attitude)}°"
    if abs(off) <= tolerance:
        return words
    shift = abs(100 * tan(radians(float(off))))
    return (
        f"{words}, {format_amount(abs(off))}° from level: not corrected; each 100 mm of height of "
        f"the centre of gravity over the wheels moves the figure by {shift:.1f} mm"
    )


def _classes(
    weighings: tuple[Event, ...],
    layout: Balance | None,
    sides: tuple[Side, ...],
) -> tuple[ClassLine, ...]:
    if layout is None:
        return ()
    before = _states_before(weighings, layout)
    found = []
    for limit in layout.classes:
        verdicts = tuple(
            judge_class(tuple(line.state for line in side.lines), limit.kind, limit.limit)
            for side in sides
        )
        earlier = judge_class(before, limit.kind, limit.limit) if before else None
        was_under = earlier is not None and earlier.state == "under"
        is_over = bool(verdicts) and verdicts[0].state == "over"
        crossed = weighings[-1].moment.day if was_under and is_over else None
        found.append(ClassLine(limit, verdicts, crossed))
    return tuple(found)


def _states_before(weighings: tuple[Event, ...], layout: Balance) -> tuple[State, ...]:
    for event in reversed(weighings[:-1]):
        body = event.body
        if isinstance(body, Weighing) and not _is_impossible(body, layout):
            return list_states(make_load(body, layout), layout)
    return ()


def _is_impossible(body: Weighing, layout: Balance) -> bool:
    return any(fault.is_impossible for fault in find_faults(body.weights, layout))


def _drift(weighings: tuple[Event, ...], layout: Balance | None) -> Drift | None:
    """Against the weighing before: with empty tanks where both tell it, else as weighed alike."""
    if layout is None or len(weighings) < 2:
        return None
    one, two = weighings[-2].body, weighings[-1].body
    if not isinstance(one, Weighing) or not isinstance(two, Weighing):
        return None
    if _is_impossible(one, layout) or _is_impossible(two, layout):
        return None
    then = {state.name: state for state in list_states(make_load(one, layout), layout)}
    now = {state.name: state for state in list_states(make_load(two, layout), layout)}
    names = ["tanks empty", *(["as weighed"] if one.tanks == two.tanks else [])]
    for name in names:
        a, b = then.get(name), now.get(name)
        if a is None or b is None or a.mass is None or b.mass is None:
            continue
        return Drift(
            weighings[-2].moment.day,
            weighings[-2],
            name,
            b.mass - a.mass,
            None if a.cg is None or b.cg is None else b.cg - a.cg,
            None if a.side is None or b.side is None else b.side - a.side,
        )
    return Drift(weighings[-2].moment.day, weighings[-2], "", None, None, None)


def _since(ledger: Ledger, aircraft: str, last: Event) -> list[str]:
    """What was recorded since the weighing and can change it."""
    rank = ledger.rank[last.id]
    found = []
    for event in ledger.events:
        body = event.body
        if ledger.rank[event.id] <= rank:
            continue
        if isinstance(body, Install) and ledger.names.aircraft_name(body.aircraft) == aircraft:
            found.append(f"{event.moment.day}: {body.part.name if body.part else '?'} installed")
        elif isinstance(body, Remove) and event.path.startswith(f"aircraft/{aircraft}/"):
            found.append(f"{event.moment.day}: {body.part.name if body.part else '?'} removed")
        elif (
            isinstance(body, Modification)
            and ledger.names.aircraft_name(body.aircraft) == aircraft
            and body.mass is not None
        ):
            sign = "+" if body.mass > 0 else ""
            found.append(
                f"{event.moment.day}: {sign}{format_amount(body.mass)} kg by {body.text[:50]}"
            )
    return found
