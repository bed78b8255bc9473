"""Why a figure is what it is: steps, each with its record, carried from where it is computed."""

from __future__ import annotations

from msgspec import Struct

from register.records.events import Event
from register.trouble import Place


class Step(Struct, frozen=True):
    """One line of an explanation, and where it stands in the records, if anywhere."""

    says: str
    place: Place | None = None


def event_step(says: str, event: Event, key: str = "when") -> Step:
    """A step that rests on an event."""
    return Step(says, event.place(key))
