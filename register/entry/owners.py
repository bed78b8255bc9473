"""An aircraft goes to another owner, or comes from one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from register.entry.clerk import Clerk, Plan, Stamp, Written
from register.entry.drafting import Draft, check_words
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.owner_bodies import ChangeOfOwner
from register.storage.writing import FileChange
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError

KIND = "change-of-owner"


def plan_leaving(
    clerk: Clerk, aircraft: str, parts: Sequence[str], to: str | None, stamp: Stamp
) -> Plan:
    """The record that an aircraft went with these parts; `to` whom stays in this register.

    Raises RegisterError (REFUSED `records-later`) where facts are dated after that day.
    """
    draft = Draft(clerk, stamp)
    later = _later(clerk.ledger, aircraft, draft.when.day)
    if later is not None:
        day = later.moment.day.isoformat()
        raise RegisterError(
            f"{aircraft} has a record of {day}, after the day it would go",
            mend=f"--at {day}   or later; or amend the record's day",
            exit_code=Exit.REFUSED,
            code="records-later",
        )
    words = " ".join((to or "").split())
    if words:
        check_words(words, "to")
    body: dict[str, Plain] = {
        "aircraft": clerk.ref(("aircraft", aircraft)),
        "way": "out",
        "parts": [clerk.ref(("part", name)) for name in parts],
        "text": words or None,
    }
    draft.write(f"aircraft/{aircraft}", KIND, body)
    draft.touch(("aircraft", aircraft))
    draft.say(f"{aircraft} went to another owner{draft.day}, with {len(parts)} parts")
    return draft.plan(f"Hand {aircraft} over to another owner")


def _later(ledger: Ledger, aircraft: str, day: date) -> Event | None:
    events = ledger.about(("aircraft", aircraft))
    return next((event for event in reversed(events) if event.moment.day > day), None)


def draft_coming(
    clerk: Clerk, aircraft: str, refs: tuple[str, Sequence[str]], stamp: Stamp
) -> tuple[FileChange, Written]:
    """The record that an aircraft came from another owner.

    `refs` name the aircraft and its parts as records do: they are not in this register yet.
    """
    draft = Draft(clerk, stamp)
    body: dict[str, Plain] = {"aircraft": refs[0], "way": "in", "parts": list(refs[1])}
    written = draft.write(f"aircraft/{aircraft}", KIND, body)
    return draft.changes[0], written


def find_day_gone(ledger: Ledger, aircraft: str) -> date | None:
    """The day on which an aircraft went to another owner; None while it is here."""
    event = ledger.gone(("aircraft", aircraft))
    return None if event is None else event.moment.day


def parts_gone_with(ledger: Ledger, aircraft: str) -> tuple[str, ...]:
    """The parts that went with an aircraft that is gone."""
    event = ledger.gone(("aircraft", aircraft))
    if event is None or not isinstance(event.body, ChangeOfOwner):
        return ()
    names = (ledger.names.part_name(ref) for ref in event.body.parts)
    return tuple(sorted(name for name in names if name is not None))
