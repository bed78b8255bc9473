"""Weighings of an aircraft: what the scales gave, and readings that cannot be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.balance import Balance
from register.records.events import Event
from register.records.values import format_amount
from register.records.workshop_bodies import Weighing, Weight
from register.workshop.balance import Load, Row, Sheet, make_row

#: No model aircraft weighs more, in kilograms: the upper end of what several national bodies
#: still call one (from memory). More is a slip of the unit.
MOST_KG = Decimal(150)
#: One main wheel carries so many times what the other does: seldom (common practice, no source).
MOST_UNEVEN = Decimal("1.5")
_SIDES = (("-left", "-right"), ("left-", "right-"))


class Fault(Struct, frozen=True):
    """A reading that cannot be, or seldom is. `point` is "" when it is about all of them."""

    point: str
    says: str
    mend: str
    is_impossible: bool


def list_weighings(ledger: Ledger, aircraft: str) -> tuple[Event, ...]:
    """Weighings of an aircraft, in order."""
    events = ledger.about(("aircraft", aircraft))
    return tuple(event for event in events if isinstance(event.body, Weighing))


def net_of(weight: Weight) -> Decimal | None:
    """What stands on the scale without the tare, in kilograms."""
    return None if weight.reading is None else weight.reading - weight.tare


def find_faults(weights: Sequence[Weight], layout: Balance | None) -> tuple[Fault, ...]:
    """Everything that cannot be, or seldom is, about the readings of one weighing."""
    faults = list(_each_alone(weights, layout))
    if layout is not None and layout.points:
        faults.extend(_missing_points(weights, layout))
    if not any(fault.is_impossible for fault in faults):
        faults.extend(_together(weights, layout))
    return tuple(faults)


def _each_alone(weights: Sequence[Weight], layout: Balance | None) -> Iterator[Fault]:
    known = set(layout.points) if layout is not None else set()
    most = MOST_KG if layout is None or layout.heaviest is None else layout.heaviest
    seen: set[str] = set()
    for weight in weights:
        point, net = weight.point, net_of(weight)
        if point in seen:
            yield _impossible(point, f"{point} is given twice", "keep one reading of each point")
        seen.add(point)
        if known and point not in known:
            yield _impossible(
                point,
                f"{point} is no point of this aircraft",
                f"name one of {', '.join(sorted(known))}, or write its arm under balance:",
            )
        if net is None:
            yield _impossible(point, f"{point} has no reading", f'"{point}=2.31"')
        elif net < 0:
            yield _impossible(
                point,
                f"{point}: {format_amount(weight.reading or Decimal(0))} kg less a tare of "
                f"{format_amount(weight.tare)} kg is below zero; the centre of gravity would lie "
                "outside the wheelbase",
                "read the scale and the tare again",
            )
        elif net > most:
            yield _impossible(
                point,
                f"{point}: {format_amount(net)} kg is more than the whole aircraft can weigh "
                f"({format_amount(most)} kg)",
                f"if the scale shows grams, write {point}={format_amount(net)}g",
            )


def _missing_points(weights: Sequence[Weight], layout: Balance) -> Iterator[Fault]:
    given = {weight.point for weight in weights}
    for name in layout.points:
        if name not in given:
            yield _impossible(
                name,
                f"{name} was not weighed, so the mass is not whole",
                f"weigh {name}, too, or take it out of the arms under balance:",
            )


def _together(weights: Sequence[Weight], layout: Balance | None) -> Iterator[Fault]:
    nets = {weight.point: net for weight in weights if (net := net_of(weight)) is not None}
    total = sum(nets.values(), Decimal(0))
    most = MOST_KG if layout is None or layout.heaviest is None else layout.heaviest
    if total > most:
        yield _impossible(
            "",
            f"together {format_amount(total)} kg, more than the aircraft can weigh "
            f"({format_amount(most)} kg)",
            "read the scales and their tares again, or mend balance: heaviest:",
        )
        return
    if total <= 0:
        yield _impossible("", "nothing stands on the scales", "give what each of them shows")
        return
    yield from _outside_base(nets, layout)
    yield from _uneven(nets)


def _outside_base(nets: dict[str, Decimal], layout: Balance | None) -> Iterator[Fault]:
    """The centre of gravity on or outside the line of the wheels: it would tip over."""
    arms = {
        name: point.arm
        for name, point in (layout.points if layout is not None else {}).items()
        if point.arm is not None and name in nets
    }
    if len(arms) != len(nets) or len(set(arms.values())) < 2:
        return
    total = sum(nets.values(), Decimal(0))
    cg = Fraction(sum((nets[name] * arm for name, arm in arms.items()), Decimal(0))) / Fraction(
        total
    )
    low, high = min(arms.values()), max(arms.values())
    if low < cg < high:
        ends = [name for name, arm in arms.items() if arm in (low, high)]
        single = [name for name in ends if list(arms.values()).count(arms[name]) == 1]
        for name in single:
            if nets[name] * 2 > total:
                yield Fault(
                    name,
                    f"{name} carries {format_amount(nets[name])} of {format_amount(total)} kg, "
                    "more than all other points together: were two readings exchanged?",
                    "look at which scale stood where, and weigh again if in doubt",
                    is_impossible=False,
                )
        return
    empty = next((name for name, net in nets.items() if net == 0), "")
    yield _impossible(
        empty,
        f"{empty or 'one point'} carries nothing, so the centre of gravity lies on or outside "
        "the line of the other wheels and the aircraft would tip over",
        "look whether that wheel stood on its scale, and weigh again",
    )


def _uneven(nets: dict[str, Decimal]) -> Iterator[Fault]:
    for name, net in nets.items():
        for left, right in _SIDES:
            other = name.replace(left, right)
            if left not in name or other not in nets:
                continue
            small, large = sorted((net, nets[other]))
            if large > small * MOST_UNEVEN:
                yield Fault(
                    name,
                    f"{name} {format_amount(net)} kg and {other} {format_amount(nets[other])} kg "
                    "contradict each other: one carries more than "
                    f"{format_amount(MOST_UNEVEN)} times the other (common practice, no source)",
                    "level the wings, look at the tares, and weigh again",
                    is_impossible=False,
                )


def _impossible(point: str, says: str, mend: str) -> Fault:
    return Fault(point, says, mend, is_impossible=True)


def make_load(body: Weighing, layout: Balance) -> Load:
    """What stood on the scales, and how much of it was fuel."""
    rows = []
    for weight in body.weights:
        point = layout.points.get(weight.point)
        arm = point.arm if point is not None else None
        rows.append(
            make_row(weight.point, net_of(weight) or Decimal(0), arm, _side_of(layout, weight))
        )
    fuel, most = _fuel_of(body, layout)
    return Load(Sheet(tuple(rows)), fuel, most)


def _side_of(layout: Balance, weight: Weight) -> Decimal | None:
    """Its track; a single nose or tail wheel without one stands on the centre line."""
    point = layout.points.get(weight.point)
    if point is not None and point.track is not None:
        return point.track
    is_single = "left" not in weight.point and "right" not in weight.point
    return Decimal(0) if is_single and any(p.track for p in layout.points.values()) else None


def _fuel_of(body: Weighing, layout: Balance) -> tuple[Fraction | None, Fraction | None]:
    full = layout.tank.full if layout.tank is not None else None
    most = None if full is None else Fraction(full)
    if body.fuel is not None:
        return Fraction(body.fuel), Fraction(body.fuel)
    if body.tanks == "empty":
        return Fraction(0), Fraction(0)
    if body.tanks == "full" and most is not None:
        return most, most
    return None, most


def make_item_load(layout: Balance) -> tuple[Load, tuple[str, ...]]:
    """An aircraft that was never weighed, from its items; and those without a mass."""
    items = layout.items.values()
    rows = tuple(
        make_row(item.name, item.mass, item.arm, item.side)
        for item in items
        if item.mass is not None
    )
    no_mass = tuple(item.name for item in items if item.mass is None)
    is_part = not layout.items_whole or bool(no_mass)
    fuel = None if layout.tank is None else Fraction(0)
    return Load(Sheet(rows), fuel, fuel, is_part), no_mass


def rows_to_come(layout: Balance) -> tuple[Row, ...]:
    """Items that are not aboard yet and have a mass."""
    return tuple(
        make_row(item.name, item.mass, item.arm, item.side)
        for item in layout.items.values()
        if item.to_come and item.mass is not None
    )
