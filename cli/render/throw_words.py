"""Words for deflections, travels and linkages, shared by screens and JSON."""

from __future__ import annotations

import math

from cli.render.screen import Span, Words
from register.records.linkages import Linkage
from register.records.rods import RodEnd
from register.records.surfaces import Surface
from register.records.values import Basis, format_amount
from register.views.linkage import LinkageState, PairState
from register.workshop.pairs import Cure, OneWayPair
from register.workshop.throws import Difference
from register.workshop.travel import Met, Use

CAUTION = (
    "Computed from the sizes written down; friction, play and bending are left out. Measure on "
    "the aircraft before and after; the maker's manual, your rules and the law come first."
)
TORQUE_CAUTION = (
    "An estimate with no margin in it: flutter, gusts and a servo below its stated torque are not "
    "in it. Follow the maker's and your body's rules for servos; you decide."
)
MORE_THAN_ALLOWED = "!"


def degrees_words(value: float | None) -> str:
    """12.3°, or ? when it cannot be told."""
    return "?" if value is None else f"{value:.1f}°".replace("-0.0°", "0.0°")


def way_words(deflection: float, surface: Surface | None = None) -> str:
    """A deflection with its way: 12.3° up."""
    sideways = surface is not None and is_sideways(surface)
    ways = ("left", "right") if sideways else ("up", "down")
    if abs(deflection) < 0.05:
        return "flush"
    return f"{abs(deflection):.1f}° {ways[0] if deflection > 0 else ways[1]}"


def unit_of(measure: str) -> str:
    """The unit of a measure, after its number."""
    return "°" if measure == "degrees" else " mm"


def basis_words(basis: Basis) -> str:
    """Where a figure comes from; nothing said is said so."""
    return "basis unknown" if basis.kind == "unknown" and not basis.reference else basis.text


def is_sideways(surface: Surface) -> bool:
    """True for a rudder: it goes left and right."""
    return any(
        item.way in ("left", "right")
        for item in (*surface.stops, *(t for w in surface.wanted for t in w.throws))
    )


def amount_words(value: float | None, digits: int = 1) -> str:
    """A figure for a table; empty when there is none."""
    return "" if value is None else f"{value:.{digits}f}"


def off_words(found: Difference | None) -> Words:
    """How far off, marked when it is more than allowed."""
    if found is None:
        return ""
    text = f"{found.amount:+.1f}".replace("-0.0", "+0.0")
    if found.within is False:
        return Span(f"{text}{MORE_THAN_ALLOWED}", "attend")
    return text


def surface_words(surface: Surface) -> str:
    """A surface in one phrase."""
    kind = "one-way " if surface.one_way else ""
    parts = [f"{kind}{surface.kind}"]
    parts.append("chord not stated" if surface.chord is None else f"chord {surface.chord} mm")
    if surface.span is not None:
        parts.append(f"span {surface.span} mm")
    if surface.pair:
        parts.append(f"pair {surface.pair}")
    if surface.on:
        parts.append(f"on {surface.on}")
    if surface.stops:
        stops = ", ".join(f"{item.way} {format_amount(item.value)}°" for item in surface.stops)
        parts.append(f"stops {stops}")
    return ", ".join(parts)


def met_words(item: Met, servo: str | None) -> str:
    """What a travel meets, in one sentence."""
    who = f"the servo ({servo})" if servo else "the servo"
    if item.kind == "stop":
        return (
            f"reaches its stop of {item.stop:g}° {item.way} at {item.pulse:.0f} µs, before the "
            f"end point of {item.end:.0f}: {who} is stalled from there on"
        )
    if item.kind == "binds":
        return (
            f"binds at {item.pulse:.0f} µs, before the end point of {item.end:.0f}: rod and horn "
            f"come into one line, and {who} is stalled from there on"
        )
    if item.kind == "over-centre":
        return (
            f"over-centre at {item.pulse:.0f} µs, before the end point of {item.end:.0f}: arm and "
            "rod come into one line, and beyond it the surface turns back"
        )
    effect = "over-centre" if item.what == "arm" else "binding"
    return (
        f"at {item.end:.0f} µs {item.what} and rod are {item.stop:.0f}° from one line: nearly "
        f"{effect} (warned of under 10°: common practice, no source)"
    )


def use_words(use: Use) -> str:
    """What is wrong with a throw asked of a linkage; empty when nothing is."""
    if use.point is None:
        return "out of reach: the linkage cannot take it there"
    if use.past_stop:
        return "past the mechanical stop"
    return "beyond the servo's end point" if use.beyond else ""


def linkage_words(linkage: Linkage) -> tuple[str, ...]:
    """The sizes of a linkage in two lines; what is not known says so."""
    arm, horn = linkage.arm, linkage.horn
    hole = f" (hole {arm.hole})" if arm.hole else ""
    at = f" at {arm.at_pulse} µs" if arm.at_pulse is not None else ""
    offset = "not stated" if horn.offset is None else f"{horn.offset} mm"
    travel = linkage.travel
    rate = _stated(travel.degrees_per_us, "° for a µs")
    ends = [
        f"{name} {value}"
        for name, value in (
            ("low", travel.low),
            ("mid", travel.mid),
            ("high", travel.high),
            ("closed", travel.closed),
            ("open", travel.open),
        )
        if value is not None
    ]
    return (
        f"arm {_stated(arm.radius, ' mm')}{hole}, {arm.side}, "
        f"{_stated(arm.angle, '°')}{at}; horn {_stated(horn.radius, ' mm')}, {horn.side}, "
        f"offset {offset}, {_stated(horn.angle, '°')}; pivots {_stated(linkage.pivots, ' mm')}",
        f"servo travel {rate}; {', '.join(ends) + ' µs' if ends else 'end points not stated'}",
    )


