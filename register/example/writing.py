"""The pen of the example: draws ids, keeps events, and gives every file its path and bytes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date, timedelta
from random import Random

from msgspec import Struct

from register.text.emitting import render_yaml
from register.text.nodes import Plain

FIRST = "abcdefghjkmnpqrstvwxyz"
ALPHABET = "0123456789" + FIRST
ID_LENGTH = 10
DESK = "m-k3v9wd2q7h"
FIELD = "m-t8n2c4x6be"


def draw_id(rng: Random) -> str:
    """Ten characters of lower-case Crockford base32, the first a letter."""
    return rng.choice(FIRST) + "".join(rng.choice(ALPHABET) for _ in range(ID_LENGTH - 1))


def read_day(text: str) -> date:
    """A day written year-month-day."""
    return date.fromisoformat(text)


def format_moment(day: date, clock: str) -> str:
    """A day and a time of the home zone with its offset."""
    return f"{day.isoformat()}T{clock}{_offset(day)}"


def _offset(day: date) -> str:
    """Summer time runs from the last Sunday of March to the last of October."""
    begins, ends = _last_sunday(day.year, 3), _last_sunday(day.year, 10)
    return "+02:00" if begins <= day < ends else "+01:00"


def _last_sunday(year: int, month: int) -> date:
    last = date(year, month, 31)
    return last - timedelta(days=(last.weekday() + 1) % 7)


class Written(Struct, frozen=True):
    """One event as it will be written down."""

    folder: str
    kind: str
    id: str
    when: str
    after: str | None
    typed: str
    machine: str
    source: str
    note: str | None
    body: Mapping[str, Plain]

    @property
    def path(self) -> str:
        """Where the event lies in the fleet."""
        day = self.when[:10]
        clock = f"-{self.when[11:16].replace(':', '')}" if len(self.when) > 10 else ""
        return f"{self.folder}/events/{day[:4]}/{day[5:7]}/{day}{clock}-{self.kind}-{self.id}.yaml"


class Pen:
    """Writes events; the order of typing gives each machine's own numbering."""

    def __init__(self, seed: int):
        self.rng = Random(seed)
        self.ids: dict[str, str] = {}
        self.written: list[Written] = []
        self._minutes: dict[date, int] = {}

    def name(self, name: str) -> None:
        """Give a thing its lasting id."""
        self.ids[name] = draw_id(self.rng)

    def ref(self, name: str) -> str:
        """A reference: the name for the eye, the id decides."""
        return f"{name}.{self.ids[name]}"

    def add(
        self,
        owner: str,
        kind: str,
        day: date,
        body: Mapping[str, Plain],
        *,
        clock: str | None = None,
        after: str | None = None,
        typed: date | None = None,
        machine: str = DESK,
        source: str | None = None,
        note: str | None = None,
    ) -> str:
        """Keep one event and give its id. `owner` is `aircraft/NAME` or `parts/NAME`."""
        typed_at = self._type_at(typed or day)
        when = format_moment(day, clock) if clock else day.isoformat()
        event = Written(
            owner,
            kind,
            draw_id(self.rng),
            when,
            after,
            typed_at,
            machine,
            source or ("later" if typed is not None and typed != day else "at-the-time"),
            note,
            body,
        )
        self.written.append(event)
        return event.id

    def _type_at(self, day: date) -> str:
        """An evening's typing, one entry after the other."""
        minute = self._minutes.get(day, 20 * 60 + self.rng.randrange(15)) + self.rng.randint(1, 2)
        self._minutes[day] = minute
        return format_moment(
            day, f"{minute // 60:02d}:{minute % 60:02d}:{self.rng.randrange(60):02d}"
        )

    def render(self) -> dict[str, bytes]:
        """Every event as a file. The sort keeps what was typed first at one minute first."""
        counts: Counter[str] = Counter()
        files = {}
        for event in sorted(self.written, key=lambda item: item.typed[:16]):
            counts[event.machine] += 1
            data: dict[str, Plain] = {
                "record": event.kind,
                "id": event.id,
                "when": event.when,
                "after": event.after,
                **event.body,
                "note": event.note,
                "by": "owner",
                "typed": event.typed,
                "machine": event.machine,
                "seq": counts[event.machine],
                "source": event.source,
            }
            files[event.path] = render_yaml(data).encode()
        return files
