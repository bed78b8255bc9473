"""Values that records hold: spans of a counter, days and instants, references."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Literal, NamedTuple

from msgspec import Struct

from register.trouble import Place

Known = Literal["known", "estimated", "unknown"]

#: Counters every fleet has. A fleet may declare more in fleet.yaml.
COUNTERS: tuple[str, ...] = (
    "flights",
    "landings",
    "minutes",
    "engine-minutes",
    "engine-starts",
    "gear-cycles",
    "charges",
    "tows",
)
#: Counters measured in minutes; all others are plain counts.
MINUTE_COUNTERS: frozenset[str] = frozenset({"minutes", "engine-minutes"})

_KNOWN_ORDER: tuple[Known, ...] = ("known", "estimated", "unknown")
ZERO = Decimal(0)


def weakest_known(*values: Known) -> Known:
    """The least certain of several: unknown beats estimated beats known."""
    return max(values, key=_KNOWN_ORDER.index, default="known")


def counter_name(written: str) -> str:
    """A counter as it is called everywhere: engine_minutes and engine-minutes are one."""
    return written.strip().lower().replace("_", "-")


class Span(Struct, frozen=True):
    """What is known of a counter: between `low` and `high`, both possible.

    `high` None means no upper bound is known: unknown never becomes zero.
    Units are those of the counter: counts, or minutes.
    """

    low: Decimal
    high: Decimal | None
    known: Known = "known"

    @classmethod
    def exact(cls, value: Decimal | int, known: Known = "known") -> Span:
        """One value."""
        amount = Decimal(value)
        return cls(amount, amount, known)

    def __add__(self, other: Span) -> Span:
        high = None if self.high is None or other.high is None else self.high + other.high
        return Span(self.low + other.low, high, weakest_known(self.known, other.known))

    @property
    def is_exact(self) -> bool:
        """True when there is only one possible value."""
        return self.high is not None and self.low == self.high

    @property
    def is_open(self) -> bool:
        """True when no upper bound is known."""
        return self.high is None


NOTHING = Span(ZERO, ZERO)


class Moment(NamedTuple):
    """When something happened: a day, and the instant if a time was given.

    A date alone means that the order within the day is not known.
    """

    day: date
    instant: datetime | None
    text: str


class Ref(Struct, frozen=True):
    """A reference to a standing thing: the name for the eye, the id decides."""

    name: str
    id: str | None
    place: Place

    @property
    def text(self) -> str:
        """As written in a record."""
        return f"{self.name}.{self.id}" if self.id else self.name


class After(Struct, frozen=True):
    """Directly after an event, or after the n-th flight of a flights event."""

    event: str
    flight: int | None
    place: Place


class Basis(Struct, frozen=True):
    """Where a figure comes from; shown wherever it decides something."""

    kind: str
    reference: str = ""

    @property
    def text(self) -> str:
        """In one phrase, for screens."""
        kind = self.kind.replace("-", " ")
        return f"{kind}: {self.reference}" if self.reference else kind


UNSTATED = Basis("unknown", "")
BASIS_KINDS = ("rule", "maker", "club", "owner", "common-practice", "unknown")


def format_amount(value: Decimal) -> str:
    """Without needless zeros: 12, 7.5."""
    text = format(value.normalize(), "f")
    return text if text != "-0" else "0"


def count_words(amount: Decimal | int, unit: str) -> str:
    """An amount with its unit for the eye, one of a thing being one: 1 flight, 12 days."""
    told = format_amount(Decimal(amount))
    return f"{told} {unit.removesuffix('s') if amount == 1 else unit}".rstrip()
