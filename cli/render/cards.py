"""The pocket card: one page for each aircraft, plain characters for any printer."""

from __future__ import annotations

import re

from cli.render.marks import day_words, note_unread, standing_span, unread_words
from cli.render.screen import Screen
from cli.session import Session
from register.tasks.items import Item
from register.views.changes import left_phrase
from register.views.flyday import Card, FlydayView

BOX = "[ ]"
FLIGHT_COLUMNS = 8


def render_cards(session: Session, view: FlydayView, cards: tuple[Card, ...]) -> None:
    """Cards one after another; the order is that in which `day` asks."""
    note_unread(session, view.unread)
    screen = Screen()
    for number, card in enumerate(cards):
        if number:
            screen.line("- " * 20 + "cut here")
        _card(screen, view, card)
    if not cards:
        screen.line("no aircraft in service, so no card")
    data = {
        "version": 1,
        "on": view.day,
        "complete": view.complete,
        "cards": [
            {
                "aircraft": card.aircraft.aircraft,
                "standing": card.aircraft.standing,
                "due": [item.task.id for item in card.due],
                "day_checks": [item.task.id for item in card.day_checks],
                "each_flight": [item.task.id for item in card.each_flight],
                "packs": list(card.packs),
            }
            for card in cards
        ],
    }
    session.show(screen, data)


def _card(screen: Screen, view: FlydayView, card: Card) -> None:
    found = card.aircraft
    screen.title(f"{found.aircraft.upper()}  {found.title}", day_words(view.day))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.line(["standing: ", standing_span(found.standing).text.strip()])
    for reason in found.reasons:
        # No line to type: on the field there is nothing to type it on.
        screen.line(f"- {reason.says.partition(': tailsheaf ')[0]}", 1, 2)
    _tick_list(screen, "Due or soon", card.due)
    _tick_list(screen, "Before the first flight", card.day_checks)
    _tick_list(screen, "Before every flight", card.each_flight)
    screen.gap()
    numbers = [f" {n} " for n in range(1, FLIGHT_COLUMNS + 1)]
    screen.line("flight     " + "  ".join(f"{number:^5}" for number in numbers))
    rows = ["flown", "minutes"]
    if card.has_engine:
        rows.append("engine min")
    rows.append("packs")
    for row in rows:
        box = "[   ]" if row == "flown" else "_____"
        screen.line(f"{row:<11}" + "  ".join([box] * FLIGHT_COLUMNS))
    if card.packs:
        screen.line(f"packs known: {', '.join(card.packs)}")
    screen.line("swaps (after flight, off, on)  ______________________________")
    screen.line("snags (where, what; g l d m c) ______________________________")
    for _ in range(2):
        screen.line(" " * 31 + "______________________________")
    for caution in _cautions([item.task.caution for item in card.due if item.task.caution])[:2]:
        screen.line(f"! {caution}")
    screen.line("A record of a check is not the check. You decide, after looking.")
    screen.gap()


def _cautions(listed: list[str]) -> list[str]:
    """Each caution without the clauses that another one says already, in more words or the same."""
    whole = [text.rstrip(".").split(";") for text in dict.fromkeys(listed)]
    every = [_words(clause) for clauses in whole for clause in clauses]
    told: list[set[str]] = []
    found: list[str] = []
    for clauses in whole:
        kept = []
        for clause in clauses:
            words = _words(clause)
            if words not in told and not any(words < other for other in every):
                kept.append(clause.strip())
                told.append(words)
        if kept:
            text = "; ".join(kept)
            found.append(f"{text[0].upper()}{text[1:]}.")
    return found


def _words(clause: str) -> set[str]:
    return set(re.findall(r"\w+", clause.lower()))


def _tick_list(screen: Screen, head: str, items: tuple[Item, ...]) -> None:
    if not items:
        return
    screen.gap()
    screen.line(head)
    for item in items:
        readings = ", ".join(
            f"{reading.name} ____ {reading.unit}".strip() for reading in item.task.readings
        )
        left = left_phrase(item)
        words = f"{BOX} {item.task.id}"
        if item.subject[0] == "part":
            words += f" [{item.subject[1]}]"
        words += f": {item.task.title}"
        if readings:
            words += f": {readings}"
        if left and head == "Due or soon":
            words += f" ({left})"
        screen.line(words, 1, 4)
