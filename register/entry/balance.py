"""Scale readings as typed, and the weighing that is recorded from them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft
from register.entry.naming import match_name
from register.entry.subjects import find_aircraft
from register.records.balance import Balance
from register.records.scalars import NAME_PATTERN
from register.records.units import MASS_UNITS, VOLUME_UNITS, Quantity, parse_quantity
from register.records.values import ZERO, format_amount
from register.records.workshop_bodies import TANKS, Weighing, Weight
from register.text.nodes import Plain
from register.trouble import RegisterError
from register.views.balance import read_layout
from register.workshop.balance import (
    judge_cg,
    judge_class,
    list_states,
    rounded,
)
from register.workshop.weighing import find_faults, make_load, net_of

_LEAST_ATTITUDE, _MOST_ATTITUDE = Decimal(-45), Decimal(45)


class WeighWords(Struct, frozen=True):
    """A weighing as typed: POINT=READING, POINT=TARE (or one for all), tanks, fuel, attitude."""

    weigh: Sequence[str]
    tare: Sequence[str] = ()
    tanks: str | None = None
    fuel: str | None = None
    attitude: str | None = None


def plan_weighing(clerk: Clerk, aircraft: str, words: WeighWords, stamp: Stamp) -> Plan:
    """Record scale readings. Raises RegisterError (USAGE) on readings that cannot be."""
    draft = Draft(clerk, stamp)
    name = find_aircraft(clerk, aircraft)
    layout = read_layout(clerk.ledger, name)
    weights = _read_weights(words, layout)
    for fault in find_faults(weights, layout):
        if fault.is_impossible:
            raise RegisterError(fault.says, mend=fault.mend, code="weighing-impossible")
        draft.warn(f"{fault.says}; {fault.mend}")
    fuel, tanks = _read_fuel(words, layout)
    body: dict[str, Plain] = {
        "aircraft": clerk.ref(("aircraft", name)),
        "weights": [_plain_weight(weight) for weight in weights],
        "tanks": tanks,
        "fuel": fuel,
        "attitude": _read_attitude(words.attitude),
    }
    draft.write(f"aircraft/{name}", "weighing", body)
    draft.touch(("aircraft", name))
    total = sum((net_of(weight) or ZERO for weight in weights), ZERO).quantize(Decimal("0.001"))
    draft.say(
        f"{name} weighed{draft.day}: {format_amount(total)} kg, tanks {tanks.replace('-', ' ')}"
    )
    _say_result(draft, Weighing(None, weights, tanks, fuel, None), layout, name)
    return draft.plan(f"Weigh {name}: {format_amount(total)} kg")


def _plain_weight(weight: Weight) -> dict[str, Plain]:
    found: dict[str, Plain] = {"point": weight.point, "reading": weight.reading}
    if weight.tare:
        found["tare"] = weight.tare
    if weight.as_read:
        found["as_read"] = weight.as_read
    return found


def _read_weights(words: WeighWords, layout: Balance | None) -> tuple[Weight, ...]:
    known = sorted(layout.points) if layout is not None else []
    given = [_split(text, "--weigh", known) for text in words.weigh]
    read = [(point, read_mass(text, f"--weigh {point}")) for point, text in given]
    check_units_alike([(point, amount) for point, amount in read])
    tares = _read_tares(words.tare, known)
    found = []
    for point, amount in read:
        tare = tares.get(point, tares.get("", ZERO))
        as_read = amount.typed if amount.unit not in ("", "kg") else ""
        found.append(Weight(point, amount.value, tare, as_read))
    strange = set(tares) - {"", *(point for point, _ in read)}
    if strange:
        raise RegisterError(
            f"--tare {sorted(strange)[0]}: that point is not weighed here",
            mend=f"give --weigh {sorted(strange)[0]}=… too, or leave its tare out",
            code="tare-alone",
        )
    return tuple(found)


def check_units_alike(read: Sequence[tuple[str, Quantity]]) -> None:
    """Refuse a bare number beside one with a unit: which unit it has cannot be told."""
    bare = [point for point, amount in read if amount.is_bare]
    named = [(point, amount) for point, amount in read if not amount.is_bare]
    if bare and named:
        point, amount = named[0]
        raise RegisterError(
            f"{bare[0]} has no unit and {point} is in {amount.unit}",
            mend=f"write the unit of each, for example {bare[0]}=7.42kg",
            code="units-mixed",
        )


def _read_tares(typed: Sequence[str], known: list[str]) -> dict[str, Decimal]:
    found = {}
    for text in typed:
        if "=" in text:
            point, value = _split(text, "--tare", known)
        else:
            point, value = "", text
        found[point] = read_mass(value, "--tare").value
    return found


def _split(text: str, option: str, known: list[str]) -> tuple[str, str]:
    point, equals, value = text.partition("=")
    if not equals or not value.strip():
        raise RegisterError(
            f"{option} {text[:40]!r} does not say which point shows what",
            mend=f"{option} {known[0] if known else 'nose'}=2.31",
            code="weigh-form",
        )
    word = point.strip().lower().replace(" ", "-")
    if known:
        return match_name(word, known, "point on the scales"), value
    if not NAME_PATTERN.fullmatch(word):
        raise RegisterError(
            f"{point[:40]!r} cannot be the name of a point",
            mend="use a-z, 0-9 and -",
            code="name-wrong",
        )
    return word, value


def read_mass(text: str, what: str) -> Quantity:
    """A mass in kilograms, or in the unit written. Raises RegisterError (USAGE)."""
    found = parse_quantity(text, MASS_UNITS)
    if found is None:
        raise RegisterError(
            f"{what}: {text.strip()[:30]!r} is not a mass this program reads",
            mend="write kilograms, or a unit: 2.31, 2310g, 5.1lb, 5lb 2oz",
            code="amount-wrong",
        )
    if found.value < 0:
        raise RegisterError(
            f"{what}: {text.strip()[:30]} is negative",
            mend="give what the scale shows",
            code="amount-wrong",
        )
    return found


def _read_fuel(words: WeighWords, layout: Balance | None) -> tuple[Decimal | None, str]:
    tanks = match_name(words.tanks, TANKS, "state of the tanks") if words.tanks else "not-stated"
    if words.fuel is None:
        return None, tanks
    if tanks == "empty":
        raise RegisterError(
            "--fuel is given and the tanks are empty",
            mend="leave one of the two out",
            code="tanks-contradict",
        )
    if tanks == "not-stated":
        tanks = "part-full"
    volume = parse_quantity(words.fuel, VOLUME_UNITS)
    if volume is not None and not volume.is_bare:
        density = layout.tank.density if layout is not None and layout.tank is not None else None
        if density is None:
            raise RegisterError(
                f"--fuel {words.fuel}: the density of the fuel is not stated",
                mend="weigh the fuel and give kilograms, or write balance: tank: density: "
                "(kilograms a litre)",
                code="density-unknown",
            )
        return (volume.value * density).quantize(Decimal("0.001")), tanks
    return read_mass(words.fuel, "--fuel").value, tanks


def _read_attitude(text: str | None) -> Decimal | None:
    if text is None:
        return None
    word = text.strip().rstrip("°")
    found = parse_quantity(word, {"deg": Decimal(1)})
    if found is None or not _LEAST_ATTITUDE <= found.value <= _MOST_ATTITUDE:
        raise RegisterError(
            f"--attitude {text[:20]!r} is not a number of degrees between -45 and 45",
            mend="--attitude 0, or degrees nose up",
            code="amount-wrong",
        )
    return found.value


def _say_result(draft: Draft, body: Weighing, layout: Balance | None, aircraft: str) -> None:
    """What follows from the readings, in a line or two; what is crossed is a note."""
    if layout is None:
        draft.say(
            "no arms are stated, so no centre of gravity follows: write balance: in "
            f"aircraft/{aircraft}/aircraft.yaml or in its kit"
        )
        return
    states = list_states(make_load(body, layout), layout)
    for state in states:
        verdict = judge_cg(state, layout)
        if state.cg is None or verdict.state == "not-judged":
            continue
        words = f"{state.name}: {cg_words(state.cg)}"
        if state.percent is not None:
            words += f", {rounded(state.percent, 1)} % of the mean chord"
        draft.say(words)
        if verdict.state in ("ahead", "behind") and verdict.by is not None:
            limit = "forward" if verdict.state == "ahead" else "aft"
            draft.warn(
                f"{state.name}: {rounded(verdict.by, 1)} mm {verdict.state} "
                f"{'of' if verdict.state == 'ahead' else ''} the {limit} limit: "
                f"tailsheaf balance {aircraft}".replace("  ", " ")
            )
    for line in layout.classes:
        if judge_class(states, line.kind, line.limit).state == "over":
            draft.warn(
                f"over {format_amount(line.limit)} kg {line.kind.replace('-', ' ')}: {line.what}"
            )


def cg_words(cg: Fraction) -> str:
    """A centre of gravity from the datum, in words."""
    side = "aft of" if cg >= 0 else "ahead of"
    return f"CG {abs(rounded(cg, 1))} mm {side} the datum"
