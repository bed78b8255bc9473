"""What stays behind is taken off, in the history that goes: the new owner does not have it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from hashlib import sha256
from itertools import count

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.ledger.places import Spell
from register.text.nodes import Plain
from register.transfer.rewriting import LETTERS
from register.transfer.scope import Scope


class Removal(Struct, frozen=True):
    """A part that stays behind: the record that takes it off there, and its id."""

    id: str
    part: str
    record: dict[str, Plain]


def find_removals(
    ledger: Ledger, scope: Scope, day: date, written: Callable[[str, str], str]
) -> tuple[Removal, ...]:
    """A removal for each part that is fitted or in use now and does not go.

    `day` is that of the change of owner; `written` gives a thing as records name it.
    """
    found = []
    shared = {*ledger.places.assigned_parts(scope.aircraft)}
    for part in scope.stubs:
        spell = _stay_left_open(ledger, scope, part, day)
        if spell is None and part not in shared:
            continue
        id_ = _make_id(ledger, part, scope.aircraft)
        record: dict[str, Plain] = {
            "record": "remove",
            "id": id_,
            "when": day.isoformat(),
            "part": written("part", part),
            "reason": "stayed with the owner before",
            "source": "later",
        }
        if spell is None or spell.into is None:
            record["aircraft"] = written("aircraft", scope.aircraft)
        found.append(Removal(id_, part, record))
    return tuple(found)


def _stay_left_open(ledger: Ledger, scope: Scope, part: str, day: date) -> Spell | None:
    """The stay of a part in what goes that no record that goes ends: it lasts still, or ended
    unsaid on an earlier day, when the part was put in somewhere else."""
    for spell in reversed(ledger.places.spells.get(part, ())):
        if spell.aircraft != scope.aircraft and (spell.into or "") not in scope.parts:
            continue
        if spell.end is None:
            return spell
        by = ledger.orders.events[spell.end.latest.event]
        told = spell.removal is not None or by.id in scope.homes
        return None if told or by.moment.day >= day else spell
    return None


def _make_id(ledger: Ledger, part: str, aircraft: str) -> str:
    """The same each time, so that a later file says the same of it; not that of the same part
    taken off another aircraft, which the same owner may buy too."""
    thing, host = ledger.records.parts[part].id or part, ledger.records.aircraft[aircraft].id
    turns = (removal_id(thing, host or aircraft, turn) for turn in count())
    return next(id_ for id_ in turns if id_ not in ledger.settled.originals)


def removal_id(part: str, aircraft: str, turn: int) -> str:
    """The id for the removal of a part from an aircraft, by their ids."""
    digest = sha256(f"stayed/{part}/{aircraft}/{turn}".encode()).digest()
    return "w" + "".join(LETTERS[byte % 32] for byte in digest[:9])
