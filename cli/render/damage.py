"""The screen of `damage`: a drawing with numbers, and the marks by zone."""

from __future__ import annotations

from pathlib import Path

from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Meaning, Screen, Span
from cli.render.shapes import Shape, span_shape
from cli.render.skeletons import say_skeletons
from cli.session import Session
from register.entry.ids import shorten_id
from register.trouble import Exit, RegisterError
from register.views.damage import DamageView, ZoneMarks, tell_age, tell_place, tell_size
from register.workshop.damage import Mark

#: Severities that mean the aircraft does not fly as it is.
_STOPS = ("grounding", "not-yet-rated")


def render_damage(session: Session, view: DamageView, svg: str | None) -> None:
    """Marks by zone under a drawing; with `svg`, the picture to a file."""
    note_unread(session, view.unread)
    if view.faults:
        session.problems_seen = True
    session.open_items += sum(mark.state.is_open for mark in view.marks)
    drawn = _write_picture(session, view, svg) if svg is not None else None
    screen = Screen()
    screen.title(f"Damage of {view.aircraft}  {view.title}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    for fault in view.faults[:3]:
        screen.line([Span("WRONG", "stop"), f" {fault}"], 0, 2)
    _draw(session, screen, view)
    ids = session.open().find_ids()
    for zone in view.zones:
        _zone(screen, zone, ids)
    if not view.marks:
        screen.gap()
        screen.line("no damage is recorded")
    _end(screen, view, drawn)
    session.show(screen, _shape(view, drawn))


def _write_picture(session: Session, view: DamageView, svg: str) -> str:
    """Write the picture where the owner said; the path back as typed."""
    from register.pages.damage_svg import draw_damage
    from register.storage.outside import write_outside

    if view.drawing is None:
        raise RegisterError(
            f"{view.aircraft} has no outline to draw on",
            mend=f"tailsheaf kit --skeleton outline   shows what to write in {view.file}",
            exit_code=Exit.CANNOT_RUN,
            code="outline-none",
        )
    write_outside(session.cwd / Path(svg), draw_damage(view).encode(), b"<?xml")
    return svg


def _draw(session: Session, screen: Screen, view: DamageView) -> None:
    from register.pages.damage_text import draw_rows

    if view.drawing is None:
        screen.gap()
        screen.line("No outline, so nothing is drawn.")
        say_skeletons(screen, "outline", "zones", path=view.file)
        return
    for told, row in draw_rows(view, session.width - 2, ascii_only=session.as_plain):
        if told:
            screen.gap()
            screen.line(Span(told, "faint"))
        else:
            screen.line([Span(text, "attend" if mark else "plain") for text, mark in row] or "")


def _zone(screen: Screen, zone: ZoneMarks, ids: frozenset[str]) -> None:
    screen.gap()
    if zone.zone is not None:
        number = f"{zone.zone.number}  " if zone.zone.number else ""
        screen.line(Span(f"{number}{zone.zone.title}", "heading"))
    else:
        screen.line(Span(f"zone {zone.name}" if zone.name else "no zone named", "heading"))
    for mark in zone.marks:
        _mark(screen, mark, shorten_id(mark.state.id, ids))


def _mark(screen: Screen, mark: Mark, short: str) -> None:
    """A mark in two to four lines."""
    state = mark.state
    meaning: Meaning = "stop" if state.severity in _STOPS else "strong"
    rated = state.severity.replace("-", " ")
    screen.line(
        [
            Span(f"{mark.number:>3} ", "attend" if mark.where is not None else "plain"),
            f" {state.text}  ",
            Span(rated, meaning) if state.is_open else Span("mended", "faint"),
            Span(f"  {short}", "faint"),
        ],
        0,
        5,
    )
    facts = [word for word in (tell_place(mark), tell_size(mark), tell_age(mark)) if word]
    screen.line("; ".join(facts), 5)
    if mark.touch is not None:
        screen.line([f"touch up: {mark.touch.text} ", Span(f"[{mark.touch.source}]", "faint")], 5)
    if mark.remark is not None:
        screen.line(Span(_mend(mark, short), "faint"), 5)
    for path in mark.files:
        screen.line(Span(f"kept: {path}", "faint"), 5)


def _mend(mark: Mark, short: str) -> str:
    """What is not known of the place, and the line that says it."""
    whose = mark.state.aircraft or mark.state.found_on or "AIRCRAFT"
    missing = "--zone ZONE --place 120,340" if mark.zone is None else "--place 120,340"
    return f"{mark.remark}: tailsheaf damage {whose} {short} {missing}"


def _end(screen: Screen, view: DamageView, drawn: str | None) -> None:
    screen.gap()
    if any(mark.growth for mark in view.marks):
        screen.line("A crack or split that grows wants its cause found before the next flight.")
    if view.closed and all(mark.state.is_open for mark in view.marks):
        screen.line(f"{view.closed} mended (--all)")
    screen.line(
        Span("As written down: look at the aircraft. Lengths in mm; flights since found.", "faint")
    )
    if drawn is not None:
        screen.line(f"drawn: {drawn}")


def _shape(view: DamageView, drawn: str | None) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "aircraft": view.aircraft,
        "title": view.title,
        "has_outline": view.drawing is not None,
        "faults": list(view.faults),
        "colours": [
            {"name": paint.name, "paint": paint.paint, "code": paint.code} for paint in view.colours
        ],
        "closed": view.closed,
        "drawn": drawn,
        "marks": [_mark_shape(mark) for mark in view.marks],
    }


def _mark_shape(mark: Mark) -> Shape:
    state, snag, spot, where = mark.state, mark.snag, mark.snag.spot, mark.where
    return {
        "number": mark.number,
        "snag": state.id,
        "text": state.text,
        "severity": state.severity,
        "open": state.is_open,
        "zone": mark.zone_name,
        "zone_number": mark.zone.number if mark.zone is not None else None,
        "zone_title": mark.zone.title if mark.zone is not None else None,
        "place": None
        if spot is None
        else {
            "along": spot.along,
            "along_from": spot.along_from,
            "across": spot.across,
            "across_from": spot.across_from,
        },
        "drawn_at": None
        if where is None
        else {
            "view": where.view,
            "x": round(where.x, 1),
            "v": round(where.v, 1),
            "exact": where.exact,
        },
        "remark": mark.remark,
        "size_mm": mark.size,
        "sizes": [
            {"day": sized.day, "mm": sized.size, "record": sized.event.path} for sized in mark.sizes
        ],
        "growth_mm": mark.growth,
        "finish": snag.finish,
        "touch_up": None
        if mark.touch is None
        else {"paint": mark.touch.text, "from": mark.touch.source, "sure": mark.touch.sure},
        "first_day": state.first_day,
        "age_days": mark.age_days,
        "flights_since": span_shape(mark.flights),
        "files": list(mark.files),
        "record": state.event.path,
    }
