"""The flying day: every aircraft, its standing with every reason, and the pocket cards."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from register.findings.doubles import find_twins
from register.findings.papers import PaperState, view_papers
from register.ledger.ledger import Ledger
from register.standing.judge import AircraftDay, judge_fleet
from register.standing.pace import next_flight
from register.tasks.items import Item
from register.tasks.limits import STATE_ORDER
from register.views.due import due_order


class FlydayView(Struct, frozen=True):
    """The answer to `flyday`. `known_to` is the day of knowledge."""

    fleet: str
    day: date
    known_to: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: tuple[AircraftDay, ...]
    papers: tuple[PaperState, ...]
    last_entry: date | None
    #: Pairs of records that look like the same flights; both are counted.
    doubles: int = 0


def view_flyday(
    ledger: Ledger, day: date, known_to: date, unread: tuple[str, ...], plans: dict[str, int]
) -> FlydayView:
    """The standing of every aircraft on a day, with the flights planned."""
    found = sorted(judge_fleet(ledger, day, plans), key=flyday_order)
    days = [event.moment.day for event in ledger.events]
    return FlydayView(
        ledger.records.fleet.name,
        day,
        known_to,
        not unread,
        unread,
        tuple(found),
        tuple(paper for paper in view_papers(ledger, day) if paper.state == "soon"),
        max(days, default=None),
        sum(1 for _ in find_twins(ledger, ledger.records.aircraft)),
    )


def flyday_order(found: AircraftDay) -> tuple[int, str]:
    """What must not fly first, what is not in service last."""
    order = ("grounded", "limited", "due", "cannot-tell", "nothing-open", "not-in-service")
    return order.index(found.standing), found.aircraft


def attention_items(found: AircraftDay) -> tuple[Item, ...]:
    """Items worth a look though they are no reason: soon, or in the early window."""
    named = {(reason.name, reason.subject) for reason in found.reasons}
    return tuple(
        sorted(
            (
                item
                for item in found.items
                if item.state in ("soon", "in-window")
                and (item.task.id, item.subject[1]) not in named
            ),
            key=due_order,
        )
    )


class Card(Struct, frozen=True):
    """One pocket card. The order is that in which `day` asks."""

    aircraft: AircraftDay
    due: tuple[Item, ...]
    day_checks: tuple[Item, ...]
    each_flight: tuple[Item, ...]
    has_engine: bool
    packs: tuple[str, ...]
    longest: str


def view_cards(ledger: Ledger, view: FlydayView) -> tuple[Card, ...]:
    """A card for every aircraft in service."""
    return tuple(_card(ledger, found) for found in view.aircraft if found.stage == "in-service")


def _card(ledger: Ledger, found: AircraftDay) -> Card:
    day_checks = tuple(item for item in found.items if item.is_day_check)
    card_only = tuple(
        item
        for item in found.items
        if item.task.is_card_only and any(s.when == "each-flight" for s in item.task.starts)
    )
    due = tuple(
        sorted(
            (
                item
                for item in found.items
                if STATE_ORDER.index(item.state) <= STATE_ORDER.index("soon")
                and not item.is_day_check
                and not item.task.is_card_only
                and not _is_for_storage(item)
            ),
            key=due_order,
        )
    )
    subject = ("aircraft", found.aircraft)
    return Card(
        found,
        due,
        day_checks,
        card_only,
        has_engine(ledger, found.aircraft),
        tuple(
            name
            for name in ledger.places.assigned_parts(found.aircraft)
            if ledger.records.parts[name].kind == "battery"
        ),
        next_flight(ledger, found.aircraft, subject, "minutes").says,
    )


def _is_for_storage(item: Item) -> bool:
    """Open only because it was not used: nothing to do on the morning it is used again."""
    open_starts = [found for found in item.opened if found.state in ("due", "overdue")]
    only_rest = bool(open_starts) and all(found.start.when == "layup" for found in open_starts)
    return only_rest and all(limit.state in ("ok", "no-baseline") for limit in item.limits)


def has_engine(ledger: Ledger, aircraft: str) -> bool:
    """Does an aircraft have something whose running is counted?"""
    from register.records.kinds import ENGINE_KINDS

    kinds = {ledger.records.parts[spell.part].kind for spell in ledger.places.fitted(aircraft)}
    kinds |= {position.kind or "" for position in ledger.positions(aircraft).values()}
    return bool(kinds & ENGINE_KINDS)
