"""The screens of `fasteners`: a fleet, an aircraft, one joint."""

from __future__ import annotations

from cli.render.fastener_shapes import fasteners_shape, fleet_shape, joint_shape
from cli.render.marks import day_words, note_unread, unread_words
from cli.render.problems import write_problems
from cli.render.screen import Column, Screen, Span, Words
from cli.render.skeletons import say_skeletons
from cli.render.torques import add_torque, number, torque_cell, torque_notes
from cli.session import Session
from register.records.stock import StockItem
from register.records.values import format_amount
from register.trouble import Problem
from register.views.fasteners import (
    FITTED_PER_SPARE,
    FastenersView,
    FleetFasteners,
    JointLine,
    JointView,
    LotLine,
    Spare,
)
from register.workshop.fasteners import FittedJoint, broken_of
from register.workshop.mending import NEVER_LONGER, Need
from register.workshop.torque import CAUTION

NO_ZONE = "no zone stated"


def render_fasteners(
    session: Session, view: FleetFasteners | FastenersView | JointView, *, ways: bool
) -> None:
    """Whichever of the three was asked for."""
    note_unread(session, view.unread)
    if isinstance(view, FleetFasteners):
        _render_fleet(session, view)
    elif isinstance(view, FastenersView):
        _render_aircraft(session, view)
    else:
        _render_joint(session, view, ways=ways)


