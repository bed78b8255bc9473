"""What only follows from a file that cannot be read, and is no problem of the record it is at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.trouble import Problem

#: Codes of rules that miss something: a name, or something a record would count for.
_MISSING = ("-unknown", "-idle", "-not-listed", "-outside", "-unclear")
#: What only a kit says.
_OF_KITS = ("notice-unknown", "answer-idle")


def check_follow_ons(ledger: Ledger, found: Iterable[Problem]) -> Iterator[Problem]:
    """The problems without those that only follow from a file that cannot be read.

    That file is an error of its own. To amend the records that name what it says would
    make them wrong as soon as it is back.
    """
    if not ledger.records.lost:
        yield from found
        return
    doubtful = _make_doubt(ledger)
    events = {event.path: event for event in ledger.settled.originals.values()}
    kits = any(path.startswith("kits/") for path in ledger.records.lost)
    for problem in found:
        event = events.get(problem.place.file)
        if kits and problem.code in _OF_KITS:
            continue
        if problem.code.endswith(_MISSING) and event is not None and doubtful(event):
            continue
        yield problem


def _make_doubt(ledger: Ledger) -> Callable[[Event], bool]:
    records = ledger.records
    lost: set[Subject] = {("aircraft", name) for name in records.aircraft if ledger.is_lost(name)}
    lost |= {("part", name) for name, file in records.parts.items() if file.path in records.lost}

    def doubtful(event: Event) -> bool:
        top, _, rest = event.path.partition("/")
        home: Subject = (
            "aircraft" if top == "aircraft" else "part",
            rest.partition("/")[0],
        )
        return home in lost or any(subject in lost for subject in ledger.subjects_of(event))

    return doubtful
