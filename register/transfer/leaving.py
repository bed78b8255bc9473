"""What stays behind is taken off, in the history that goes: the new owner does not have it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from hashlib import sha256
from itertools import count

from msgspec import Struct

from register.ledger.ledger import Ledger
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
        spell = ledger.places.current(part)
        fitted = spell is not None and (
            spell.aircraft == scope.aircraft or (spell.into or "") in scope.parts
        )
        if not fitted and part not in shared:
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
