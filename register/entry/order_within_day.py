"""What is not ordered within a day that had flights, and the line that orders it."""

from __future__ import annotations

from register.entry.drafting import Draft, count_words, join_names
from register.records.bodies import Flights, Install, Remove
from register.records.events import Event


def say_unordered(draft: Draft, aircraft: str, written: str, parts: tuple[str, ...]) -> None:
    """Say which counters became a span, and how to settle it, where that is so.

    `written` is the event that would carry `after`; `parts` are those whose counters
    depend on the order; none means what hangs on the aircraft's own.
    """
    loose = unordered_flights(draft, aircraft)
    if not loose or draft.stamp.after:
        return
    clerk = draft.clerk
    flights = sum(event.body.count for event in loose if isinstance(event.body, Flights))
    last = loose[-1]
    count = last.body.count if isinstance(last.body, Flights) else 1
    whose = f"counters of {join_names(parts)}" if parts else "what is counted from it"
    draft.say(
        f"{aircraft} flew {count_words(flights, 'flight')} that day and the order is not known: "
        f"{whose} may differ by 0 to {flights} until you say: "
        f"tailsheaf amend {clerk.short(written)} after={clerk.short(last.id)}:N"
        + (f" (N from 1 to {count})" if count > 1 else "")
    )


def unordered_flights(draft: Draft, aircraft: str) -> list[Event]:
    """Flights entries of the entry's day whose order against it is not known."""
    here = [
        event
        for event in draft.clerk.ledger.flights(aircraft)
        if event.moment.day == draft.when.day
    ]
    if draft.when.instant is None:
        return here
    return [
        event
        for event in here
        if event.moment.instant is None
        or (
            isinstance(event.body, Flights)
            and event.body.count > 1
            and event.moment.instant <= draft.when.instant
        )
    ]


def say_unordered_moves(draft: Draft, aircraft: str, written: str) -> None:
    """Say which parts went in or came off that day, before or after these flights not known."""
    if draft.stamp.after or draft.chain or draft.when.instant is not None:
        return
    clerk = draft.clerk
    moves = [
        event for event in clerk.ledger.about(("aircraft", aircraft)) if _is_loose(draft, event)
    ]
    if not moves:
        return
    last = moves[-1]
    parts = dict.fromkeys(
        event.body.part.name
        for event in moves
        if isinstance(event.body, Install | Remove) and event.body.part is not None
    )
    draft.say(
        f"{join_names(tuple(parts))} changed place that day, before or after these flights is not "
        f"known: if before, tailsheaf amend {clerk.short(written)} after={clerk.short(last.id)}; "
        f"if after, tailsheaf amend {clerk.short(moves[0].id)} after={clerk.short(written)}"
    )


def _is_loose(draft: Draft, event: Event) -> bool:
    body = event.body
    if not isinstance(body, Install | Remove) or event.moment.day != draft.when.day:
        return False
    part = draft.clerk.ledger.names.part_name(body.part)
    return part is not None and draft.clerk.ledger.records.parts[part].use != "assigned"
