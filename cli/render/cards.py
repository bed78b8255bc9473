"""The pocket card: one page for each aircraft, plain characters for any printer."""

from __future__ import annotations

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
        screen.line(f"- {reason.says}", 1, 2)
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
    cautions = list(dict.fromkeys(i.task.caution for i in card.due if i.task.caution))
    for caution in cautions[:2]:
        screen.line(f"! {caution}")
    screen.line("A record of a check is not the check. You decide, after looking.")
    screen.gap()


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