def _stated(value: object, unit: str) -> str:
    return "not stated" if value is None else f"{value}{unit}"


def rod_words(state: LinkageState) -> str:
    """Pin to pin, cut, and the thread at each end: three figures, kept apart."""
    rod, found = state.linkage.rod, state.rod
    if found is None:
        length = _stated(rod.pin_to_pin, " mm")
    else:
        length = f"{found.pin_to_pin:.1f} mm" + ("" if found.stated else " (not stated: computed)")
    cut = _stated(rod.cut, " mm")
    if rod.cut is None and found is not None and found.cut_wanted is not None:
        cut = f"not stated ({found.cut_wanted:.1f} mm by the fittings)"
    ends = "; ".join(f"end {n} {_end_words(end)}" for n, end in enumerate(rod.ends, start=1))
    return f"rod {length} pin to pin, cut {cut}; {ends}"


def _end_words(end: RodEnd) -> str:
    hand = f" {end.hand}-hand" if end.hand in ("right", "left") else ""
    thread = "thread not stated" if end.thread is None else f"{end.thread.name}{hand}"
    kind = f"{end.kind}, " if end.kind else ""
    depth = "" if end.thread is None else f", {_stated(end.engagement, ' mm')} engaged"
    return f"{kind}{thread}{depth}"


def turns_words(turns: float | None) -> str:
    """1.5 out (longer) or in (shorter)."""
    if turns is None:
        return ""
    if abs(turns) < 0.005:
        return "none"
    number = f"{abs(turns):.2f}".rstrip("0").rstrip(".")
    return f"{number} {'out' if turns > 0 else 'in'}"


def pair_words(state: PairState) -> tuple[str, ...]:
    """Whether rod length alone gives both flush closed and equal open, and what else would."""
    found = state.found
    if found is None:
        return (pair_verdict(state),)
    says = [_pair_built(found)]
    last, worst = found.flush[-1], found.worst(found.flush)
    if last.apart is None:
        says.append("set flush when closed, one of them binds before it is open")
    else:
        says.append(
            f"with both rods set flush when closed ({found.rods[0]:.1f} and {found.rods[1]:.1f} "
            f"mm pin to pin) they open to {abs(last.one or 0):.1f}° and "
            f"{abs(last.other or 0):.1f}°"
            + (
                f"; on the way they differ by up to {abs(worst.apart or 0):.1f}° at "
                f"{worst.pulse:.0f} µs"
                if worst is not None
                else ""
            )
        )
    says.append(pair_verdict(state))
    if not found.both:
        says.extend(f"would do: {cure_words(cure)}" for cure in found.cures)
    return tuple(says)


def pair_verdict(state: PairState) -> str:
    """In one sentence: whether rod length alone gives both flush closed and equal open."""
    found = state.found
    if found is None:
        return f"cannot tell whether they open alike: {state.why}"
    if found.both:
        worst = found.worst(found.flush)
        apart = abs(worst.apart or 0.0) if worst is not None else 0.0
        but = (
            f"; on the way they differ by up to {apart:.1f}°, which no rod length mends"
            if apart > found.tolerance
            else ""
        )
        return (
            "rod length alone gives both flush closed and equal open, within "
            f"{state.tolerance_says}{but}"
        )
    what = "an arm's angle, a hole or a horn" if found.cures else "a horn"
    return (
        "rod length alone cannot give both flush closed and equal open, within "
        f"{state.tolerance_says}: {what} must change"
    )


def _pair_built(found: OneWayPair) -> str:
    closed, last = found.as_built[0], found.as_built[-1]
    worst = found.worst(found.as_built)
    ends = [
        "binds" if value is None else f"{abs(value):.1f}°"
        for value in (closed.one, closed.other, last.one, last.other)
    ]
    words = f"as built: closed {ends[0]} and {ends[1]} from flush, open {ends[2]} and {ends[3]}"
    if worst is not None and worst.apart is not None:
        words += f"; most apart by {abs(worst.apart):.1f}° at {worst.pulse:.0f} µs"
    return words


def cure_words(cure: Cure) -> str:
    """One change that brings both."""
    rod = f"rod {cure.rod:.1f} mm, then at most {cure.worst:.1f}° apart on the way"
    if cure.what == "arm":
        return f"arm of {cure.linkage} {cure.wanted:.1f} mm instead of {cure.now:.1f}; {rod}"
    turn = abs(cure.wanted) - abs(cure.now)
    where = "away from" if turn > 0 else "towards"
    return f"arm of {cure.linkage} turned {abs(turn):.1f}° {where} the surface; {rod}"


def finite(value: float | None, digits: int = 4) -> float | None:
    """A figure for JSON: rounded; None for none and for what has no bound."""
    return None if value is None or math.isinf(value) else round(value, digits)
