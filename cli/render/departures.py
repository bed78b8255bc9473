"""The screens of `modify`: departures from the manual, in a list or one wholly."""

from __future__ import annotations

from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.render.shapes import Shape, full_span_shape
from cli.session import Session
from register.entry.ids import shorten_id
from register.records.bodies import Measured
from register.records.values import format_amount
from register.records.workshop_bodies import Modification
from register.tasks.limits import span_words
from register.views.departures import DepartureLine, DeparturesView, Pair
from register.views.telling_work import grams_words

STATES: dict[str, tuple[str, Meaning]] = {
    "trial": ("ON TRIAL", "attend"),
    "curing": ("CURING", "unsure"),
    "fixed": ("fixed", "plain"),
    "undone": ("undone", "faint"),
}
#: What is shown of it is a record; what it does to the aircraft is not computed.
CAUTION = (
    "A departure from the manual is the owner's own: whether it holds is not computed here. "
    "Follow the maker and your rules first."
)


def render_departures(session: Session, view: DeparturesView) -> None:
    """What was done otherwise than the manual says, unsettled ones first."""
    note_unread(session, view.unread)
    session.open_items += sum(line.departure.is_unsettled for line in view.lines)
    ids = tuple(session.open().ledger.settled.originals)
    session.show(_screen(view, ids), _data(view))


def _screen(view: DeparturesView, ids: tuple[str, ...]) -> Screen:
    screen = Screen()
    if view.one and view.lines:
        _one(screen, view, view.lines[0], ids)
        return screen
    whose = view.subject[1] if view.subject else "whole fleet"
    screen.title(f"Departures from the manual: {whose}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.table(
        (
            Column("id"),
            Column("state"),
            Column("on"),
            Column("what was done", flexible=True),
            Column("mass", right=True),
        ),
        [_row(line, view, ids) for line in view.lines],
    )
    if not view.lines:
        screen.line("no departure from the manual is recorded")
        screen.line(Span('tailsheaf modify AIRCRAFT "what was done" --manual …', "command"), 2)
        return screen
    screen.gap()
    screen.line("one wholly: tailsheaf modify ID; settle one: --state fixed or undone")
    screen.line(Span(CAUTION, "faint"))
    return screen


def _row(line: DepartureLine, view: DeparturesView, ids: tuple[str, ...]) -> tuple[Words, ...]:
    departure, body = line.departure, line.departure.body
    on = departure.part or body.at or ""
    if view.subject is None:
        on = " ".join(word for word in (departure.aircraft or "shelf", on) if word)
    words = [body.text]
    if body.manual:
        words.append(f"manual: {body.manual}")
    if departure.is_unsettled:
        words.append(f"since {departure.state_event.moment.day.isoformat()}{_flown(line)}")
    words.extend(_pair_words(pair) for pair in line.pairs)
    mass = grams_words(body.mass) if body.mass is not None else ""
    return (
        shorten_id(departure.id, ids),
        Span(*STATES[departure.state]),
        on,
        "; ".join(words),
        mass,
    )


def _flown(line: DepartureLine) -> str:
    if line.flights is None or line.flights.high == 0:
        return ""
    return f", {span_words(line.flights)} flights"


def _pair_words(pair: Pair) -> str:
    if pair.before is None or pair.after is None:
        word = "before" if pair.before is not None else "after"
        return f"{pair.name} {word} {_measured(pair.before or pair.after)}"
    if pair.unit or not (pair.before.unit or pair.after.unit):
        ends = f"{_value(pair.before)} → {_value(pair.after)} {pair.unit}".strip()
    else:
        ends = f"{_measured(pair.before)} → {_measured(pair.after)}"
    return f"{pair.name} {ends}"


def _value(item: Measured | None) -> str:
    return "?" if item is None or item.value is None else format_amount(item.value)


def _measured(item: Measured | None) -> str:
    return f"{_value(item)} {item.unit if item is not None else ''}".strip()


def _one(screen: Screen, view: DeparturesView, line: DepartureLine, ids: tuple[str, ...]) -> None:
    departure, body = line.departure, line.departure.body
    screen.title(f"Modification {shorten_id(departure.id, ids)}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.line([Span(*STATES[departure.state]), "  ", Span(body.text, "strong")], 0, 2)
    where = [departure.aircraft or "on no aircraft now"]
    where.extend(word for word in (departure.part, body.at) if word)
    _said(screen, "on", ", ".join(where))
    _said(screen, "manual", body.manual or "not stated")
    _said(screen, "why", body.why or "not stated")
    for tried in body.tried:
        _said(screen, "tried", tried)
    _said(screen, "mass", grams_words(body.mass) if body.mass is not None else "not stated")
    _said(screen, "throws", body.throws or "not stated")
    _said(screen, "strength", body.strength or "not stated")
    if line.pairs:
        screen.gap()
        screen.table(
            (Column("reading"), Column("before", right=True), Column("after", right=True)),
            [(pair.name, _measured(pair.before), _measured(pair.after)) for pair in line.pairs],
            indent=1,
        )
    screen.gap()
    for event in departure.events:
        item = event.body
        state = item.state if isinstance(item, Modification) else ""
        words = f"{event.moment.day.isoformat()} {state}"
        if isinstance(item, Modification) and event is not departure.event:
            changed = [item.text] if item.text != body.text else []
            changed.extend([item.why] if item.why else [])
            words += f": {'; '.join(changed)}" if changed else ""
        screen.line(words, 1, 2)
        screen.line(Span(event.path, "faint"), 3)
    if departure.is_unsettled:
        screen.gap()
        short = shorten_id(departure.id, ids)
        screen.line(f"{line.days} days{_flown(line)} in this state")
        screen.line(Span(f"tailsheaf modify {short} --state fixed   or  undone", "command"))
    screen.line(Span(CAUTION, "faint"))


def _said(screen: Screen, head: str, words: str) -> None:
    screen.line([f"{head:<10}", words], 0, 10)


def _data(view: DeparturesView) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "subject": view.subject[1] if view.subject else None,
        "modifications": [departure_shape(line) for line in view.lines],
    }


def departure_shape(line: DepartureLine) -> Shape:
    """One departure; masses in kilograms."""
    departure, body = line.departure, line.departure.body
    return {
        "id": departure.id,
        "aircraft": departure.aircraft,
        "part": departure.part,
        "where": body.at,
        "text": body.text,
        "manual": body.manual,
        "why": body.why,
        "tried": list(body.tried),
        "mass": body.mass,
        "throws": body.throws,
        "strength": body.strength,
        "state": departure.state,
        "since": departure.state_event.moment.text,
        "days": line.days,
        "flights": full_span_shape(line.flights) if line.flights is not None else None,
        "readings": [
            {
                "name": pair.name,
                "before": pair.before.value if pair.before is not None else None,
                "after": pair.after.value if pair.after is not None else None,
                "unit": pair.unit,
            }
            for pair in line.pairs
        ],
        "records": [event.path for event in departure.events],
    }
