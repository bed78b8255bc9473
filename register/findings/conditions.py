"""The condition of parts, and required positions that hold nothing."""

from __future__ import annotations

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.bodies import Condition
from register.records.events import Event
from register.records.standing_files import Position
from register.trouble import Place


class ConditionState(Struct, frozen=True):
    """What condition a part is in, since which record, and why."""

    part: str
    condition: str
    event: Event | None
    reason: str | None
    place: Place

    @property
    def is_usable(self) -> bool:
        """Only a serviceable part may be used."""
        return self.condition == "serviceable"


def view_condition(ledger: Ledger, part: str) -> ConditionState:
    """The last condition recorded of a part, else that of its file."""
    for event in reversed(ledger.about(("part", part))):
        if isinstance(event.body, Condition):
            body = event.body
            return ConditionState(
                part, body.condition, event, body.reason, event.place("condition")
            )
    file = ledger.records.parts[part]
    return ConditionState(part, file.condition, None, None, Place(file.path))


class Unusable(Struct, frozen=True):
    """A part that is fitted to, or used with, an aircraft though it is not serviceable."""

    state: ConditionState
    assigned: bool
    position: str | None


def view_unusable(ledger: Ledger, aircraft: str) -> tuple[Unusable, ...]:
    """Parts of an aircraft that are quarantined, rejected, or scrapped and still fitted."""
    found: dict[str, Unusable] = {}
    for spell in ledger.places.fitted(aircraft):
        state = view_condition(ledger, spell.part)
        if not state.is_usable and not (spell.assigned and state.condition == "scrapped"):
            found[spell.part] = Unusable(state, spell.assigned, spell.position)
    for part in ledger.places.assigned_parts(aircraft):
        state = view_condition(ledger, part)
        # A scrapped pack is gone: it holds nobody back.
        if state.condition in ("quarantined", "rejected"):
            found.setdefault(part, Unusable(state, True, None))
    return tuple(found[name] for name in sorted(found))


def view_empty_positions(ledger: Ledger, aircraft: str) -> tuple[Position, ...]:
    """Required positions that no part is recorded at."""
    return tuple(
        position
        for position in ledger.positions(aircraft).values()
        if position.required and ledger.places.at_position(aircraft, position.name) is None
    )
