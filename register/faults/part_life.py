"""How long parts of a kind last: which parts failed at what age, and which are still going.

A part has failed where it was rejected or scrapped, or came off with a snag that counts (not
cosmetic or only watched) and that no fix had closed. Everything else is a suspension: still
installed, or taken off for another reason. A part with an opening counter is watched from there on;
one whose opening counter is not known is left out, for its age is not known either.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from register.faults.lives import Life, make_life
from register.findings.snags import SnagState, fold_snags
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Condition, Remove
from register.records.events import Event
from register.records.values import Span

NOT_COUNTED = ("cosmetic", "monitor")
REJECTED = ("rejected", "scrapped")
Left = Literal["unknown-age", "never-used", "unclear-age"]


class PartLife(Struct, frozen=True):
    """One part: its life, and the record that ended it; or why it is left out."""

    part: str
    life: Life | None
    ended_by: Event | None
    estimated: bool
    left_out: Left | None


def gather_lives(ledger: Ledger, kind: str, counter: str) -> tuple[PartLife, ...]:
    """Every part of a kind with its age in a counter, up to the end of what is known."""
    snags: dict[str, list[SnagState]] = {}
    for state in fold_snags(ledger).values():
        if state.part is not None and state.severity not in NOT_COUNTED:
            snags.setdefault(state.part, []).append(state)
    return tuple(
        _life(ledger, name, counter, snags.get(name, []))
        for name in sorted(ledger.records.parts)
        if ledger.records.parts[name].kind == kind
    )


def _life(ledger: Ledger, part: str, counter: str, snags: list[SnagState]) -> PartLife:
    subject: Subject = ("part", part)
    opening = ledger.records.parts[part].opening.value(counter)
    if opening.is_open:
        return PartLife(part, None, None, False, "unknown-age")
    end = _find_end(ledger, part, snags)
    point = ledger.orders.last_point(end.id) if end is not None else None
    value = ledger.value(subject, counter, point)
    if value.is_open:
        return PartLife(part, None, end, False, "unclear-age")
    entry, age = _middle(opening), _middle(value)
    if not age > entry:
        return PartLife(part, None, end, False, "never-used")
    guessed = not value.is_exact or value.known != "known"
    return PartLife(part, make_life(age, end is not None, entry), end, guessed, None)


def _middle(span: Span) -> float:
    high = span.low if span.high is None else span.high
    return float(span.low + high) / 2


def _find_end(ledger: Ledger, part: str, snags: list[SnagState]) -> Event | None:
    """The first record by which the part had failed; a later life of it is not counted."""
    for event in ledger.about(("part", part)):
        body = event.body
        if isinstance(body, Condition) and body.condition in REJECTED:
            return event
        if isinstance(body, Remove) and any(_stood_open(ledger, snag, event) for snag in snags):
            return event
    for spell in ledger.places.spells.get(part, ()):
        # Taken off because another went in: no removal of its own was written.
        if spell.removal is None and spell.end is not None:
            after = ledger.orders.events[spell.end.latest.event]
            if any(_stood_open(ledger, snag, after) for snag in snags):
                return after
    return None


def _stood_open(ledger: Ledger, snag: SnagState, event: Event) -> bool:
    """Was a snag open when something happened? A fix of that very day may be the swap itself."""
    if snag.first_day > event.moment.day:
        return False
    closing = [fix for fix in snag.fixes if getattr(fix.body, "closes", False) and not snag.is_open]
    return all(fix.moment.day >= event.moment.day for fix in closing)
