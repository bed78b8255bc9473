"""The screens of `throws`: an aircraft's surfaces, or one with its linkages."""

from __future__ import annotations

from cli.render.linkage import show_linkage, show_pair
from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Screen, Span, Words
from cli.render.skeletons import say_skeletons
from cli.render.throw_shapes import throws_shape
from cli.render.throw_words import (
    CAUTION,
    MORE_THAN_ALLOWED,
    amount_words,
    basis_words,
    degrees_words,
    is_sideways,
    met_words,
    off_words,
    pair_verdict,
    surface_words,
    unit_of,
    use_words,
)
from cli.session import Session
from register.records.surfaces import Surface
from register.records.values import format_amount
from register.trouble import Problem
from register.views.linkage import LinkageState
from register.views.throws import RateLines, SurfaceState, ThrowsView, WayLine


def render_throws(session: Session, view: ThrowsView) -> None:
    """All surfaces in one table, or one with everything known of it."""
    note_unread(session, view.unread)
    session.open_items += view.open_items
    screen = Screen()
    name = f": {view.one}" if view.one else ""
    screen.title(f"Throws of {view.aircraft}{name}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    say_problems(screen, view.problems)
    if not view.surfaces:
        screen.line("no surface is described, and no throw recorded")
        throws = f"tailsheaf throws {view.aircraft} aileron-left --up 12 --down 10"
        screen.line(Span(f"{throws} --measure chordal", "command"), 2)
        path = f"aircraft/{view.aircraft}/aircraft.yaml"
        say_skeletons(screen, "surfaces", "linkages", path=path)
    elif view.one:
        _one(screen, view, view.surfaces[0])
    else:
        _all(screen, view)
    screen.gap()
    screen.line(Span(CAUTION, "faint"))
    session.show(screen, throws_shape(view))


def say_problems(screen: Screen, problems: tuple[Problem, ...]) -> None:
    """What is wrong in the sections that this is computed from."""
    for problem in problems[:3]:
        screen.line([Span("! ", "strong"), f"{problem.place}: {problem.says}"], 0, 2)
    if len(problems) > 3:
        screen.line(f"  and {len(problems) - 3} more: tailsheaf check")


def _all(screen: Screen, view: ThrowsView) -> None:
    columns = (
        Column("rate"),
        Column("way"),
        Column("asked", right=True),
        Column("measured", right=True),
        Column("degrees", right=True),
        Column("off", right=True),
        Column("other side", right=True),
        Column("drift", right=True),
    )
    rows: list[tuple[Words, ...]] = []
    for state in view.surfaces:
        rows.append((_heading(state),))
        for rate in state.rates:
            rows.extend(_short_row(rate, n, line) for n, line in enumerate(rate.lines))
    screen.table(columns, rows)
    screen.gap()
    screen.line(_legend(), 0, 2)
    _linkages(screen, view)


def _legend() -> str:
    return (
        f"off: from what is asked; other side: from its pair; drift: since set-up. "
        f"{MORE_THAN_ALLOWED} more than allowed (1 mm where nothing is said: common practice, "
        "no source)"
    )


def _heading(state: SurfaceState) -> Words:
    surface = state.surface
    kind = f"{'one-way ' if surface.one_way else ''}{surface.kind}"
    chord = "chord not stated" if surface.chord is None else f"chord {surface.chord} mm"
    words = f"  {kind}, {chord}" if state.listed else "  not in the file"
    measures = dict.fromkeys(rate.measure for rate in state.rates)
    how = ", ".join(item if item == "degrees" else f"mm {item}" for item in measures)
    return [Span(surface.name, "strong"), words, f"; {how or 'no throw asked, none recorded'}"]


def _short_row(rate: RateLines, number: int, line: WayLine) -> tuple[Words, ...]:
    now = line.now
    return (
        rate.rate if number == 0 else "",
        line.way,
        _figure(rate, line, asked=True),
        _figure(rate, line, asked=False),
        degrees_words(now.degrees) if now is not None else "",
        off_words(line.off),
        off_words(line.side),
        off_words(line.drift),
    )


def _figure(rate: RateLines, line: WayLine, *, asked: bool) -> str:
    """A throw in the measure of its rate; where that cannot be told, as it was written."""
    if asked:
        value = rate.wanted.way(line.way) if rate.wanted else None
        return "" if value is None else format_amount(value)
    if line.now is None:
        return ""
    found = line.now.in_measure(rate.measure) if rate.measure != "not-stated" else None
    if found is not None:
        return f"{found:.1f}"
    body = rate.latest.body if rate.latest else None
    written = next((t.value for t in (body.throws if body else ()) if t.way == line.way), None)
    return "" if written is None or body is None else f"{written}{unit_of(body.measure)}"


def _linkages(screen: Screen, view: ThrowsView) -> None:
    states = [linkage for state in view.surfaces for linkage in state.linkages]
    if not states:
        return
    screen.gap()
    columns = (
        Column("linkage"),
        Column("servo", flexible=True),
        Column("travel used", right=True),
        Column("mm for a µs", right=True),
        Column("trouble", right=True),
    )
    screen.table(columns, [_linkage_row(state) for state in states])
    for state in states:
        for words in _open_words(state):
            screen.line([Span(f"{state.linkage.name}: ", "strong"), words], 0, 2)
    for pair in view.pairs:
        names = " and ".join(pair.names)
        screen.line([Span(f"{names} on {pair.servo}: ", "strong"), pair_verdict(pair)], 0, 2)
    screen.line(Span(f"tailsheaf throws {view.aircraft} SURFACE   shows all of one", "faint"))


def _linkage_row(state: LinkageState) -> tuple[Words, ...]:
    share = "?" if state.share is None else f"{state.share:.0%}"
    count = state.open_items
    return (
        Span(state.linkage.name, "strong"),
        state.linkage.servo or "not stated",
        share,
        amount_words(None if state.per_us is None else state.per_us[0], 3) or "?",
        Span(str(count), "attend") if count else "",
    )


def _open_words(state: LinkageState) -> list[str]:
    """What a linkage must not do, in sentences."""
    if state.unsolved is not None:
        thread = [state.refused] if state.refused else []
        return [f"cannot tell: {state.unsolved.says}", *thread]
    met = state.sweep.met if state.sweep is not None else ()
    found = [met_words(item, state.linkage.servo) for item in met]
    found.extend(
        f"{use.way} {abs(use.degrees):.1f}°: {use_words(use)}"
        for use in state.uses
        if use_words(use)
    )
    if state.refused:
        found.append(state.refused)
    return found


def _one(screen: Screen, view: ThrowsView, state: SurfaceState) -> None:
    surface = state.surface
    if state.listed:
        title = f"{surface.title}: " if surface.title else ""
        screen.line(f"{title}{surface_words(surface)}")
        screen.line(Span(f"{surface.place.file}:{surface.place.line}", "faint"))
    else:
        screen.line("recorded, but described in no file: chord and throws are not stated")
    for words in state.carried:
        screen.line(words, 0, 2)
    for rate in state.rates:
        screen.gap()
        _rate(screen, rate)
    if state.readings:
        screen.gap()
        screen.line(Span("readings taken with the throws (read, never computed)", "strong"))
        for item in state.readings:
            last = f"{item.last.value} {item.last.unit}".strip()
            first = f"{item.first.value} {item.first.unit}".strip()
            since = f", was {first} on {item.first_on}" if item.first_on != item.last_on else ""
            screen.line(f"{item.name}: {last} on {item.last_on}{since}", 2)
    for linkage in state.linkages:
        screen.gap()
        show_linkage(screen, linkage)
    for pair in view.pairs:
        screen.gap()
        show_pair(screen, pair)
    screen.gap()
    ways = _ways_to_type(surface)
    screen.line(Span(f"record: tailsheaf throws {view.aircraft} {surface.name} {ways}", "faint"))
    if state.linkages:
        name = state.linkages[0].linkage.name
        words = f"try: tailsheaf throws {view.aircraft} {name} --what-if arm=14"
        screen.line(Span(words, "faint"))


def _ways_to_type(surface: Surface) -> str:
    """The options of its own ways, with figures as an example."""
    if surface.wanted:
        wanted = surface.wanted[0]
        unit = "deg" if wanted.measure == "degrees" else ""
        return " ".join(f"--{item.way} {format_amount(item.value)}{unit}" for item in wanted.throws)
    if surface.one_way:
        return "--open 55deg"
    return "--left 20 --right 20" if is_sideways(surface) else "--up 12 --down 10"


def _rate(screen: Screen, rate: RateLines) -> None:
    wanted = rate.wanted
    measure = rate.measure if rate.measure == "degrees" else f"mm {rate.measure}"
    words = f", {measure}"
    if wanted is not None:
        allowed = (
            "tolerance not stated"
            if wanted.tolerance is None
            else f"within {wanted.tolerance}{unit_of(wanted.measure)}"
        )
        words += f"; asked ({basis_words(wanted.basis)}), {allowed}"
    else:
        words += "; nothing asked"
    screen.line([Span(f"{rate.rate} rate", "strong"), words], 0, 2)
    columns = (
        Column("way"),
        Column("asked", right=True),
        Column("now", right=True),
        Column("off", right=True),
        Column("side", right=True),
        Column("drift", right=True),
        Column("chordal", right=True),
        Column("perp.", right=True),
        Column("arc", right=True),
        Column("degrees", right=True),
    )
    screen.table(columns, [_long_row(rate, line) for line in rate.lines], indent=1)
    sheets = (("now", rate.latest), ("set up", rate.set_up), ("side", rate.other))
    told = [
        f"{name} {sheet.event.moment.day} ({sheet.event.id[:6]})"
        for name, sheet in sheets
        if sheet is not None
    ]
    if told:
        screen.line(Span(", ".join(told), "faint"), 1, 2)
    if rate.latest is None:
        screen.line("never recorded", 1)
    elif rate.set_up is None:
        screen.line("no set-up recorded yet (--set-up), so drift cannot be told", 1)


def _long_row(rate: RateLines, line: WayLine) -> tuple[Words, ...]:
    shown = line.now or line.asked
    figures = ["", "", "", ""]
    if shown is not None:
        figures = [
            amount_words(shown.chordal),
            amount_words(shown.perpendicular),
            amount_words(shown.arc),
            degrees_words(shown.degrees),
        ]
    return (
        line.way,
        _figure(rate, line, asked=True),
        _figure(rate, line, asked=False),
        off_words(line.off),
        off_words(line.side),
        off_words(line.drift),
        *figures,
    )
