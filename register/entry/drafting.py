"""A plan while it is being put together: one hand, one moment, one or more events."""

from __future__ import annotations

import re

from msgspec.structs import replace

from register.entry.clerk import Clerk, Plan, Stamp, When, Written
from register.entry.dates import read_when, take_now
from register.entry.gone import refuse_gone
from register.entry.naming import match_name
from register.ledger.counters import Subject
from register.records.bodies import Flights
from register.records.events import SOURCES, Event
from register.storage.writing import FileChange
from register.text.nodes import Plain
from register.trouble import RegisterError

MOST_WORDS = 2000
#: Control characters but tab and line end, signs that turn the direction, halves of a character.
_HIDDEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)


class Draft:
    """Collects the events of one command. The stamp is read once and holds for all of them."""

    def __init__(self, clerk: Clerk, stamp: Stamp, *, takes_time: bool = False):
        self.clerk = clerk
        self.warnings: list[str] = []
        self.says: list[str] = []
        self.changes: list[FileChange] = []
        self.written: list[Written] = []
        self.subjects: list[Subject] = []
        #: Names of tasks recorded as done in this draft.
        self.done: set[str] = set()
        #: While true, each event follows the one before it.
        self.chaining = False
        self.chain: str | None = None
        self.when, self.stamp = self._read(stamp, takes_time=takes_time)

    def _read(self, stamp: Stamp, *, takes_time: bool) -> tuple[When, Stamp]:
        clerk = self.clerk
        zone = clerk.ledger.records.zone
        anchor = read_after(clerk, stamp.after) if stamp.after else None
        if stamp.at is not None:
            when = read_when(stamp.at, clerk.now, zone)
            if when.day > clerk.today:
                self.warnings.append(
                    f"{when.day.isoformat()} is still to come: today is "
                    f"{clerk.today.isoformat()};  if that is a slip:  tailsheaf check"
                )
        elif anchor is not None:
            when = When(anchor[0].moment.day)
        elif takes_time:
            when = take_now(clerk.now, zone)
        else:
            when = When(clerk.today)
        if anchor is not None and anchor[0].moment.day != when.day:
            raise RegisterError(
                f"{clerk.short(anchor[0].id)} is of {anchor[0].moment.day.isoformat()}, "
                f"not of {when.day.isoformat()}",
                mend="leave --at out: the entry takes the day of the event it follows",
                code="after-other-day",
            )
        source = (
            match_name(stamp.source.replace(" ", "-"), SOURCES, "source") if stamp.source else None
        )
        note = stamp.note.strip() if stamp.note else None
        if note:
            check_words(note, "note")
        return when, replace(
            stamp,
            after=anchor[1] if anchor else None,
            by=self._read_by(stamp.by),
            source=source,
            note=note or None,
        )

    def _read_by(self, by: str | None) -> str | None:
        word = (by or "").strip().lower()
        if not word:
            return None
        people = self.clerk.ledger.records.people
        if word not in people:
            check_words(word, "by")
            known = f" ({', '.join(sorted(people)[:6])})" if people else ""
            self.warnings.append(f"by: {word!r} is not among the people of private.yaml{known}")
        return word

    @property
    def day(self) -> str:
        """The day as said: nothing for today, else " on DATE"."""
        return "" if self.when.day == self.clerk.today else f" on {self.when.day.isoformat()}"

    def write(
        self, folder: str, kind: str, body: dict[str, Plain], *, after: str | None = None
    ) -> Written:
        """Add one event; `after` (an id, or id:n) overrides the stamp's."""
        if after is None and self.chaining:
            after = self.chain
        stamp = replace(self.stamp, after=after) if after else self.stamp
        check_signs(kind, [body, stamp.note, stamp.by])
        refuse_gone(self.clerk, kind, body, self.when)
        change, written = self.clerk.event_change(folder, kind, self.when, stamp, body)
        self.changes.append(change)
        self.written.append(written)
        self.chain = written.id if self.chaining else self.chain
        return written

    def say(self, text: str) -> None:
        """What was written, in one sentence."""
        self.says.append(text)

    def warn(self, text: str) -> None:
        """A fact that is recorded though it is unlikely."""
        if text not in self.warnings:
            self.warnings.append(text)

    def touch(self, *subjects: Subject) -> None:
        """Whom this is about: what it changes for them is said after writing."""
        self.subjects.extend(item for item in subjects if item not in self.subjects)

    def plan(self, message: str) -> Plan:
        """The finished plan."""
        return Plan(
            tuple(self.changes),
            message,
            tuple(self.says),
            tuple(self.written),
            tuple(self.subjects),
            tuple(self.warnings),
        )


def read_after(clerk: Clerk, text: str) -> tuple[Event, str]:
    """`EVENT` or `EVENT:N`: the event, and the reference as written in a record."""
    word, colon, number = text.strip().lower().partition(":")
    event = clerk.find_event(word)
    if event.id in clerk.ledger.settled.withdrawn:
        raise RegisterError(
            f"{clerk.short(event.id)} is withdrawn; nothing can follow it",
            mend="name another event of that day",
            code="event-withdrawn",
        )
    if not colon:
        return event, event.id
    body = event.body
    most = body.count if isinstance(body, Flights) else 0
    if not (number.isascii() and number.isdigit() and 1 <= int(number[:6]) <= most):
        short = clerk.short(event.id)
        raise RegisterError(
            f"{short} has {most} flight{'s' * (most != 1)}, no flight {number[:12]!r}"
            if most
            else f"{short} is {with_article(event.kind)}; only flights are numbered",
            mend=f"--after {short}:{most}" if most else f"--after {short}",
            code="after-wrong",
        )
    return event, f"{event.id}:{int(number)}"


def check_words(text: str, what: str) -> None:
    """Refuse words no record should carry: empty, or longer than a page."""
    if not text.strip():
        raise RegisterError(
            f"{what}: no words were given", mend="say it in a few words", code="words-none"
        )
    if len(text) > MOST_WORDS:
        raise RegisterError(
            f"{what}: {len(text)} characters; at most {MOST_WORDS} are kept",
            mend="say it shorter, and keep the long text in a file of your own",
            code="words-many",
        )


def check_signs(what: str, value: Plain) -> None:
    """Refuse signs that no one types on purpose: they would hide or reorder what is read."""
    if isinstance(value, str):
        found = _HIDDEN.search(value)
        if found:
            raise RegisterError(
                f"{what}: the words hold a hidden character (U+{ord(found[0]):04X})",
                mend="type them again without it",
                code="words-hidden",
            )
    elif isinstance(value, list):
        for item in value:
            check_signs(what, item)
    elif isinstance(value, dict):
        for key, item in value.items():
            check_signs(key, item)


def join_names(names: list[str] | tuple[str, ...]) -> str:
    """heron, kestrel and petrel."""
    listed = list(names)
    if len(listed) < 2:
        return "".join(listed)
    return ", ".join(listed[:-1]) + " and " + listed[-1]


def count_words(count: int, word: str) -> str:
    """1 flight, 3 flights."""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def with_article(word: str) -> str:
    """a part, an aircraft; a name with hyphens as words."""
    text = word.replace("-", " ")
    return f"{'an' if text[:1].lower() in 'aeio' else 'a'} {text}"
