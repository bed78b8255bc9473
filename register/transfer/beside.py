"""The records of a handover file beside those of this fleet: new, known, changed, or clashing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.ledger.places import HANDOVER
from register.records.bodies import Other
from register.records.events import Event
from register.records.gathering import Records
from register.records.owner_bodies import ChangeOfOwner
from register.transfer.arrival import RecordCollision, place_file
from register.transfer.leaving import removal_id
from register.transfer.tellings import join_tellings
from register.transfer.usage import usage_id

#: What the handover makes itself: a later file may have it no longer.
MADE = ("usage-elsewhere", "remove")


class Compared(Struct, frozen=True):
    """Records by what they are here. Paths are those of this fleet.

    `fresh` are new; `same` are here already, byte for byte; `changed` are told otherwise than
    in the file before; `ours` are here in this fleet's own words, which stay; `gone` are
    those of the file before that this one no longer has. `doubled` are those of `same` that
    lie here under another thing, or in another telling; `joined` is what such a record here
    and the one that comes in say together, by its path here.
    """

    fresh: tuple[str, ...]
    same: int
    changed: tuple[str, ...]
    ours: tuple[str, ...]
    gone: tuple[str, ...]
    collisions: tuple[RecordCollision, ...]
    doubled: tuple[str, ...] = ()
    joined: dict[str, bytes] = {}


def compare_records(
    theirs: Records,
    before: Records | None,
    names: Mapping[tuple[str, str], str],
    own: Ledger,
    bytes_of: tuple[Mapping[str, bytes], Mapping[str, bytes], Mapping[str, bytes]],
    received: Collection[str],
    *,
    is_known: bool,
) -> Compared:
    """Hold every record beside what is here.

    `before` are the records of the file that was taken in last, `bytes_of` the files of this
    fleet, of this file and of that one, each by its own paths; `received` are ids of records
    that came by any handover. `is_known`: the aircraft is here, or was, under the same id.
    """
    past = {event.id: event for event in before.events} if before is not None else {}
    made = _made_here(own) if is_known and _handed_over(own) else frozenset()
    beside = _Beside(own, past, bytes_of, received, made, is_known)
    sorts: dict[str, list[str]] = defaultdict(list)
    joined: dict[str, bytes] = {}
    collisions: list[RecordCollision] = []
    for event in theirs.events:
        path = place_file(event.path, names) or event.path
        there = own.settled.originals.get(event.id)
        sort, data = beside.sort(event, path, there)
        sorts[sort].append(path)
        if there is not None and data is not None:
            joined[there.path] = data
        if there is not None and sort == "collision":
            collisions.append(RecordCollision(event.id, path, there.path))
    now = {event.id for event in theirs.events}
    gone = tuple(
        place_file(event.path, names) or event.path
        for event in past.values()
        if event.id not in now
    )
    return Compared(
        tuple(sorts["fresh"]),
        len(sorts["same"]) + len(sorts["doubled"]),
        tuple(sorts["changed"]),
        tuple(sorts["ours"]),
        gone,
        tuple(collisions),
        tuple(sorts["doubled"]),
        joined,
    )


class _Beside(Struct, frozen=True):
    """What a record that comes in is held beside."""

    own: Ledger
    past: dict[str, Event]
    bytes_of: tuple[Mapping[str, bytes], Mapping[str, bytes], Mapping[str, bytes]]
    received: Collection[str]
    made: frozenset[str]
    is_known: bool

    def sort(self, event: Event, path: str, there: Event | None) -> tuple[str, bytes | None]:
        """What it is here; and where it says more than its telling here, what both say."""
        mine, new, old = self.bytes_of
        then, data = self.past.get(event.id), new[event.path]
        if then is not None:
            if there is not None and there.path != path and path not in mine:
                return "doubled", None
            return "same" if old[then.path] == data else "changed", None
        if event.id in self.made and is_made(event):
            return "ours", None
        if there is None:
            return "fresh", None
        held = mine.get(there.path)
        if held == data:
            # With a part of its own, or told of one: it lies here once.
            return "same" if there.path == path else "doubled", None
        joined = None
        if held is not None and event.id in self.received:
            joined = join_tellings(held, data)
        if joined is not None:
            return "doubled", None if joined == held else joined
        return "ours" if self.is_known and there.kind == event.kind else "collision", None


def pictures_here(
    theirs: Records, own: Ledger, names: Mapping[tuple[str, str], str], base: Collection[str]
) -> tuple[str, ...]:
    """Files kept with records that are here already, under the names that this one gives them:
    the record here names its own. `base` are paths that the file before brought."""
    found = []
    for event in theirs.events:
        path = event.body.attachment if isinstance(event.body, Other) else None
        if path is None or event.id not in own.settled.originals:
            continue
        placed = place_file(path, names)
        if placed is not None and placed not in base:
            found.append(placed)
    return tuple(found)


def is_made(event: Event) -> bool:
    """Whether a handover made the record, to stand for what did not go."""
    return event.kind in MADE and event.machine == HANDOVER


def _handed_over(own: Ledger) -> bool:
    """Whether anything of this fleet ever went to another owner."""
    return any(
        isinstance(event.body, ChangeOfOwner) and event.body.way == "out"
        for event in own.settled.originals.values()
    )


def _made_here(own: Ledger) -> frozenset[str]:
    """Ids of records that a handover of this fleet's own makes: they stand for what is here."""
    found: set[str] = set()
    hosts = [file.id or name for name, file in own.records.aircraft.items()]
    for name, file in own.records.parts.items():
        thing = file.id or name
        found.update(
            usage_id(f"{thing}/{item.event.id}", turn)
            for item in own.counters.contributions(("part", name))
            for turn in range(2)
        )
        found.update(removal_id(thing, host, turn) for host in hosts for turn in range(2))
    return frozenset(found)


def is_older(theirs: Records, before: Records | None, days: tuple[str, str]) -> bool:
    """Whether a file is older than the one taken in last: by its day (`days`: this one's and
    that one's), else because it lacks records of that one and has no others."""
    if before is None:
        return False
    if days[1] and days[0] != days[1]:
        return days[0] < days[1]
    now = {event.id for event in theirs.events if not is_made(event)}
    then = {event.id for event in before.events if not is_made(event)}
    return now < then


def keep_ours(files: Mapping[str, bytes], left: Collection[str]) -> dict[str, bytes]:
    """The files without those that stay as they are here."""
    return {path: data for path, data in files.items() if path not in left}
