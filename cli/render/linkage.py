"""One linkage on the screen: sizes, travel, what its throws take, rod, torque."""

from __future__ import annotations

import math

from cli.render.screen import Column, Screen, Span, Words
from cli.render.throw_words import (
    TORQUE_CAUTION,
    amount_words,
    basis_words,
    degrees_words,
    linkage_words,
    met_words,
    pair_words,
    rod_words,
    use_words,
)
from register.records.linkages import ServoTorque
from register.records.values import format_amount
from register.views.linkage import LinkageState, PairState, TorqueLine
from register.workshop.drive import Point
from register.workshop.hinge_moment import MOST_THIN
from register.workshop.travel import Use


def show_linkage(screen: Screen, state: LinkageState) -> None:
    """Everything known of a linkage, and what it comes to."""
    linkage = state.linkage
    servo = f", servo {linkage.servo}" if linkage.servo else ", servo not stated"
    also = f", which also drives {', '.join(state.shared_with)}" if state.shared_with else ""
    screen.line([Span(f"linkage {linkage.name}", "strong"), f"{servo}{also}"], 0, 2)
    for words in (*linkage_words(linkage), rod_words(state)):
        screen.line(words, 1, 2)
    if state.unsolved is not None:
        screen.line([Span(" CANNOT TELL ", "unsure"), f" {state.unsolved.says}"], 1, 2)
        screen.line(state.unsolved.mend, 3)
        _thread(screen, state)
        return
    _rod(screen, state)
    _met(screen, state)
    _travel(screen, state)
    _uses(screen, state)
    show_torque(screen, state)
    if state.drive is not None:
        for words in state.drive.assumptions:
            screen.line(Span(f"taken: {words}", "faint"), 1, 2)
    screen.line(Span(f"{linkage.place.file}:{linkage.place.line}", "faint"), 1)


def _rod(screen: Screen, state: LinkageState) -> None:
    rod = state.rod
    if rod is None:
        return
    for words in rod.says:
        screen.line(words, 1, 2)
    _thread(screen, state)
    if not state.refused and rod.unknown:
        screen.line(rod.unknown, 1, 2)


def _thread(screen: Screen, state: LinkageState) -> None:
    if state.refused:
        screen.line([Span(" NO SET-UP ", "stop"), f" {state.refused}"], 1, 2)


def _met(screen: Screen, state: LinkageState) -> None:
    for item in state.sweep.met if state.sweep is not None else ():
        word = {
            "stop": " STALLS ",
            "binds": " BINDS ",
            "over-centre": " OVER-CENTRE ",
            "near-centre": " NEAR CENTRE ",
        }[item.kind]
        meaning = "attend" if item.kind == "near-centre" else "stop"
        screen.line(
            [
                Span(word, "stop" if meaning == "stop" else "attend"),
                f" {met_words(item, state.linkage.servo)}",
            ],
            1,
            2,
        )


def _travel(screen: Screen, state: LinkageState) -> None:
    if state.sweep is None or len(state.sweep.points) < 2:
        return
    screen.line("travel; torque: at the surface for 1 at the servo, friction left out", 1)
    columns = (
        Column("µs", right=True),
        Column("arm", right=True),
        Column("surface", right=True),
        Column("at edge", right=True),
        Column("mm for a µs", right=True),
        Column("torque", right=True),
        Column("rod to arm", right=True),
        Column("rod to horn", right=True),
    )
    screen.table(columns, [_point_row(state, point) for point in state.sweep.points], indent=2)


def _point_row(state: LinkageState, point: Point) -> tuple[Words, ...]:
    chord = state.surface.chord
    edge = step = None
    if chord is not None:
        edge = math.radians(point.deflection) * float(chord)
        step = None if point.per_us is None else math.radians(point.per_us) * float(chord)
    return (
        amount_words(point.pulse, 0),
        degrees_words(point.arm_turn),
        degrees_words(point.deflection),
        "?" if edge is None else f"{edge:.1f}".replace("-0.0", "0.0"),
        "?" if step is None else f"{step:.3f}",
        gain_words(point.advantage),
        f"{point.rod_to_arm:.0f}°",
        f"{point.rod_to_horn:.0f}°",
    )


def gain_words(gain: float) -> str:
    """Torque at the surface for one at the servo."""
    return "no bound" if gain > 99 else f"{gain:.2f}"


