"""The screens of `throws --what-if` and `--shift`: before and after, side by side."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from cli.render.linkage import gain_words
from cli.render.marks import day_words
from cli.render.screen import Column, Screen, Span, Words
from cli.render.throw_shapes import shift_shape, what_if_shape
from cli.render.throw_words import (
    CAUTION,
    TORQUE_CAUTION,
    met_words,
    pair_verdict,
    turns_words,
    use_words,
    way_words,
)
from cli.render.throws import say_problems
from cli.session import Session
from register.views.linkage import LinkageState
from register.views.linkage_changes import Shift, WhatIf
from register.workshop.rods import Adjustment
from register.workshop.what_if import UNITS


def render_what_if(session: Session, view: WhatIf) -> None:
    """A linkage as built beside one with other figures."""
    before, after = view.before, view.after
    session.open_items += after.open_items
    screen = Screen()
    screen.title(f"What if: {view.aircraft} {before.linkage.name}", day_words(session.on))
    say_problems(screen, view.problems)
    screen.gap()
    rows: list[tuple[Words, ...]] = [
        (key, "not stated" if now is None else _figure(key, now), _figure(key, then))
        for key, now, then in view.changed
    ]
    rows.extend(_compared(before, after))
    columns = (
        Column("", flexible=True),
        Column("as built", right=True),
        Column("what if", right=True),
    )
    screen.table(columns, rows)
    for head, state in (("as built", before), ("what if", after)):
        for words in _wrong(state):
            screen.line([Span(f"{head}: ", "strong"), words], 0, 2)
    for head, pair in zip(("as built", "what if"), view.pairs or (), strict=False):
        names = " and ".join(pair.names)
        screen.line([Span(f"{head}, {names}: ", "strong"), pair_verdict(pair)], 0, 2)
    if before.shared_with and view.pairs is None:
        others = ", ".join(before.shared_with)
        screen.line(f"the servo also drives {others}, which is not changed here", 0, 2)
    screen.gap()
    if not view.rod_kept:
        screen.line("the rod is set anew, so that neutral stays where it is", 0, 2)
    screen.line("nothing is written; sizes are changed in the kit or aircraft file")
    said = dict.fromkeys(
        f"{line.needed.method}: {words}"
        for line in before.torque
        if line.needed is not None
        for words in line.needed.says
    )
    for words in said:
        screen.line(words, 0, 2)
    if before.torque and (before.linkage.torque is not None or before.speed is not None):
        screen.line(Span(TORQUE_CAUTION, "faint"))
    screen.line(Span(CAUTION, "faint"))
    session.show(screen, what_if_shape(view))


def _figure(key: str, value: float) -> str:
    unit = UNITS.get(key, "mm")
    return f"{value:g}°" if unit == "degrees" else f"{value:g} {unit}"


def _compared(before: LinkageState, after: LinkageState) -> list[tuple[Words, ...]]:
    rows: list[tuple[Words, ...]] = [
        _row("rod, pin to pin", before, after, _rod),
        _row("rod, cut", before, after, _cut),
        _row("neutral", before, after, _neutral),
        _row("surface at the low end point", before, after, partial(_end, low=True)),
        _row("surface at the high end point", before, after, partial(_end, low=False)),
    ]
    for n, use in enumerate(before.uses):
        head = f"{use.way} {abs(use.degrees):.1f}°: "
        rows.append(_row(f"{head}pulse", before, after, partial(_pulse, number=n)))
        rows.append(_row(f"{head}servo arm", before, after, partial(_arm, number=n)))
        rows.append(
            _row(f"{head}torque for 1 at the servo", before, after, partial(_gain, number=n))
        )
        if before.linkage.torque is not None:
            rows.append(
                _row(f"{head}torque at the surface", before, after, partial(_torque, number=n))
            )
        if before.speed is not None:
            words = f"{head}estimated at {before.speed:.0f} m/s"
            rows.append(_row(words, before, after, partial(_needed, number=n)))
    rows.append(
        _row(
            "servo travel used",
            before,
            after,
            lambda state: "?" if state.share is None else f"{state.share:.0%}",
        )
    )
    rows.append(_row("trailing edge for 1 µs, neutral", before, after, partial(_step, which=0)))
    rows.append(_row("trailing edge for 1 µs, coarsest", before, after, partial(_step, which=1)))
    return rows


def _row(
    head: str, before: LinkageState, after: LinkageState, tell: Callable[[LinkageState], str]
) -> tuple[Words, ...]:
    told = [tell(state) for state in (before, after)]
    return (head, told[0], told[1] if told[0] == told[1] else Span(told[1], "strong"))


def _rod(state: LinkageState) -> str:
    return "?" if state.rod is None else f"{state.rod.pin_to_pin:.1f} mm"


def _cut(state: LinkageState) -> str:
    if state.rod is None:
        return "?"
    cut = state.rod.cut if state.rod.cut is not None else state.rod.cut_wanted
    return "?" if cut is None else f"{cut:.1f} mm"


def _neutral(state: LinkageState) -> str:
    if state.drive is None:
        return "cannot close" if state.unsolved else "?"
    return way_words(state.drive.neutral_deflection, state.surface)


def _end(state: LinkageState, *, low: bool) -> str:
    point = None if state.sweep is None else state.sweep.low if low else state.sweep.high
    if state.drive is None or state.sweep is None:
        return "?"
    end = state.drive.low if low else state.drive.high
    if end is not None and end == state.drive.neutral_pulse:
        point = state.sweep.neutral
    if point is None:
        return "?"
    stops = [item for item in state.sweep.met if item.kind == "stop" and item.end == end]
    if stops:
        return f"stop, {way_words(stops[0].deflection, state.surface)}"
    return way_words(point.deflection, state.surface)


def _pulse(state: LinkageState, number: int) -> str:
    point = state.uses[number].point if number < len(state.uses) else None
    if point is None:
        return "out of reach"
    return "?" if point.pulse is None else f"{point.pulse:.0f} µs"


def _arm(state: LinkageState, number: int) -> str:
    point = state.uses[number].point if number < len(state.uses) else None
    return "out of reach" if point is None else f"{point.arm_turn:+.1f}°"


def _gain(state: LinkageState, number: int) -> str:
    point = state.uses[number].point if number < len(state.uses) else None
    return "out of reach" if point is None else gain_words(point.advantage)


def _torque(state: LinkageState, number: int) -> str:
    available = state.torque[number].available if number < len(state.torque) else None
    return "?" if available is None else f"{available:.2f} N·m"


def _needed(state: LinkageState, number: int) -> str:
    needed = state.torque[number].needed if number < len(state.torque) else None
    moment = None if needed is None else needed.newton_metres
    return "not estimated" if moment is None else f"{moment:.2f} N·m"


def _step(state: LinkageState, which: int) -> str:
    return "?" if state.per_us is None else f"{state.per_us[which]:.3f} mm"


def _wrong(state: LinkageState) -> list[str]:
    if state.unsolved is not None:
        return [f"cannot be put together: {state.unsolved.says}"]
    met = state.sweep.met if state.sweep is not None else ()
    found = [met_words(item, state.linkage.servo) for item in met]
    found.extend(
        f"{use.way} {abs(use.degrees):.1f}°: {use_words(use)}"
        for use in state.uses
        if use_words(use)
    )
    found.extend([state.refused] if state.refused else [])
    return found


def render_shift(session: Session, view: Shift) -> None:
    """What brings neutral to another place: the rod's change, in turns that can be refitted."""
    state = view.state
    screen = Screen()
    screen.title(
        f"Shift of neutral: {view.aircraft} {state.linkage.name}, {view.asked}",
        day_words(session.on),
    )
    say_problems(screen, view.problems)
    now, wanted = (way_words(value, state.surface) for value in (view.now, view.wanted))
    rod = state.rod
    screen.line(f"neutral: {now} now, {wanted} wanted")
    if rod is not None and view.change is not None:
        longer = "longer" if view.change > 0 else "shorter"
        screen.line(
            f"rod: {rod.pin_to_pin:.2f} mm pin to pin now, {abs(view.change):.2f} mm {longer}: "
            f"{rod.pin_to_pin + view.change:.2f} mm"
        )
    screen.gap()
    columns = (
        Column("turn", flexible=True),
        Column("for 1", right=True),
        Column("turns", right=True),
        Column("refitted", right=True),
        Column("off then", right=True),
        Column("neutral", right=True),
        Column("engaged", right=True),
    )
    screen.table(columns, [_way_row(view, n) for n in range(len(view.ways))])
    for way in view.ways:
        if way.refused:
            screen.line([Span(f" NO SET-UP: {way.what} ", "stop"), f" {way.refused}"], 0, 2)
        elif way.unknown:
            screen.line(f"{way.what}: {way.unknown}", 0, 2)
    session.open_items += sum(way.refused is not None for way in view.ways)
    screen.gap()
    screen.line(
        "out is longer, in is shorter; end 1 is at the servo. A forked end goes on again every "
        "half turn, another every whole one (rod.turn_steps says else); a rod turned between "
        "its ends is not taken off",
        0,
        2,
    )
    if not any(way.done is not None and not way.refused for way in view.ways):
        screen.line("none of these is a set-up: another rod or other fittings are needed")
    screen.line(Span(CAUTION, "faint"))
    session.show(screen, shift_shape(view))


def _way_row(view: Shift, number: int) -> tuple[Words, ...]:
    way = view.ways[number]
    ends = view.state.linkage.rod.ends
    kind = ends[number].kind if number < 2 else None
    head = f"{way.what} ({kind})" if kind else way.what
    if number == 2:
        head = "rod, ends fixed"
    if way.done is None:
        return (head, "", "", "", "", "", "")
    reached = view.reached[number]
    return (
        head,
        f"{way.per_turn or 0:.3g} mm",
        turns_words(way.turns),
        turns_words(way.done),
        f"{(way.left or 0) + 0.0:.2f} mm".replace("-0.00", "0.00"),
        "?" if reached is None else way_words(reached, view.state.surface),
        _engaged(way),
    )


def _engaged(way: Adjustment) -> str:
    return " ".join("?" if depth is None else f"{depth:.1f}" for depth in way.engaged) + " mm"
