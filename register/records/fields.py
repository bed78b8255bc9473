"""Reading the fields of one mapping, gathering every problem on the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

from register.records.scalars import (
    nearest,
    read_amount,
    read_day,
    read_moment,
    read_ref,
    read_text,
)
from register.records.values import BASIS_KINDS, UNSTATED, After, Basis, Moment, Ref
from register.text.nodes import Mapping, Node, Scalar, Sequence
from register.trouble import Level, Place, Problem


class Fields:
    """One mapping being read. Every getter reports what is wrong and goes on."""

    def __init__(self, node: Mapping, problems: list[Problem], zone: ZoneInfo | None = None):
        self.node = node
        self.problems = problems
        self.zone = zone
        self.read: set[str] = set()

    def report(self, place: Place, code: str, says: str, mend: str, level: Level = "error") -> None:
        """Keep one problem."""
        self.problems.append(Problem(place, code, says, mend, level))

    def raw(self, key: str) -> Node | None:
        """The node under a key; empty and absent are the same."""
        self.read.add(key)
        node = self.node.get(key)
        if isinstance(node, Scalar) and node.plain and node.text in ("", "~", "null"):
            return None
        return node

    def place(self, key: str) -> Place:
        """Where the value of a key stands, or the mapping itself."""
        node = self.node.get(key)
        return node.place if node is not None else self.node.place

    def has(self, key: str) -> bool:
        """True when the key has a value."""
        return self.raw(key) is not None

    def missing(self, key: str, example: str) -> None:
        """Report a required key that has no value."""
        self.report(
            self.place(key), "key-missing", f"{key} is missing", f"add a line  {key}: {example}"
        )

    def scalar(self, key: str) -> Scalar | None:
        """One value, not a list or mapping."""
        node = self.raw(key)
        if node is None:
            return None
        if not isinstance(node, Scalar):
            self.report(
                node.place, "value-shape", f"{key}: one value is wanted here", f'write  {key}: "…"'
            )
            return None
        return node

    def text(self, key: str, *, required: str | None = None) -> str | None:
        """Words or a code, kept exactly as written."""
        node = self.scalar(key)
        if node is None:
            if required is not None and not self._reported(key):
                self.missing(key, required)
            return None
        return read_text(self, key, node)

    def _reported(self, key: str) -> bool:
        return self.node.get(key) is not None and self.raw(key) is not None

    def choice(self, key: str, options: tuple[str, ...], default: str | None) -> str | None:
        """One of a fixed set of words."""
        node = self.scalar(key)
        if node is None:
            return default
        word = node.text.strip().lower().replace("_", "-").replace(" ", "-")
        if word in options:
            return word
        guess = nearest(word, options) or options[0]
        self.report(
            node.place,
            "word-unknown",
            f"{key}: {node.text!r} is not one of {', '.join(options)}",
            f'write  {key}: "{guess}"',
        )
        return default

    def flag(self, key: str, *, default: bool = False) -> bool:
        """True or false."""
        node = self.scalar(key)
        if node is None:
            return default
        if node.text in ("true", "True", "yes"):
            return True
        if node.text in ("false", "False", "no"):
            return False
        self.report(
            node.place, "value-shape", f"{key}: true or false is wanted", f"write  {key}: true"
        )
        return default

    def amount(self, key: str, *, negative: bool = False) -> Decimal | None:
        """A number: finite, not negative unless said, at most a thousand million."""
        node = self.scalar(key)
        return None if node is None else read_amount(self, key, node, negative=negative)

    def count(self, key: str, *, least: int = 0) -> int | None:
        """A whole number not under `least`."""
        value = self.amount(key)
        if value is None:
            return None
        if value != value.to_integral_value() or value < least:
            self.report(
                self.place(key),
                "number-wrong",
                f"{key}: {value} is not a whole number of {least} or more",
                f"write  {key}: {max(least, 1)}",
            )
            return None
        return int(value)

    def day(self, key: str) -> date | None:
        """A day of the calendar, year-month-day."""
        node = self.scalar(key)
        return None if node is None else read_day(self, key, node)

    def moment(self, key: str) -> Moment | None:
        """A day, or a day and time with its offset."""
        node = self.scalar(key)
        return None if node is None else read_moment(self, key, node)

    def ref(self, key: str, *, required: bool = False) -> Ref | None:
        """A reference to an aircraft, part, kit or programme."""
        node = self.scalar(key)
        if node is None:
            if required and not self._reported(key):
                self.missing(key, '"name"')
            return None
        return read_ref(self, key, node)

    def refs(self, key: str) -> tuple[Ref, ...]:
        """A list of references; one alone is accepted."""
        found = (read_ref(self, key, item) for item in self.scalars(key))
        return tuple(ref for ref in found if ref is not None)

    def event_id(self, key: str, *, required: bool = False) -> str | None:
        """The id of an event."""
        word = self.text(key, required='"…"' if required else None)
        return word.lower() if word else None

    def event_ids(self, key: str) -> tuple[str, ...]:
        """Ids of events; one alone is accepted."""
        return tuple(node.text.lower() for node in self.scalars(key))

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of words; one alone is accepted."""
        return tuple(node.text for node in self.scalars(key))

    def named_texts(self, key: str) -> dict[str, str]:
        """A mapping of names to words."""
        inner = self.mapping(key)
        if inner is None:
            return {}
        return {entry.key: inner.text(entry.key) or "" for entry in inner.node.entries}

    def scalars(self, key: str) -> Iterator[Scalar]:
        """The items of a list of values."""
        node = self.raw(key)
        if isinstance(node, Scalar):
            yield node
            return
        for item in self.items(key):
            if isinstance(item, Scalar):
                yield item
            else:
                self.report(
                    item.place,
                    "value-shape",
                    f"{key}: a list of values is wanted",
                    f"write  {key}: []",
                )

    def items(self, key: str) -> tuple[Node, ...]:
        """The items of a list."""
        node = self.raw(key)
        if node is None:
            return ()
        if isinstance(node, Sequence):
            return node.items
        self.report(node.place, "value-shape", f"{key}: a list is wanted here", f"write  {key}: []")
        return ()

    def mapping(self, key: str) -> Fields | None:
        """The mapping under a key."""
        node = self.raw(key)
        if node is None:
            return None
        if isinstance(node, Mapping):
            return Fields(node, self.problems, self.zone)
        self.report(
            node.place,
            "value-shape",
            f"{key}: keys and values are wanted here",
            f"write  {key}: {{}}",
        )
        return None

    def mappings(self, key: str) -> Iterator[Fields]:
        """Each mapping of a list; one alone is accepted."""
        node = self.raw(key)
        if isinstance(node, Mapping):
            yield Fields(node, self.problems, self.zone)
            return
        for item in self.items(key):
            if isinstance(item, Mapping):
                yield Fields(item, self.problems, self.zone)
            else:
                self.report(
                    item.place,
                    "value-shape",
                    f"{key}: each item should hold keys and values",
                    "write  - {key: value}",
                )

    def basis(self) -> Basis:
        """The basis of what stands beside it; unstated is unknown."""
        node = self.raw("basis")
        if isinstance(node, Scalar):
            return Basis("owner", node.text)
        fields = self.mapping("basis")
        if fields is None:
            return UNSTATED
        kind = fields.choice("kind", BASIS_KINDS, "unknown")
        return Basis(kind or "unknown", fields.text("reference") or "")

    def after(self) -> After | None:
        """`after: event` or `after: event:n`."""
        node = self.scalar("after")
        if node is None:
            return None
        event, _, number = node.text.strip().lower().partition(":")
        if number and not (number.isascii() and number.isdigit() and 0 < int(number[:6]) < 10**5):
            self.report(
                node.place,
                "after-wrong",
                f"after: {node.text!r} should be an event, or event:flight-number",
                f'write  after: "{event}:1"',
            )
            return None
        return After(event, int(number) if number else None, node.place)

    def odd_keys(self, known: Iterable[str]) -> None:
        """Warn of keys that nothing reads: kept, but perhaps mistyped."""
        words = set(known) | self.read
        for entry in self.node.entries:
            if entry.key not in words:
                guess = nearest(entry.key, words)
                mend = (
                    f"if you meant {guess}, write  {guess}:" if guess else "keep it or take it out"
                )
                self.report(
                    entry.key_place,
                    "key-unknown",
                    f"{entry.key}: this key is kept but not read",
                    mend,
                    "warning",
                )