def _uses(screen: Screen, state: LinkageState) -> None:
    if not state.uses:
        return
    screen.line("its largest throws take", 1)
    for use in state.uses:
        screen.line(_use_line(use), 2, 2)
    if state.share is not None:
        words = f"of the servo's travel {state.share:.0%} is used"
        if state.per_us is not None:
            words += (
                f"; 1 µs moves the trailing edge {state.per_us[0]:.3f} mm at neutral, "
                f"{state.per_us[1]:.3f} mm where it is coarsest"
            )
        screen.line(words, 1, 2)


def _use_line(use: Use) -> Words:
    head = f"{use.way} {abs(use.degrees):.1f}°: "
    wrong = use_words(use)
    if use.point is None:
        return [head, Span(wrong, "stop")]
    at = "" if use.point.pulse is None else f"{use.point.pulse:.0f} µs, "
    words = f"{head}{at}arm {degrees_words(use.point.arm_turn)}, torque "
    words += gain_words(use.point.advantage)
    return [words, "; " if wrong else "", Span(wrong, "stop")]


def show_torque(screen: Screen, state: LinkageState) -> None:
    """Torque available and estimated, with basis, assumptions and caution."""
    torque = state.linkage.torque
    if torque is None and state.speed is None:
        return
    screen.gap()
    head = "torque of the servo not stated" if torque is None else torque_words(torque)
    if state.shared_with and torque is not None:
        head += f"; shared with {', '.join(state.shared_with)}"
    screen.line([Span("torque", "strong"), f"  {head}"], 1, 2)
    at = f"estimated at {state.speed:.0f} m/s" if state.speed is not None else "estimated"
    columns = (
        Column("way"),
        Column("deflection", right=True),
        Column("at the surface", right=True),
        Column(at, right=True),
        Column("ratio", right=True),
        Column("by", flexible=True),
    )
    screen.table(columns, [_torque_row(line) for line in state.torque], indent=2)
    if state.speed is None:
        screen.line("--speed 60 estimates the moment about the hinge (m/s)", 2)
    said = dict.fromkeys(
        (line.needed.method, words)
        for line in state.torque
        if line.needed is not None
        for words in line.needed.says
    )
    if state.speed is not None:
        screen.line("air of 1.225 kg/m³: sea level, 15 °C (ISO 2533)", 2, 2)
    if len({method for method, _ in said if method != "not estimated"}) > 1:
        up_to = f"up to {MOST_THIN:.0f}° as a thin aerofoil, beyond as a flat plate"
        screen.line(f"by: a surface is estimated {up_to}; here the ways lie either side", 2, 2)
    for method, words in said:
        screen.line(f"{method}: {words}", 2, 2)
    screen.line(Span(TORQUE_CAUTION, "faint"), 1, 1)


def torque_words(torque: ServoTorque) -> str:
    """A servo's torque, at its voltage, with its basis."""
    volts = "voltage not stated" if torque.at_volts is None else f"at {torque.at_volts} V"
    own = f"{format_amount(torque.value)} {torque.unit}"
    if torque.unit != "N·m":
        own += f" ({float(torque.newton_metres):.2f} N·m)"
    return f"servo {own} {volts}, stalled ({basis_words(torque.basis)})"


def _torque_row(line: TorqueLine) -> tuple[Words, ...]:
    needed = line.needed
    moment = None if needed is None else needed.newton_metres
    return (
        line.way,
        f"{abs(line.degrees):.1f}°",
        "?" if line.available is None else f"{line.available:.2f} N·m",
        "" if needed is None else "?" if moment is None else f"{moment:.2f} N·m",
        "" if line.ratio is None else f"{line.ratio:.1f}",
        "" if needed is None else needed.method,
    )


def show_pair(screen: Screen, state: PairState) -> None:
    """A one-way pair on one servo."""
    names = " and ".join(state.names)
    screen.line([Span(f"{names}", "strong"), f", one way, both on {state.servo}"], 0, 2)
    says = pair_words(state)
    for words in says:
        screen.line(words, 1, 2)
    if state.found is None:
        return
    columns = (
        Column("µs", right=True),
        Column(state.names[0], right=True),
        Column(state.names[1], right=True),
        Column("apart", right=True),
        Column("both set flush", right=True),
        Column("apart", right=True),
    )
    rows = [
        (
            f"{built.pulse:.0f}",
            degrees_words(built.one),
            degrees_words(built.other),
            degrees_words(built.apart),
            f"{degrees_words(flush.one)} {degrees_words(flush.other)}",
            degrees_words(flush.apart),
        )
        for built, flush in zip(state.found.as_built, state.found.flush, strict=True)
    ]
    screen.table(columns, rows, indent=2)