def _begin(
    session: Session, title: str, view: FleetFasteners | FastenersView | JointView
) -> Screen:
    screen = Screen()
    screen.title(title, day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    return screen


def _tell_problems(session: Session, problems: tuple[Problem, ...]) -> None:
    if any(problem.level == "error" for problem in problems):
        session.problems_seen = True
    write_problems(session, problems)


def _render_fleet(session: Session, view: FleetFasteners) -> None:
    screen = _begin(session, "Fasteners", view)
    screen.gap()
    screen.table(
        (
            Column("aircraft", flexible=True),
            Column("joints", right=True),
            Column("fasteners", right=True),
            Column("broken", right=True),
            Column("departures", right=True),
        ),
        [
            (
                Span(row.aircraft, "strong"),
                str(row.joints or "none recorded"),
                f"{row.fasteners}{'+' if row.at_least else ''}" if row.joints else "",
                str(row.broken or ""),
                str(row.departures or ""),
            )
            for row in view.rows
        ],
    )
    screen.gap()
    if any(not row.joints for row in view.rows):
        say_skeletons(screen, "joints", path="")
    screen.line(Span("tailsheaf fasteners AIRCRAFT   shows one", "faint"))
    session.open_items += sum(row.broken for row in view.rows)
    session.show(screen, fleet_shape(view))


def _render_aircraft(session: Session, view: FastenersView) -> None:
    _tell_problems(session, view.problems)
    session.open_items += sum(bool(line.fitted.snags) for line in view.joints)
    screen = _begin(session, f"Fasteners of {view.aircraft}", view)
    screen.line(view.title)
    if not view.joints:
        screen.gap()
        screen.line(f"no joint of {view.aircraft} is recorded yet")
        say_skeletons(screen, "joints", path=f"aircraft/{view.aircraft}/aircraft.yaml")
    else:
        _joints(screen, view)
        _bring(screen, view)
        _spares(screen, view)
        _oddities(screen, view)
    _lines(screen, view)
    if view.joints:
        screen.gap()
        for note in torque_notes(view.joints):
            screen.line(note, 0, 2)
        screen.line(Span(CAUTION, "attend"))
    session.show(screen, fasteners_shape(view))


def _joints(screen: Screen, view: FastenersView) -> None:
    notes = torque_notes(view.joints)
    zones: dict[str, list[JointLine]] = {}
    for line in view.joints:
        zones.setdefault(line.fitted.joint.zone or NO_ZONE, []).append(line)
    rows: list[tuple[Words, ...]] = []
    for zone, lines in zones.items():
        rows.append((Span(zone, "heading"),))
        for line in lines:
            rows.extend(_joint_rows(line, notes))
    screen.gap()
    screen.table(
        (
            Column("joint"),
            Column("fitted", flexible=True),
            Column("key", flexible=True),
            Column("lock"),
            Column("torque"),
        ),
        rows,
    )


def _joint_rows(line: JointLine, notes: list[str]) -> list[tuple[Words, ...]]:
    joint = line.fitted.joint
    rows: list[tuple[Words, ...]] = []
    for n, lot in enumerate(line.lots):
        name = Span("" if n else joint.name, "strong")
        fitted = f"{count_text(lot.lot.count)} {lot.lot.text}"
        lock = "" if n else joint.thread_lock or "?"
        rows.append((name, fitted, lot.key or "not in tables", lock, torque_cell(line, lot, notes)))
    if line.fitted.snags:
        rows.append(("", Span(tell_holding(line.fitted), "stop"), "", "", ""))
    return rows


def count_text(count: int | None) -> str:
    """4 of them, or that it is not stated."""
    return "? of" if count is None else f"{count} x"


def tell_holding(fitted: FittedJoint) -> str:
    """3 of 4 hold; whether that is fewer than must."""
    count = fitted.joint.count
    if count is None or fitted.holding is None:
        words = f"{fitted.broken} broken; how many hold is not known"
    elif not fitted.broken:
        words = "a snag is open on it"
    else:
        words = f"BROKEN: {fitted.holding} of {count} hold"
    if fitted.is_too_few:
        words += f", {fitted.joint.least_holding} must"
    return words


def _bring(screen: Screen, view: FastenersView) -> None:
    screen.gap()
    screen.line(Span("Tools to bring", "heading"))
    for tool in view.tools:
        screen.line([Span(tool.name, "strong"), f": {', '.join(tool.joints)}"], 2, 2)
    for lock, joints in view.locks:
        word = "thread lock" if lock in ("low", "medium", "high") else ""
        name = f"{word}, {lock}" if word else lock.replace("-", " ")
        screen.line([Span(name, "strong"), f": {', '.join(joints)}"], 2, 2)


def _spares(screen: Screen, view: FastenersView) -> None:
    screen.gap()
    screen.line(Span("Spares to carry", "heading"))
    screen.table(
        (
            Column("spare", flexible=True),
            Column("fitted", right=True),
            Column("carry", right=True),
            Column("on the shelf"),
        ),
        [_spare_row(spare) for spare in view.spares],
        indent=2,
    )
    words = (
        f"carry one of each and one more for each {FITTED_PER_SPARE}: common practice, no source"
    )
    screen.line(Span(words, "faint"), 2)


def _spare_row(spare: Spare) -> tuple[Words, ...]:
    fitted = "?" if spare.fitted is None else str(spare.fitted)
    return (spare.text, fitted, str(spare.carry), shelf_words(spare.stock, spare.item))


def shelf_words(stock: StockItem | None, item: str | None) -> Words:
    """How many lie there, and whether that is below what is wanted."""
    if stock is None:
        return "not listed" if item is not None else "size not stated"
    if stock.count is None:
        return "not counted"
    words = f"{format_amount(stock.count)} {stock.name}"
    return [words, Span(" BELOW", "attend")] if stock.state == "below" else words


def _oddities(screen: Screen, view: FastenersView) -> None:
    screen.gap()
    screen.line(Span("Not as a buyer would expect", "heading"))
    for joint, words in view.oddities:
        screen.line([Span(joint, "strong"), f": {words}"], 2, 2)
    if not view.oddities:
        screen.line("nothing recorded", 2)


def _lines(screen: Screen, view: FastenersView) -> None:
    if not view.lines:
        return
    screen.gap()
    screen.line(Span("Lines", "heading"))
    for line in view.lines:
        first = [line.colour or "colour not stated", line.medium or "medium not stated"]
        ends = f"{line.begins or '?'} to {line.ends or '?'}"
        words = f": {' '.join(first)}, {line.function or 'function not stated'}; {ends}"
        if line.route:
            words += f" by {', '.join(line.route)}"
        screen.line([Span(line.name, "strong"), words], 2, 2)
        more = (("bundle", line.bundle), ("in", line.protection), ("keep clear of", line.clear_of))
        told = "; ".join(f"{word} {value}" for word, value in more if value)
        if told:
            screen.line(Span(told, "faint"), 4, 2)
    for clash in view.clashes:
        screen.line([Span("SAME COLOUR", "stop"), f" {clash.says}"], 2, 2)


def _render_joint(session: Session, view: JointView, *, ways: bool) -> None:
    _tell_problems(session, view.problems)
    fitted = view.line.fitted
    joint = fitted.joint
    session.open_items += bool(fitted.snags)
    screen = _begin(session, f"{joint.name} of {view.aircraft}", view)
    holds = f"; holds {', '.join(joint.holds)}" if joint.holds else ""
    into = f"; into {joint.into.replace('-', ' ')}" if joint.into else "; into what is not stated"
    lock = f"; thread lock {joint.thread_lock}" if joint.thread_lock else "; thread lock not stated"
    screen.line(f"{joint.title}, {joint.zone or NO_ZONE}{holds}{into}{lock}")
    screen.line(Span(f"basis of what is said of it: {joint.basis.text}", "faint"))
    for lot in view.line.lots:
        _lot(screen, view.line, lot)
    if fitted.snags:
        _broken(screen, view)
    if fitted.snags or ways:
        _ways(screen, view)
    else:
        screen.gap()
        words = f"if one breaks: tailsheaf fasteners {view.aircraft} {joint.name} --ways"
        screen.line(Span(words, "faint"))
    session.show(screen, joint_shape(view))


def _lot(screen: Screen, line: JointLine, lot: LotLine) -> None:
    screen.gap()
    since = lot.lot.since
    title: list[str | Span] = [Span(f"{count_text(lot.lot.count)} {lot.lot.text}", "heading")]
    if since is not None:
        title.append(f"  departure of {since.moment.day.isoformat()}")
    screen.line(title)
    rows: list[tuple[Words, ...]] = []
    if lot.key is not None:
        own = lot.key_figure is None or lot.key_figure.value not in lot.key
        source = "as stated for the joint"
        if not own and lot.key_figure is not None:
            source = tell_source(lot.key_figure.source, lot.key_figure.status)
        rows.append(("key", lot.key, source))
    else:
        rows.append(("key", "not known", "head, thread or size in no table"))
    rows.extend(geometry_rows(lot))
    unlisted = lot.item if lot.stock is None and lot.item is not None else ""
    rows.append(("on the shelf", shelf_words(lot.stock, lot.item), unlisted))
    columns = (Column("what"), Column("size"), Column("source", flexible=True))
    screen.table(columns, rows, indent=2, heads=False)
    add_torque(screen, line.fitted.joint.torque if since is None else None, lot.torque)


def tell_source(source: str, status: str) -> str:
    """Where a figure is printed; how it is known when it was not plainly read."""
    return source if status == "read" else f"{source} ({status})"


def geometry_rows(lot: LotLine) -> list[tuple[Words, ...]]:
    """Holes and diameters of a thread, each with its source."""
    rows: list[tuple[Words, ...]] = []
    holes, shape = lot.holes, lot.geometry
    if holes is not None and holes.clearance:
        sizes = " / ".join(figure.value for figure in holes.clearance.values())
        rows.append(("clearance", f"{sizes} mm", "ISO 273 fine / medium / coarse"))
    elif holes is not None:
        rows.append(("clearance", "not in the tables", ""))
    if holes is not None and holes.tapping is not None:
        rows.append(("tapping drill", holes.tapping.text, holes.tapping.source))
    elif holes is not None:
        rows.append(("tapping drill", "not in the tables", ""))
    if shape is not None:
        rows.append(("core", f"{number(shape.core_diameter, 2)} mm", shape.source))
        rows.append(("stress area", f"{number(shape.stress_area, 2)} mm²", shape.area_source))
    return rows


def _broken(screen: Screen, view: JointView) -> None:
    screen.gap()
    screen.line([Span(tell_holding(view.line.fitted), "stop")])
    for state in view.line.fitted.snags:
        rest = f"the rest {state.rest.replace('-', ' ')}" if state.rest else "where is the rest?"
        broken = broken_of(state)
        words = f" {state.first_day.isoformat()} {state.text}: {broken or '?'} broken, {rest}"
        screen.line([Span(state.id[:4], "strong"), words], 2, 2)
        if state.rest is None:
            line = f"tailsheaf snag {state.id[:4]} --rest out|in-hole|loose-inside"
            screen.line(Span(line, "command"), 4)


def _ways(screen: Screen, view: JointView) -> None:
    screen.gap()
    screen.line(Span("Ways to mend, and what each needs", "heading"))
    for way in view.ways:
        screen.line([Span(way.name, "strong"), f": {way.says}"], 2, 2)
        for need in way.needs:
            screen.line(f"- {_tell_need(need)}", 4, 2)
    screen.line(Span(NEVER_LONGER, "attend"), 2)
    snag = view.line.fitted.snags[0].id[:4] if view.line.fitted.snags else "SNAG"
    words = f'tailsheaf fix {snag} "what was done" --mending WAY --draw ITEM'
    screen.line(Span(words, "command"), 2)


def _tell_need(need: Need) -> str:
    words = need.what
    if need.source:
        words += f" ({need.source})"
    if need.item is not None:
        there = "not listed" if need.at_hand is None else f"{format_amount(need.at_hand)} there"
        words += f": {there}, {need.item}"
    return words
