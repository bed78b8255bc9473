"""What the events of a change of owner say: the change itself, and totals earned elsewhere."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.records.values import NOTHING, Ref, Span

#: Which way an aircraft went, seen from this fleet.
WAYS = ("out", "in")


class ChangeOfOwner(Struct, frozen=True):
    """An aircraft went to another owner (`out`) or came from one (`in`), with these parts."""

    aircraft: Ref | None
    way: str
    text: str
    parts: tuple[Ref, ...] = ()


class UsageElsewhere(Struct, frozen=True):
    """What a part gained in aircraft that are not in this register: one stay, or a piece of it.

    Counters are counts, or minutes; a counter that is not named gained nothing there.
    `stands_for` are digests of the ids of the records it stands for (`digest_id` of
    `ledger/stand_ins.py`); none where it was written without, and then it counts always.
    """

    part: Ref | None
    since: date | None
    until: date | None
    gained: tuple[tuple[str, Span], ...]
    stands_for: frozenset[str] = frozenset()

    def amount(self, counter: str) -> Span:
        """What it adds to a counter."""
        return next((span for name, span in self.gained if name == counter), NOTHING)

    @property
    def flights(self) -> Decimal:
        """Flights for certain."""
        return self.amount("flights").low
