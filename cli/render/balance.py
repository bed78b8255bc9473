"""The screen of `balance`."""

from __future__ import annotations

from fractions import Fraction

from cli.render.balance_shape import balance_shape
from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.render.skeletons import say_skeletons
from cli.session import Session
from register.records.values import format_amount
from register.views.balance import BalanceView, ClassLine, Side, StateLine
from register.workshop.balance import TRIAL, BallastNeed, ClassVerdict, Verdict, rounded

KINDS = {"dry": "dry", "with-fuel": "with fuel", "take-off": "at take-off"}


def render_balance(session: Session, view: BalanceView) -> None:
    """Scales, states of the tanks, limits, classes, ballast, and what is tried."""
    note_unread(session, view.unread)
    session.open_items += _count_open(view)
    screen = Screen()
    screen.title(f"Balance of {view.aircraft}: {view.title}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    _weighed(screen, view)
    for fault in view.faults:
        screen.gap()
        mark = Span("CANNOT BE", "stop") if fault.is_impossible else Span("LOOK", "attend")
        screen.line([mark, f"  {fault.says}"], 0, 2)
        screen.line(fault.mend, 2, 2)
    for before, side in zip((None, *view.sides), view.sides, strict=False):
        _side(screen, view, side, before)
    _limits(screen, view)
    _changes(screen, view)
    _ballast(screen, view)
    for line in view.classes:
        _class(screen, view, line)
    screen.gap()
    for words in view.cautions if view.sides or view.points else ():
        screen.line(Span(words, "faint"), 0, 2)
    session.show(screen, balance_shape(view))


def _count_open(view: BalanceView) -> int:
    out = [
        line
        for side in view.sides
        for line in side.lines
        if line.verdict.state in ("ahead", "behind") or line.side_out
    ]
    over = [line for line in view.classes if any(v.state == "over" for v in line.verdicts)]
    return len(out) + len(over) + len(view.faults)


def _weighed(screen: Screen, view: BalanceView) -> None:
    layout = view.layout
    if view.weighing is None:
        listed = f"; from {len(layout.items)} listed items" if layout and layout.items else ""
        screen.line(f"never weighed{listed}")
        if layout is not None and layout.items and not layout.items_whole:
            screen.line("they are not said to be all of it (balance: items_whole: true)", 2, 2)
    else:
        body = view.weighing.body
        tanks = getattr(body, "tanks", "not-stated").replace("-", " ")
        fuel = getattr(body, "fuel", None)
        more = f" with {format_amount(fuel)} kg" if fuel is not None else ""
        screen.line(f"weighed {view.weighing.moment.day.isoformat()}, tanks {tanks}{more}")
        screen.line(view.attitude, 2, 2)
        screen.line(Span(view.weighing.path, "faint"), 2)
    if layout is None:
        screen.line("no arms or limits are stated")
        say_skeletons(screen, "balance", path=view.path)
        _points(screen, view)
        return
    datum = layout.datum or "not stated"
    screen.line(f"datum: {datum}; arms in mm, aft of it positive", 0, 2)
    if view.no_mass:
        screen.line(f"at least: no mass is stated of {', '.join(view.no_mass)}", 0, 2)
    _points(screen, view)


def _points(screen: Screen, view: BalanceView) -> None:
    if not view.points:
        return
    screen.gap()
    rows: list[tuple[Words, ...]] = [
        (
            line.point,
            _kg(line.reading),
            _kg(line.tare),
            _kg(line.net),
            "not stated" if line.arm is None else format_amount(line.arm),
            "" if line.track is None else side_words(Fraction(line.track)),
            line.as_read,
        )
        for line in view.points
    ]
    columns = (
        Column("point", flexible=True),
        Column("reads kg", right=True),
        Column("tare", right=True),
        Column("net kg", right=True),
        Column("arm mm", right=True),
        Column("side mm", right=True),
        Column("as read"),
    )
    screen.table(columns, rows)


def _kg(value: object) -> str:
    return "?" if value is None else f"{value:.3f}"


def _side(screen: Screen, view: BalanceView, side: Side, before: Side | None) -> None:
    screen.gap()
    if side.name == "with the change":
        screen.line(Span("Tried, not recorded:", "strong"))
        for words in view.tried:
            screen.line(words, 2, 2)
    elif side.name == "finished":
        screen.line(Span("Finished, with what is still to come:", "strong"))
    columns = (
        Column("tanks"),
        Column("mass kg", right=True),
        Column("CG mm", right=True),
        Column("% chord", right=True),
        Column("side mm", right=True),
        Column("against the limits", flexible=True),
    )
    rows: list[tuple[Words, ...]] = []
    for line in side.lines:
        rows.append(_state_row(line))
        other = _same_state(before, line)
        difference = _difference_row(other, line) if other is not None else ()
        if any(difference[1:]):
            rows.append(difference)
    screen.table(columns, rows)
    reasons = dict.fromkeys(line.state.why_not for line in side.lines if line.state.why_not)
    for why in reasons:
        names = [line.state.name for line in side.lines if line.state.why_not == why]
        screen.line(f"{', '.join(names)}: {why}", 2, 2)


def _state_row(line: StateLine) -> tuple[Words, ...]:
    state = line.state
    side: Words = "" if state.side is None else side_words(state.side)
    if line.side_out:
        side = Span(f"{side} OUT", "attend")
    return (
        state.name,
        mass_words(state.low, state.high),
        "cannot tell" if state.cg is None else str(rounded(state.cg, 1)),
        "" if state.percent is None else str(rounded(state.percent, 1)),
        side,
        _verdict(line.verdict),
    )


def _same_state(side: Side | None, line: StateLine) -> StateLine | None:
    if side is None:
        return None
    return next((item for item in side.lines if item.state.name == line.state.name), None)


def _difference_row(before: StateLine, after: StateLine) -> tuple[Words, ...]:
    one, two = before.state, after.state
    return (
        "  change",
        signed(two.mass - one.mass, 3) if one.mass is not None and two.mass is not None else "",
        signed(two.cg - one.cg, 1) if one.cg is not None and two.cg is not None else "",
        signed(two.percent - one.percent, 1)
        if one.percent is not None and two.percent is not None
        else "",
        signed(two.side - one.side, 1) if one.side is not None and two.side is not None else "",
        "",
    )


def _verdict(verdict: Verdict) -> Words:
    words: dict[str, tuple[str, Meaning]] = {
        "ahead": ("AHEAD", "attend"),
        "behind": ("BEHIND", "attend"),
        "inside": ("inside", "plain"),
        "no-limits": ("no limits stated", "faint"),
        "not-judged": ("limits are for other tanks", "faint"),
        "cannot-tell": ("CANNOT TELL", "unsure"),
    }
    mark = Span(*words[verdict.state])
    if verdict.by is None:
        return mark
    if verdict.state == "inside":
        return [mark, f", {near_words(verdict.by)} mm from a limit"]
    limit = "the forward limit" if verdict.state == "ahead" else "the aft limit"
    of = " of" if verdict.state == "ahead" else ""
    return [mark, f"{of} {limit} by {near_words(verdict.by)} mm"]


def near_words(value: Fraction) -> str:
    """A distance in a tenth; a smaller one is said to be smaller, never 0."""
    shown = rounded(value, 1)
    return "less than 0.1" if value and not shown else str(shown)


def side_words(value: Fraction) -> str:
    """A side distance: 3.2 R, 1.0 L, 0."""
    shown = rounded(abs(value), 1)
    return f"{shown} {'R' if value > 0 else 'L'}" if shown else "0.0"


def signed(value: Fraction, places: int) -> str:
    """With its sign, and without one at nought."""
    shown = rounded(value, places)
    return f"+{shown}" if shown > 0 else str(abs(shown) if shown == 0 else shown)


def mass_words(low: Fraction, high: Fraction | None) -> str:
    """A mass, or between which two it lies."""
    if high is None:
        return f"{rounded(low, 3)}+"
    return str(rounded(low, 3)) if low == high else f"{rounded(low, 2)}-{rounded(high, 2)}"


def _limits(screen: Screen, view: BalanceView) -> None:
    layout = view.layout
    if layout is None:
        return
    screen.gap()
    limits = layout.limits
    if limits is not None:
        ends = [
            "not stated" if value is None else format_amount(value)
            for value in (limits.forward, limits.aft)
        ]
        tanks = limits.tanks.replace("-", " ")
        words = f"{ends[0]} to {ends[1]} mm, tanks: {tanks} ({limits.basis.text})"
        screen.line(f"limits    {words}", 0, 10)
    if layout.lateral_limit is not None:
        basis = layout.lateral_basis.text
        words = f"at most {format_amount(layout.lateral_limit)} mm either way ({basis})"
        screen.line(f"side      {words}", 0, 10)
    if layout.chord is not None:
        chord = layout.chord
        words = f"{format_amount(chord.length)} mm, leading edge at {format_amount(chord.edge)} mm"
        screen.line(f"chord     {words}", 0, 10)
    tank = layout.tank
    if tank is not None:
        full = "full not stated" if tank.full is None else f"full {format_amount(tank.full)} kg"
        arm = "arm not stated" if tank.arm is None else f"at {format_amount(tank.arm)} mm"
        taxi = f", {format_amount(tank.taxi)} kg gone before take-off" if tank.taxi else ""
        screen.line(f"tank      {full} {arm}{taxi} ({tank.basis.text})", 0, 10)


def _changes(screen: Screen, view: BalanceView) -> None:
    drift = view.drift
    if drift is not None:
        if drift.mass is None:
            words = "cannot be told: the tanks of the two weighings differ or are not stated"
        else:
            words = f"{signed(drift.mass, 3)} kg"
            words += f", CG {signed(drift.cg, 1)} mm" if drift.cg is not None else ""
            words += f", side {signed(drift.side, 1)} mm" if drift.side is not None else ""
            words += f" ({drift.state})"
        screen.line(f"changed   since {drift.since.isoformat()}: {words}", 0, 10)
    for n, text in enumerate(view.since[:4]):
        screen.line(f"{'' if n else 'later':<10}{text}", 0, 10)
    if len(view.since) > 4:
        screen.line(f"and {len(view.since) - 4} more: tailsheaf history {view.aircraft}", 10)
    if view.since:
        screen.line("not in these figures: weigh again", 10)


def _ballast(screen: Screen, view: BalanceView) -> None:
    if not view.outside:
        _trials(screen, view)
        return
    screen.gap()
    look = view.sides[-1].name
    of = "" if look == "now" else f" ({look})"
    screen.line(Span(f"Ballast that would bring it to the limit{of}", "strong"))
    if not view.ballast_places:
        screen.line("no place for it is stated: balance: ballast:, or --ballast-at ARM", 2)
    elif not view.ballast:
        screen.line(f"at none of {', '.join(view.ballast_places)}: try --ballast-at ARM", 2)
    for need in view.ballast:
        screen.line(_need_words(need), 2, 2)
    helped = {need.place for need in view.ballast}
    for place in view.asked if view.ballast else ():
        if place not in helped:
            screen.line(f"{place}: no mass there brings it inside", 2, 2)


def _trials(screen: Screen, view: BalanceView) -> None:
    """Asked for where none is needed, or where that cannot be told: never in silence."""
    if not view.asked:
        return
    screen.gap()
    screen.line(Span(f"Ballast at {', '.join(view.asked)}", "strong"))
    states = {line.verdict.state for side in view.sides[-1:] for line in side.lines}
    if not states or "cannot-tell" in states:
        screen.line("whether any is needed cannot be told", 2, 2)
    elif "inside" in states:
        screen.line("inside already; none needed", 2, 2)
    else:
        screen.line("no limits are stated that hold for it: whether any is needed is not known", 2)
    for trial in view.trials:
        words = f"{trial.state}: {rounded(TRIAL, 1)} kg at {trial.place} moves the CG"
        way = "forward" if trial.moved < 0 else "aft"
        verdict = _TRIED.get(trial.verdict, "")
        far = f"{near_words(abs(trial.moved))} mm {way}, to {rounded(trial.cg, 1)} mm"
        screen.line(f"{words} {far}{verdict}", 2, 2)


_TRIED = {
    "inside": ", still inside",
    "ahead": ", ahead of the forward limit",
    "behind": ", behind the aft limit",
}


def _need_words(need: BallastNeed) -> str:
    where = f"at {need.place} ({rounded(need.arm, 1)} mm)"
    limit = f"to the {need.side} limit {rounded(need.limit, 1)} mm"
    if need.mass is None:
        return f"{need.state}: nothing {where} can bring it {limit}"
    words = f"{need.state}: {rounded(need.mass, 3)} kg {where}, {limit}"
    return words + ("; every state is inside then" if need.others_inside else "; others stay out")


def _class(screen: Screen, view: BalanceView, line: ClassLine) -> None:
    limit = line.limit
    screen.gap()
    head = f"{format_amount(limit.limit)} kg {KINDS[limit.kind]}: {limit.what}"
    screen.line([Span(head, "strong"), f" ({limit.basis.text})"], 0, 2)
    was_under = False
    for side, verdict in zip(view.sides, line.verdicts, strict=True):
        crosses = ["; this crosses it"] if was_under and verdict.state == "over" else []
        screen.line([f"{side.name}: ", *_class_words(verdict), *crosses], 2, 2)
        was_under = verdict.state == "under"
    if line.crossed is not None:
        screen.line(f"crossed with the weighing of {line.crossed.isoformat()}", 2)


def _class_words(verdict: ClassVerdict) -> list[str | Span]:
    mass = "" if verdict.low is None else f"{mass_words(verdict.low, verdict.high)} kg, "
    if verdict.state == "under" and verdict.by is not None:
        return [f"{mass}{rounded(verdict.by, 3)} kg under"]
    if verdict.state == "over" and verdict.by is not None:
        return [mass, Span("OVER", "attend"), f" by {rounded(verdict.by, 3)} kg"]
    if verdict.state == "at":
        return [mass, Span("AT THE LIMIT", "attend"), ": whether it is in, the rule says"]
    return [mass, Span("CANNOT TELL", "unsure")]
