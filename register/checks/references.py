"""References whose id is nobody's: the name still counts, but the id should decide."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey
from register.records.events import Event
from register.records.values import Ref
from register.trouble import Problem

_KEYS = ("aircraft", "part", "subject", "into")


def check_reference_ids(survey: Survey) -> Iterator[Problem]:
    """A reference `name.id` with an id that nothing here has: half a line, or a thing renamed."""
    ledger = survey.ledger
    ids = {
        file.id
        for shelf in (ledger.records.aircraft, ledger.records.parts)
        for file in shelf.values()
    }
    for event in ledger.events:
        for key, ref in _refs(event):
            if ref.id is None or ref.id in ids:
                continue
            subject = ledger.subject_of(ref)
            if subject is None:
                # Named and unknown altogether: another rule says so.
                continue
            if survey.is_lost(subject):
                # Its own id stands in a file that cannot be read.
                continue
            own = ledger.file_of(subject).id
            yield Problem(
                ref.place,
                "reference-id-unknown",
                f"{key}: nothing in this fleet has the id {ref.id!r}; it counts as {ref.name}",
                f'write  "{ref.name}.{own}"' if own else f'write  "{ref.name}"',
                "warning",
            )


def _refs(event: Event) -> Iterator[tuple[str, Ref]]:
    for key in _KEYS:
        ref = getattr(event.body, key, None)
        if isinstance(ref, Ref):
            yield key, ref
    for key in ("parts", "uses"):
        for ref in getattr(event.body, key, None) or ():
            yield key, ref
