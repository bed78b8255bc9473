"""The screen of `flyday`: the answer before a flying day."""

from __future__ import annotations

from itertools import groupby

from cli.render.doubles import add_doubles, doubles_shape
from cli.render.heard import add_heard, heard_shape
from cli.render.marks import (
    CAUTION,
    STANDING_WORDS,
    day_words,
    note_unread,
    standing_span,
    unread_words,
)
from cli.render.screen import Screen, Span, Words
from cli.render.shapes import aircraft_shape
from cli.session import Session
from register.standing.judge import AircraftDay
from register.standing.reasons import Reason
from register.views.changes import left_phrase
from register.views.flyday import FlydayView, attention_items
from register.views.heard import HeardView

MOST_REASONS = 2
#: Columns kept for the standing word.
STANDING_WIDTH = 15


def render_flyday(
    session: Session, view: FlydayView, heard: HeardView | None, *, every: bool
) -> None:
    """One block for each aircraft, worst first; every reason with --all."""
    note_unread(session, view.unread)
    session.open_items += sum(
        found.standing in ("grounded", "limited", "due", "cannot-tell") for found in view.aircraft
    )
    data = {
        "version": 1,
        "on": view.day,
        "known_to": view.known_to,
        "complete": view.complete,
        "unread": list(view.unread),
        "aircraft": [aircraft_shape(found) for found in view.aircraft],
        "papers": [{"paper": p.paper.name, "says": p.says} for p in view.papers],
    }
    screen = _screen(view, session.width, every=every)
    add_doubles(screen, view.doubles)
    add_heard(screen, heard)
    session.show(screen, {**data, **doubles_shape(view.doubles), **heard_shape(heard)})


def _screen(view: FlydayView, width: int, *, every: bool) -> Screen:
    screen = Screen()
    screen.title(f"Flying day {day_words(view.day)}", view.fleet)
    if view.unread:
        screen.line(unread_words(view.unread))
    if not view.aircraft:
        screen.line("no aircraft yet: tailsheaf aircraft NAME --programme turbine-jet")
    for found in view.aircraft:
        _aircraft(screen, found, width, every=every)
    for paper in view.papers:
        screen.line(["paper  ", paper.says])
    screen.gap()
    if view.last_entry is not None and view.last_entry < view.day:
        screen.line(
            Span(
                f"Last entry {view.last_entry.isoformat()}; another laptop may hold later ones.",
                "faint",
            )
        )
    screen.line(Span(CAUTION, "faint"))
    return screen


def _aircraft(screen: Screen, found: AircraftDay, width: int, *, every: bool) -> None:
    word = standing_span(found.standing)
    pad = " " * max(STANDING_WIDTH - len(word.text), 1)
    room = width - STANDING_WIDTH - len(found.aircraft) - 2
    title = found.title if len(found.title) <= room else found.title[: room - 1] + "…"
    screen.line([word, pad, Span(found.aircraft, "strong"), f"  {title}"])
    shown = found.reasons if every else _first_reasons(found)
    for reason in shown:
        screen.line(_reason_words(reason, width, every=every), 3)
        if every and reason.place is not None:
            screen.line(Span(f"{reason.place.file}:{reason.place.line}", "faint"), 5)
    more = len(found.reasons) - len(shown)
    tail = []
    if more > 0:
        tail.append(f"{more} more reason{'' if more == 1 else 's'} (--all)")
    near = attention_items(found)
    if near and found.stage == "in-service":
        listed = "; ".join(f"{item.task.id} {left_phrase(item)}" for item in near[:1])
        rest = f" and {len(near) - 1} more" if len(near) > 1 else ""
        tail.append(f"coming: {listed}{rest}")
    if tail:
        screen.line(_cut("; ".join(tail), width - 3, every=every), 3)
    for number, group in groupby(found.during, key=lambda item: item.before_flight):
        listed = ", ".join(
            item.task + (f" on {item.subject}" if item.subject != found.aircraft else "")
            for item in group
        )
        screen.line(_cut(f"before flight {number}: {listed}", width - 3, every=every), 3)


def _first_reasons(found: AircraftDay) -> tuple[Reason, ...]:
    if found.stage != "in-service":
        return found.reasons[:MOST_REASONS]
    # What could not be read changes how all the rest is to be taken.
    unread = [reason for reason in found.reasons if reason.kind == "unread"]
    same = [
        reason
        for reason in found.reasons
        if reason.standing == found.standing and reason.kind != "unread"
    ]
    return (*unread, *same[:MOST_REASONS])


def _reason_words(reason: Reason, width: int, *, every: bool) -> Words:
    mark = STANDING_WORDS[reason.standing][0]
    lead = f"{mark.lower()}: " if every else "- "
    return _cut(f"{lead}{reason.says}", width - 3, every=every)


def _cut(text: str, width: int, *, every: bool) -> str:
    """One line, unless everything was asked for."""
    if every or len(text) <= width:
        return text
    return text[: width - 1].rstrip() + "…"
