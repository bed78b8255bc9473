"""A fleet as a handful of sheets: written as text, read back, and folded to a ledger.

Nothing is put together by hand that the register would read from a file: every sheet
becomes the text of a record and goes through the same reader as a file on disk.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from register.ledger.ledger import Ledger
from register.records.gathering import Records, build_records
from register.tasks.items import Item, view_items
from register.tasks.limits import Limit
from register.text.emitting import render_yaml
from register.text.parsing import parse_text
from register.trouble import Problem

HERON = "heron"


def day(text: str) -> date:
    """A day as written in a record."""
    return date.fromisoformat(text)


class Sheets:
    """Sheets of one small fleet, by path. Aircraft heron is there from the start."""

    def __init__(self, **fleet: Any) -> None:
        self.data: dict[str, dict[str, Any]] = {
            "fleet.yaml": {"schema": 1, "name": "Test fleet", "home_zone": "UTC", **fleet}
        }
        self._count = 0
        self.aircraft(HERON)

    def aircraft(self, name: str, **keys: Any) -> None:
        """Write, or write anew, an aircraft's sheet."""
        self.data[f"aircraft/{name}/aircraft.yaml"] = {
            "title": name,
            "programmes": ["club"],
            **keys,
        }

    def part(self, name: str, kind: str = "servo", **keys: Any) -> None:
        """Write, or write anew, a part's sheet."""
        self.data[f"parts/{name}/part.yaml"] = {"kind": kind, **keys}

    def task(self, id: str, **keys: Any) -> None:
        """Add a task to the programme that every aircraft follows."""
        programme = self.data.setdefault("programmes/club.yaml", {"title": "Club", "tasks": []})
        programme["tasks"].append({"id": id, "title": id, **keys})

    def add(self, record: str, when: str, id: str | None = None, **keys: Any) -> str:
        """Add an event and give its id. Flights, dones and the like are of heron unless said."""
        self._count += 1
        id = id or f"e{self._count:05d}"
        if record in ("flights", "incident", "stage") or (
            record == "install" and "into" not in keys
        ):
            keys.setdefault("aircraft", HERON)
        if record == "task-done":
            keys.setdefault("subject", HERON)
        path = f"aircraft/{HERON}/events/{when[:4]}/{when[5:7]}/{when[:10]}-{record}-{id}.yaml"
        self.data[path] = {"record": record, "id": id, "when": when, **keys}
        return id

    def fly(self, when: str, count: int = 1, id: str | None = None, **keys: Any) -> str:
        """Add flights."""
        return self.add("flights", when, id, count=count, **keys)

    def done(self, task: str, when: str, id: str | None = None, **keys: Any) -> str:
        """Add a task done on heron unless said."""
        return self.add("task-done", when, id, task=task, **keys)

    def copy(self) -> Sheets:
        """The same sheets, to be written on."""
        again = Sheets()
        again.data, again._count = dict(self.data), self._count
        return again

    def texts(self) -> list[tuple[str, bytes]]:
        """Every sheet as the text of its file."""
        return [(path, render_yaml(data).encode()) for path, data in self.data.items()]

    def records(self, order: Sequence[int] | None = None) -> Records:
        """Read every sheet; `order` is the order in which the files are met."""
        texts = self.texts()
        return read_texts(texts if order is None else [texts[n] for n in order])

    def ledger(self, on: str | None = None) -> Ledger:
        """Everything known, or facts dated up to a day."""
        return Ledger(self.records(), None if on is None else day(on))

    def items(self, on: str) -> tuple[Item, ...]:
        """Every item on a day."""
        return view_items(self.ledger(on), day(on))

    def item(self, task: str, on: str, subject: str = HERON) -> Item:
        """The one item of a task on a subject, on a day."""
        found = [
            item for item in self.items(on) if item.task.id == task and item.subject[1] == subject
        ]
        assert len(found) == 1, found
        return found[0]

    def limit(self, task: str, on: str, subject: str = HERON) -> Limit:
        """The one limit of a task on a subject, on a day."""
        limits = self.item(task, on, subject).limits
        assert len(limits) == 1, limits
        return limits[0]


def read_texts(texts: Iterable[tuple[str, bytes]]) -> Records:
    """Texts to records. Text the reader refuses is a fault of the test."""
    nodes = []
    for path, data in texts:
        parsed = parse_text(path, data)
        assert not parsed.problems, parsed.problems
        nodes.append((path, parsed.node))
    return build_records(nodes)


def span(ledger: Ledger, name: str, counter: str = "flights") -> tuple[Any, Any]:
    """Both ends of a counter of a part or aircraft; the high end None when it is open."""
    kind = "aircraft" if name in ledger.records.aircraft else "part"
    value = ledger.value((kind, name), counter)
    return value.low, value.high


def due_at(limit: Limit) -> Any:
    """The exact counter value at which a limit falls due."""
    assert limit.due_at is not None
    assert limit.due_at.is_exact, limit.due_at
    return limit.due_at.low


def codes(problems: Iterable[Problem]) -> list[str]:
    """Codes of problems, in order of code."""
    return sorted(problem.code for problem in problems)
