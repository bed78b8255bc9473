"""What came first within a day, and which pack flew, where that was not said."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from register.checks.survey import Survey, number_of, warn
from register.ledger.places import Spell
from register.records.bodies import Flights
from register.records.events import Event
from register.trouble import Problem


def check_moves_ordered(survey: Survey) -> Iterator[Problem]:
    """An install or removal with no order on a day when its aircraft flew."""
    for part in sorted(survey.ledger.places.spells):
        for spell in survey.ledger.places.spells[part]:
            if spell.aircraft is None or spell.assigned:
                continue
            for event in (spell.install, spell.removal):
                if event is not None:
                    yield from _check_move(survey, spell, event)


def _check_move(survey: Survey, spell: Spell, move: Event) -> Iterator[Problem]:
    """One move. What hangs on another record is put in order with that one."""
    if move.after is not None:
        return
    orders = survey.ledger.orders
    point = orders.segments(move.id)[0]
    unordered = [
        event
        for event in survey.ledger.flights(spell.aircraft or "")
        if event.moment.day == move.moment.day
        and any(
            orders.compare(point, segment) == "unknown" for segment in orders.segments(event.id)
        )
    ]
    if not unordered:
        return
    flown = unordered[0]
    count = flown.body.count if isinstance(flown.body, Flights) else 1
    flights, short = survey.short(flown), survey.short(move)
    mend = f"tailsheaf amend {short} after={flights}"
    if count > 1:
        mend += f":N   (N of its {count} flights came before)"
    mend += f"   or, if it came first:  tailsheaf amend {flights} after={short}"
    verb = "installed" if move.kind == "install" else "removed"
    yield warn(
        move.place("when"),
        "order-unknown",
        f"{spell.part} was {verb} on {move.moment.day.isoformat()} and {spell.aircraft} flew "
        f"that day; which came first is not recorded, so its counters are a range",
        mend,
        (event.place("when") for event in unordered),
    )


def check_packs_named(survey: Survey) -> Iterator[Problem]:
    """Flights that did not say which of the aircraft's packs flew."""
    ledger = survey.ledger
    maybe: dict[str, list[str]] = defaultdict(list)
    for name, part in sorted(ledger.records.parts.items()):
        if part.use != "assigned":
            continue
        for item in ledger.counters.contributions(("part", name)):
            body = item.event.body
            if isinstance(body, Flights) and body.uses is None:
                maybe[item.event.id].append(name)
    for event in ledger.events:
        packs = maybe.get(event.id)
        if packs and isinstance(event.body, Flights):
            yield warn(
                event.place("aircraft"),
                "pack-not-named",
                f"which pack flew these {number_of(event.body.count, 'flight')} is not recorded; "
                f"it may have been {' or '.join(packs[:4])}",
                f"tailsheaf amend {survey.short(event)} uses={packs[0]}",
            )
