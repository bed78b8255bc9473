"""What stood open before a flight: the flight is recorded, and this is said beside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from register.entry.drafting import Draft, join_names
from register.entry.snags import shorten
from register.findings.conditions import view_condition
from register.findings.snags import fold_snags
from register.ledger.ledger import Ledger
from register.tasks.items import Item, view_items
from register.tasks.life import view_lives

_BEFORE_FLIGHT = ("season", "gap", "layup", "install", "fix", "work", "incident")
_MOST_NAMED = 4


def warn_before_flight(draft: Draft, aircraft: str, packs: Sequence[str]) -> None:
    """Warn of everything that should have stood in the way of the flights of an entry."""
    ledger = _ledger_on(draft.clerk.ledger, draft.when.day)
    stage, _ = ledger.stage(aircraft)
    if stage != "in-service":
        draft.warn(f"{aircraft} is not in service ({stage.replace('-', ' ')})")
    first = draft.clerk.ledger.first_day(("aircraft", aircraft))
    if first is not None and draft.when.day < first:
        draft.warn(f"this is before the first record of {aircraft} ({first.isoformat()})")
    _warn_conditions(draft, ledger, aircraft, packs)
    _warn_snags(draft, ledger, aircraft)
    if first is not None and draft.when.day < first:
        return
    day = draft.when.day
    items = (*view_items(ledger, day, aircraft), *view_lives(ledger, aircraft, day))
    opened = [item for item in items if _stood_open(item) and item.task.id not in draft.done]
    if opened:
        names = list(dict.fromkeys(item.task.id for item in opened))
        more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
        listed = ", ".join(names[:_MOST_NAMED]) if more else join_names(names)
        draft.warn(f"flown without {listed}{more} (tailsheaf due {aircraft})")


def _ledger_on(ledger: Ledger, day: date) -> Ledger:
    """As known up to a day; the whole ledger when nothing is dated later."""
    events = ledger.events
    return ledger if not events or events[-1].moment.day <= day else ledger.at(day)


def _stood_open(item: Item) -> bool:
    """Grounding and at its last point, or a list that opens before a flight and was not done."""
    if item.is_day_check or item.state not in ("due", "overdue"):
        return False
    if any(
        found.start.when in _BEFORE_FLIGHT and found.state in ("due", "overdue")
        for found in item.opened
    ):
        return item.grounds or any(found.start.when in ("season", "gap") for found in item.opened)
    if not item.grounds:
        return False
    if item.failed is not None:
        return True
    return any(
        limit.state == "overdue" or (limit.state == "due" and limit.counter is not None)
        for limit in item.limits
    )


def _warn_conditions(draft: Draft, ledger: Ledger, aircraft: str, packs: Sequence[str]) -> None:
    fitted = [spell.part for spell in ledger.places.fitted(aircraft) if not spell.assigned]
    for part in dict.fromkeys((*packs, *fitted)):
        state = view_condition(ledger, part)
        if not state.is_usable:
            draft.warn(f"{part} is recorded as {state.condition}")


def _warn_snags(draft: Draft, ledger: Ledger, aircraft: str) -> None:
    grounding = [
        state
        for state in fold_snags(ledger).values()
        if state.is_open and aircraft in state.hosts and state.severity == "grounding"
    ]
    for state in grounding[:_MOST_NAMED]:
        if state.deferral is None:
            short = draft.clerk.short(state.id)
            draft.warn(f"flown with a grounding snag open: {shorten(state.text)} ({short})")
