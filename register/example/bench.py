"""The tablet in the workshop: entries whose ids hang on their own key, whatever is added beside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date
from random import Random

from register.example.writing import Pen, Written, draw_id, format_moment, read_day
from register.text.nodes import Plain

BENCH = "m-h5r8w2n6qd"
SALT = "tailsheaf example"


class Bench(Pen):
    """Writes entries by key. Nothing written here moves an id or a digit of another entry."""

    def __init__(self, pen: Pen):
        super().__init__(0)
        self.ids = pen.ids
        self.keys: dict[str, str] = {}
        self._typed: Counter[date] = Counter()

    def next_id(self, key: str) -> str:
        """The id that the entry of this key has or will have."""
        return self.keys.get(key) or draw_id(Random(f"{SALT} {key}"))

    def put(
        self,
        key: str,
        owner: str,
        kind: str,
        day: str,
        body: Mapping[str, Plain],
        *,
        clock: str | None = None,
        note: str | None = None,
        id_: str | None = None,
    ) -> str:
        """Keep one entry and give its id. `owner` is `aircraft/NAME` or `parts/NAME`."""
        rng = Random(f"{SALT} {key}, typed")
        when = read_day(day)
        if key in self.keys:
            raise ValueError(f"two entries are called {key}")
        self.keys[key] = id_ or self.next_id(key)
        minute = 21 * 60 + self._typed[when]
        self._typed[when] += 1
        typed = format_moment(when, f"{minute // 60}:{minute % 60:02d}:{rng.randrange(60):02d}")
        moment = format_moment(when, clock) if clock else day
        self.written.append(
            Written(
                owner,
                kind,
                self.keys[key],
                moment,
                None,
                typed,
                BENCH,
                "at-the-time",
                note,
                body,
            )
        )
        return self.keys[key]
