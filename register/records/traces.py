"""What the records of one sheaf say of anything else: enough to know what hangs together.

A sheaf is the folder of one aircraft or part. A trace is kept beside its records, so that
a command learns which other sheaves could change an answer without opening their records.
Too much named here costs time; too little would cost a right answer.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date, datetime

from msgspec import Struct

from register.records.bodies import Amendment, Flights, Install, Remove, Withdrawal
from register.records.events import Event
from register.records.values import Ref
from register.text.nodes import Mapping, Node, Scalar, Sequence

#: What an event's id, or the beginning of one, can look like.
_WORD = re.compile(r"[a-z0-9]{3,32}", re.IGNORECASE)
_NAME = re.compile(r"[a-z0-9][a-z0-9-]*(\.[a-z0-9]+)?", re.IGNORECASE)
#: Amended keys after which the order within the day of the event has to be found anew.
_ORDERING = frozenset({"after", "seq", "machine", "part", "typed", "count", "record", "id"})
#: Amended keys that name an aircraft or part.
_NAMING = frozenset({"aircraft", "part", "into", "subject", "parts", "uses"})


class Move(Struct, frozen=True):
    """A part put in or taken off: day, part as named, and what tells its place in the day."""

    event: str
    day: int
    part: tuple[str, ...]
    machine: str
    seq: int
    order: tuple[str, str, int]


class Anchor(Struct, frozen=True):
    """An event that stands after another; sure where that is one of its own sheaf and day."""

    day: int
    event: str
    after: str
    is_sure: bool


#: Of so many of a machine's newest days the last moment is kept: one may be of a wrong clock.
_DAYS = 12
#: How many records a machine wrote, and the last moments of its newest days, newest first.
Wrote = tuple[int, tuple[datetime, ...]]


class Trace(Struct, frozen=True):
    """What is named in a sheaf. Days are ordinals.

    `names` are names and ids of aircraft and parts, `perhaps` words that may be such;
    `words` may be ids of events, or beginnings of them; `ids` are the sheaf's own events,
    joined by blanks. `clocks` are times of events that no machine numbered, `anchors` events
    that stand after another. `shifts` are days to which an amendment moved an event,
    `restless` events whose place in their day an amendment or withdrawal changed. `seqs` is the
    highest number given by each machine, `wrote` how many records and the last moments of
    the newest days on which it did.
    `odd` is true where none of this can be trusted.
    """

    names: frozenset[str]
    perhaps: frozenset[str]
    words: frozenset[str]
    ids: str
    days: frozenset[int]
    moves: tuple[Move, ...]
    clocks: frozenset[tuple[int, str]]
    anchors: tuple[Anchor, ...]
    shifts: tuple[int, ...]
    restless: tuple[str, ...]
    seqs: dict[str, int]
    wrote: dict[str, Wrote]
    odd: bool


def trace_events(events: Iterable[Event]) -> Trace:
    """The trace of the events of one sheaf."""
    tracer = _Tracer()
    for event in events:
        tracer.add(event)
    return tracer.trace()


def add_written(
    wrote: dict[str, Wrote], machine: str, count: int, moments: tuple[datetime, ...]
) -> None:
    """Add records of a machine to the tally: how many, and when they were typed."""
    before, known = wrote.get(machine, (0, ()))
    latest: dict[date, datetime] = {}
    for moment in (*known, *moments):
        day = moment.date()
        latest[day] = max(latest.get(day, moment), moment)
    wrote[machine] = before + count, tuple(sorted(latest.values(), reverse=True)[:_DAYS])


class _Tracer:
    """Gathers a trace, event by event."""

    def __init__(self) -> None:
        self.names: set[str] = set()
        self.perhaps: set[str] = set()
        self.words: set[str] = set()
        self.ids: list[str] = []
        self.days: set[int] = set()
        self.moves: list[Move] = []
        self.clocks: set[tuple[int, str]] = set()
        self.anchored: list[Event] = []
        self.counts: dict[tuple[int, str], int] = {}
        self.shifts: list[int] = []
        self.restless: list[str] = []
        self.seqs: dict[str, int] = {}
        self.wrote: dict[str, Wrote] = {}
        self.odd = False

    def trace(self) -> Trace:
        """What was gathered."""
        return Trace(
            frozenset(self.names),
            frozenset(self.perhaps),
            frozenset(self.words),
            " ".join(self.ids),
            frozenset(self.days),
            tuple(self.moves),
            frozenset(self.clocks),
            tuple(self._anchor_of(event) for event in self.anchored),
            tuple(self.shifts),
            tuple(self.restless),
            self.seqs,
            self.wrote,
            self.odd,
        )

    def add(self, event: Event) -> None:
        """Note one event."""
        self.ids.append(event.id)
        day = event.moment.day.toordinal()
        self.days.add(day)
        if event.seq > self.seqs.get(event.machine, 0):
            self.seqs[event.machine] = event.seq
        if event.machine:
            add_written(self.wrote, event.machine, 1, (event.typed,) if event.typed else ())
        body = event.body
        self.counts[day, event.id] = body.count if isinstance(body, Flights) else -1
        for name in body.__struct_fields__:
            value = getattr(body, name)
            if value is not None:
                self._note(value)
        if event.after is not None:
            self.words.add(event.after.event)
            self.anchored.append(event)
        if event.moment.instant is not None and (not event.machine or not event.seq):
            self.clocks.add((day, _order_of(event)[0] + f" {event.machine} {event.seq}"))
        if isinstance(body, Install | Remove):
            self._add_move(event, body, day)
        elif isinstance(body, Amendment):
            self._add_amendment(event, body)
        elif isinstance(body, Withdrawal):
            # What stood after the withdrawn one now stands by itself.
            self.restless.append(body.withdraws)

    def _anchor_of(self, event: Event) -> Anchor:
        day = event.moment.day.toordinal()
        named, flight = (event.after.event, event.after.flight) if event.after else ("", None)
        count = self.counts.get((day, named))
        is_sure = count is not None and (count < 0 or 1 <= (flight or count) <= count)
        return Anchor(day, event.id, named, is_sure)

    def _add_move(self, event: Event, body: Install | Remove, day: int) -> None:
        part = body.part
        named = () if part is None else (part.name,) if not part.id else (part.name, part.id)
        self.moves.append(Move(event.id, day, named, event.machine, event.seq, _order_of(event)))

    def _note(self, value: object) -> None:
        """Note whatever names something, however deep it lies."""
        if isinstance(value, str):
            if _WORD.fullmatch(value):
                self.words.add(value)
        elif isinstance(value, Ref):
            self.names.add(value.name)
            if value.id:
                self.names.add(value.id)
        elif isinstance(value, tuple):
            for item in value:
                self._note(item)
        elif isinstance(value, Struct):
            for name in value.__struct_fields__:
                self._note(getattr(value, name))

    def _add_amendment(self, event: Event, body: Amendment) -> None:
        """What an amendment puts in names things too, and may move an event in its day."""
        changed = event.node.get("set")
        if not isinstance(changed, Mapping):
            return
        for entry in changed.entries:
            key = entry.key
            for text in (text.strip().lower() for text in _texts(entry.value)):
                if _NAME.fullmatch(text):
                    found = set(text.split("."))
                    (self.names if key in _NAMING else self.perhaps).update(found)
                    self.words.update(word for word in found if _WORD.fullmatch(word))
                elif key == "after":
                    self.words.add(text.partition(":")[0])
            if key in _ORDERING:
                self.restless.append(body.amends)
            elif key == "when":
                self._add_shift(entry.value)

    def _add_shift(self, value: Node) -> None:
        text = value.text.strip()[:10] if isinstance(value, Scalar) else ""
        try:
            day = date.fromisoformat(text).toordinal()
        except ValueError:
            self.odd = True
            return
        self.shifts.append(day)
        self.days.add(day)


def _order_of(event: Event) -> tuple[str, str, int]:
    """Its place among the events of its day, but for its id."""
    instant, machine, seq, _ = event.order
    return instant.isoformat(), machine, seq


def _texts(node: Node) -> Iterator[str]:
    """Every text in a node, however deep it lies."""
    if isinstance(node, Scalar):
        yield node.text
    elif isinstance(node, Sequence):
        for item in node.items:
            yield from _texts(item)
    elif isinstance(node, Mapping):
        for entry in node.entries:
            yield from _texts(entry.value)
