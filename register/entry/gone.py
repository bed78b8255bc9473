"""What went to another owner takes no facts dated after that day."""

from __future__ import annotations

from collections.abc import Iterator

from register.entry.clerk import Clerk, When
from register.ledger.counters import Subject
from register.records.values import Ref
from register.text.nodes import Plain
from register.trouble import Exit, Place, RegisterError

_REFS = ("aircraft", "part", "subject", "into", "parts", "uses")
_EVENTS = ("snag", "snags", "job", "follows")
#: Mending what is there already, and undoing the change itself, stay possible.
ALWAYS = frozenset(("amendment", "withdrawal", "change-of-owner"))


def refuse_gone(clerk: Clerk, kind: str, body: dict[str, Plain], when: When) -> None:
    """Refuse a fact about an aircraft or part of another owner's, dated after it went.

    Earlier ones stay possible: they go along with the next handover. Raises RegisterError
    (REFUSED `went-away`).
    """
    if kind in ALWAYS:
        return
    for subject in _subjects(clerk, body):
        change = clerk.ledger.gone(subject)
        if change is not None and when.day > change.moment.day:
            day = change.moment.day.isoformat()
            raise RegisterError(
                f"{subject[1]} went to another owner on {day}; nothing later is recorded here",
                mend=f"--at {day}   or a day before it; if it did not go: "
                f"tailsheaf withdraw {clerk.short(change.id)}",
                exit_code=Exit.REFUSED,
                code="went-away",
            )


def _subjects(clerk: Clerk, body: dict[str, Plain]) -> Iterator[Subject]:
    for key in _REFS:
        for text in _texts(body.get(key)):
            name, _, id_ = text.partition(".")
            subject = clerk.ledger.subject_of(Ref(name, id_ or None, Place("")))
            if subject is not None:
                yield subject
    for key in _EVENTS:
        for text in _texts(body.get(key)):
            event = clerk.ledger.settled.originals.get(text)
            if event is not None:
                yield from clerk.ledger.subjects_of(event)


def _texts(value: Plain) -> list[str]:
    if isinstance(value, list):
        return [item for item in value if isinstance(item, str)]
    return [value] if isinstance(value, str) else []
