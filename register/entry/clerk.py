"""The clerk: knows the fleet, the hour and the hand, and makes plans of file changes."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path, PurePosixPath

from msgspec import Struct

from register.entry.ids import SHORTEST, make_id, shorten_id
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.storage.writing import FileChange
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError


class Stamp(Struct, frozen=True):
    """What every writing command takes: --at, --after, --by, --note, --source, as typed."""

    at: str | None = None
    after: str | None = None
    by: str | None = None
    note: str | None = None
    source: str | None = None


class When(Struct, frozen=True):
    """The day of an entry, and the time if one was given or taken."""

    day: date
    instant: datetime | None = None

    @property
    def text(self) -> str:
        """As written in a record: ISO 8601, with offset when there is a time."""
        if self.instant is None:
            return self.day.isoformat()
        return self.instant.isoformat(timespec="minutes")


class Written(Struct, frozen=True):
    """One record that a plan writes."""

    id: str
    path: str
    kind: str


class Plan(Struct, frozen=True):
    """Changes of files, the commit message, and the line that says what was written.

    `subjects` are whom it touches: what changed for them is said after writing.
    `warnings` are facts recorded though unlikely.
    """

    changes: tuple[FileChange, ...]
    message: str
    says: tuple[str, ...]
    written: tuple[Written, ...] = ()
    subjects: tuple[Subject, ...] = ()
    warnings: tuple[str, ...] = ()

    def plus(self, other: Plan) -> Plan:
        """Two plans as one change."""
        return Plan(
            self.changes + other.changes,
            self.message,
            self.says + other.says,
            self.written + other.written,
            tuple(dict.fromkeys(self.subjects + other.subjects)),
            self.warnings + other.warnings,
        )


@dataclass
class Clerk:
    """One command's view of the fleet while it plans. `sources` are the bytes of its files."""

    ledger: Ledger
    sources: dict[str, bytes]
    now: datetime
    machine: str
    chance: random.Random
    by: str | None = None
    _taken: set[str] = field(default_factory=set)
    _seq: int = 0
    _folders: frozenset[str] | None = None
    #: Where the fleet lies: history there may bring back what cannot be read.
    root: Path | None = None

    def __post_init__(self) -> None:
        self._taken = set(self.ledger.settled.originals)
        for event in self.ledger.settled.originals.values():
            if event.machine == self.machine:
                self._seq = max(self._seq, event.seq)

    def know_of(self, ids: Iterable[str], seq: int, folders: Iterable[str]) -> None:
        """Take note of the fleet beyond the ledger: ids of its events, and the last number.

        `folders` are those whose events the ledger holds.
        """
        self._taken.update(ids)
        self._seq = max(self._seq, seq)
        self._folders = frozenset(folders)

    def saw_all_of(self, plan: Plan) -> bool:
        """Did the ledger hold the events of all aircraft and parts that a plan touches?"""
        tops = {"aircraft": "aircraft", "part": "parts"}
        touched = {f"{tops[kind]}/{name}" for kind, name in plan.subjects}
        touched.update(
            "/".join(change.path.split("/")[:2])
            for change in plan.changes
            if change.path.startswith(("aircraft/", "parts/"))
        )
        return self._folders is None or touched <= self._folders

    @property
    def today(self) -> date:
        """Today in the home zone."""
        return self.now.astimezone(self.ledger.records.zone).date()

    def new_id(self) -> str:
        """An id for a new record or thing."""
        made = make_id(self.chance, self._taken)
        self._taken.add(made)
        return made

    def ref(self, subject: Subject) -> str:
        """A reference as the program writes it: name.id."""
        self.check_read(subject)
        file = self.ledger.file_of(subject)
        return f"{subject[1]}.{file.id}" if file.id else subject[1]

    def check_read(self, subject: Subject) -> None:
        """Refuse what names an aircraft or part whose file cannot be read.

        What is written of it goes by its id, and by what it is: both stand in that file.
        """
        self.check_file_read(self.ledger.file_of(subject).path, subject[1])

    def check_file_read(self, path: str, name: str) -> None:
        """Refuse to make or change what a file says that stands there and cannot be read."""
        if path not in self.ledger.records.lost:
            return
        from register.checks.bringing_back import find_way_back

        mend = "tailsheaf check"
        if self.root is not None:
            mend = find_way_back(self.root, path, self.sources.get(path))
        raise RegisterError(
            f"{name}'s file cannot be read: {path}; nothing was written",
            mend=f"{mend};  tailsheaf check   names what is wrong in it",
            exit_code=Exit.REFUSED,
            code="file-unreadable",
        )

    def short(self, id_: str) -> str:
        """An event id as shown and typed."""
        return shorten_id(id_, self._taken | {id_})

    def find_event(self, typed: str, *, kind: str | None = None) -> Event:
        """An event by unambiguous prefix of its id, withdrawn ones included."""
        word = typed.strip().lower()
        events = self.ledger.settled.originals
        if word in events:
            found = [events[word]]
        else:
            found = [
                event
                for id_, event in sorted(events.items())
                if id_.startswith(word) and (kind is None or event.kind == kind)
            ]
        what = (kind or "event").replace("-", " ")
        if len(word) < SHORTEST and word not in events:
            raise RegisterError(
                f"{typed[:40]!r} is too short for the id of an event",
                mend=f"type {SHORTEST} characters or more; tailsheaf history NAME shows them",
                code="event-short",
            )
        if not found:
            raise RegisterError(
                f"no {what} has an id beginning with {typed[:40]!r}",
                mend="tailsheaf history AIRCRAFT   shows the ids",
                code="event-unknown",
            )
        if len(found) > 1:
            raise RegisterError(
                f"{typed!r} is the beginning of {len(found)} ids: "
                + ", ".join(self.short(event.id) for event in found[:5]),
                mend=f"type at least {SHORTEST} characters, or as many as are shown",
                code="event-ambiguous",
            )
        event = found[0]
        if kind is not None and event.kind != kind:
            raise RegisterError(
                f"{typed!r} is not a record of kind {what} but {event.kind.replace('-', ' ')}",
                mend=f"name one of kind {what}",
                code="event-kind",
            )
        return self.ledger.orders.events.get(event.id, event)

    def event_change(
        self, folder: str, kind: str, when: When, stamp: Stamp, body: dict[str, Plain]
    ) -> tuple[FileChange, Written]:
        """The file of one new event. `folder` is aircraft/<name> or parts/<name>."""
        id_ = self.new_id()
        self._seq += 1
        time = f"-{when.instant:%H%M}" if when.instant else ""
        name = f"{when.day.isoformat()}{time}-{kind}-{id_}.yaml"
        path = str(PurePosixPath(folder, "events", f"{when.day:%Y}", f"{when.day:%m}", name))
        data: dict[str, Plain] = {"record": kind, "id": id_, "when": when.text}
        if stamp.after:
            data["after"] = stamp.after
        data.update({key: value for key, value in body.items() if value is not None})
        data["note"] = stamp.note
        by = stamp.by or self.by
        data["by"] = by
        data["typed"] = self.now.isoformat(timespec="seconds")
        data["machine"] = self.machine
        data["seq"] = self._seq
        data["source"] = stamp.source or self._source(when)
        text = render_yaml({key: value for key, value in data.items() if value is not None})
        return FileChange(path, None, text.encode()), Written(id_, path, kind)

    def _source(self, when: When) -> str:
        return "at-the-time" if when.day == self.today else "later"

    def check_writable(self) -> None:
        """Refuse to write a fleet of a newer schema."""
        if self.ledger.records.is_newer:
            raise RegisterError(
                f"this fleet was written by a newer program (schema "
                f"{self.ledger.records.fleet.schema}); it is read, not written",
                mend="bring tailsheaf up to date",
                exit_code=Exit.CANNOT_RUN,
                code="schema-newer",
            )
