"""Reading the fields of one mapping, gathering every problem on the way."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from zoneinfo import ZoneInfo

from register.records.values import BASIS_KINDS, UNSTATED, After, Basis, Moment, Ref
from register.text.nodes import Mapping, Node, Scalar, Sequence
from register.text.parsing import reads_as
from register.trouble import Level, Place, Problem

NAME_PATTERN = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?")
#: Lenient on reading: ids made here are 10 characters of lower-case Crockford base32.
ID_PATTERN = re.compile(r"[a-z0-9]{3,32}")
_DAY = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_MOMENT = re.compile(
    r"(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2})(:\d{2}(?:\.\d{1,6})?)?\s*(Z|[+-]\d{2}:?\d{2})?"
)
_EARLIEST, _LATEST = 1950, 2150
_LARGEST = Decimal(10) ** 9


def nearest(word: str, words: Iterable[str]) -> str | None:
    """The known word most like the one given, if any is near."""
    found = difflib.get_close_matches(word, list(words), n=1, cutoff=0.6)
    return found[0] if found else None


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
                f"after: {node.text!r} should be an event, or an event, a colon and a flight number",
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


def read_text(fields: Fields, key: str, node: Scalar) -> str:
    """The characters as written; a bare value another reader would change is flagged."""
    if node.plain:
        other = reads_as(node.text)
        if other is not None:
            fields.report(
                node.place,
                "needs-quotes",
                f"{key}: {node.text} without quotes is read by other programs as {other}",
                f'put it in quotes:  {key}: "{node.text}"',
                "warning",
            )
    return node.text


def read_amount(
    fields: Fields, key: str, node: Scalar, *, negative: bool = False
) -> Decimal | None:
    """A plain decimal number, or a problem with its place."""
    text = node.text.strip()
    value: Decimal | None = None
    if re.fullmatch(r"[+-]?\d{1,12}(\.\d{1,9})?", text, re.ASCII):
        try:
            value = Decimal(text)
        except InvalidOperation:  # pragma: no cover - the pattern admits decimals only
            value = None
    if value is None or abs(value) > _LARGEST:
        shown = text if len(text) <= 24 else text[:20] + "…"
        fields.report(
            node.place,
            "number-wrong",
            f"{key}: {shown!r} is not a number this register keeps",
            f"write an ordinary number, for example  {key}: 12",
        )
        return None
    if value < 0 and not negative:
        fields.report(
            node.place,
            "number-negative",
            f"{key}: {text} is negative",
            f"write  {key}: {text.lstrip('-')}  or withdraw the record",
        )
        return None
    return value


def read_day(fields: Fields, key: str, node: Scalar) -> date | None:
    """An exact year-month-day; never guessed."""
    text = node.text.strip()
    found = _DAY.fullmatch(text)
    if not found:
        fields.report(
            node.place,
            "date-form",
            f"{key}: {text!r} is not written year-month-day",
            f'write, for example  {key}: "2026-05-31"',
        )
        return None
    year, month, day = (int(part) for part in found.groups())
    try:
        value = date(year, month, day)
    except ValueError:
        fields.report(
            node.place,
            "date-impossible",
            f"{key}: {text} is not a day of the calendar",
            f'write year-month-day, for example  {key}: "{max(year, 1950):04d}-05-31"',
        )
        return None
    if not _EARLIEST <= year <= _LATEST:
        fields.report(
            node.place,
            "date-unlikely",
            f"{key}: the year {year} is outside {_EARLIEST} to {_LATEST}",
            f'write, for example  {key}: "2026-05-31"',
        )
        return None
    return value


def read_moment(fields: Fields, key: str, node: Scalar) -> Moment | None:
    """A day alone, or a day and time; without an offset it is home time."""
    text = node.text.strip()
    if len(text) <= 10:
        day = read_day(fields, key, node)
        return None if day is None else Moment(day, None, text)
    found = _MOMENT.fullmatch(text)
    if not found:
        fields.report(
            node.place,
            "date-form",
            f"{key}: {text!r} is not a day, or a day and time",
            f'write, for example  {key}: "2026-05-31T14:20+02:00"',
        )
        return None
    day = read_day(fields, key, Scalar(node.place, found[1], node.plain))
    if day is None:
        return None
    offset = found[4] or ""
    if offset and offset != "Z" and ":" not in offset:
        offset = offset[:3] + ":" + offset[3:]
    try:
        instant = datetime.fromisoformat(f"{found[1]}T{found[2]}{found[3] or ''}{offset}")
    except ValueError:
        fields.report(
            node.place,
            "time-impossible",
            f"{key}: {text} is not a time of the clock",
            f'write, for example  {key}: "{found[1]}T14:20+02:00"',
        )
        return None
    if instant.tzinfo is None:
        instant = _home_instant(fields, key, node, instant)
    return Moment(day, instant, text)


def _home_instant(fields: Fields, key: str, node: Scalar, naive: datetime) -> datetime:
    zone = fields.zone or UTC
    instant = naive.replace(tzinfo=zone)
    there_and_back = instant.astimezone(UTC).astimezone(zone)
    other = naive.replace(tzinfo=zone, fold=1)
    if there_and_back.replace(tzinfo=None) != naive:
        says = f"{key}: {node.text} does not exist in the home zone (clocks go forward)"
    elif other.utcoffset() != instant.utcoffset():
        says = f"{key}: {node.text} comes twice in the home zone (clocks go back)"
    else:
        return instant
    offset = instant.utcoffset() or timedelta(0)
    hours = int(offset.total_seconds() // 3600)
    fields.report(
        node.place,
        "time-doubtful",
        says,
        f'write the offset:  {key}: "{naive.isoformat(timespec="minutes")}{hours:+03d}:00"',
        "warning",
    )
    return instant


def read_ref(fields: Fields, key: str, node: Scalar) -> Ref | None:
    """`name` or `name.id`."""
    name, _, id_ = node.text.strip().lower().partition(".")
    if not NAME_PATTERN.fullmatch(name) or (id_ and not ID_PATTERN.fullmatch(id_)):
        shown = node.text if len(node.text) <= 40 else node.text[:36] + "…"
        fields.report(
            node.place,
            "name-wrong",
            f"{key}: {shown!r} is not a name (a-z, 0-9 and -)",
            f'write, for example  {key}: "heron"',
        )
        return None
    return Ref(name, id_ or None, node.place)
