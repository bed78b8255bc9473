"""What a thing had behind it when the register began: known, estimated or unknown."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from msgspec import Struct, field

from register.records.fields import Fields
from register.records.scalars import read_amount
from register.records.values import NOTHING, ZERO, Known, Ref, Span, counter_name
from register.text.nodes import Mapping, Node, Scalar
from register.trouble import Place

#: Stages before the first flight.
UNFLOWN = ("on-order", "being-built", "ready-for-first-flight")
KNOWNS: tuple[Known, ...] = ("known", "estimated", "unknown")


class OpeningTask(Struct, frozen=True):
    """A task last done before the register began."""

    task: str
    subject: Ref | None
    when: date | None
    at: dict[str, Decimal]
    known: Known
    place: Place


class Opening(Struct, frozen=True):
    """Opening counters and last-done tasks, of an aircraft or a part.

    A counter not named is zero and known where the thing is new, and not known where it has a
    past: any opening value that is not zero says so, and so does the day of the opening, or a
    task done before it, where no counter is named at all.
    """

    as_of: date | None = None
    counters: dict[str, Span] = field(default_factory=dict)
    tasks: tuple[OpeningTask, ...] = ()
    overhaul: dict[str, Span] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    #: Its opening stage says that it has not flown: the day alone is then no past.
    is_unflown: bool = False
    #: The file that would say so cannot be read: whatever was behind it is not known.
    is_unread: bool = False

    def value(self, counter: str) -> Span:
        """The opening value. Not named: zero for a new thing, else not known."""
        return self.counters.get(counter, Span(ZERO, None, "unknown") if self.has_life else NOTHING)

    def is_new(self, counter: str) -> bool:
        """True when nothing is recorded before the register began."""
        value = self.counters.get(counter)
        return not self.has_life if value is None else _is_nothing(value)

    @property
    def has_life(self) -> bool:
        """True when something was behind the thing, or nobody said that nothing was."""
        if self.is_unread:
            return True
        if self.counters:
            return not all(_is_nothing(value) for value in self.counters.values())
        return not self.is_unflown and (self.as_of is not None or bool(self.tasks))


def _is_nothing(value: Span) -> bool:
    return value.is_exact and value.low == 0 and value.known == "known"


NEW = Opening()


def read_opening(fields: Fields) -> Opening:
    """The `opening:` mapping of an aircraft or a part."""
    inner = fields.mapping("opening")
    if inner is None:
        return NEW
    counters = read_spans(inner, "counters")
    overhaul = read_spans(inner, "since_overhaul")
    node = inner.node.get("counters")
    places = (
        {counter_name(entry.key): entry.value.place for entry in node.entries}
        if isinstance(node, Mapping)
        else {}
    )
    opening = Opening(
        inner.day("as_of"),
        counters,
        tuple(_read_task(item) for item in inner.mappings("tasks")),
        overhaul,
        places,
        _is_unflown(fields.node.get("stage")),
    )
    inner.odd_keys(())
    return opening


def _is_unflown(stage: Node | None) -> bool:
    text = stage.text if isinstance(stage, Scalar) else ""
    return text.strip().lower().replace("_", "-").replace(" ", "-") in UNFLOWN


def read_spans(fields: Fields, key: str) -> dict[str, Span]:
    """Counters with what is known of each: 12, "?", `{value, known}` or `{low, high, known}`."""
    inner = fields.mapping(key)
    if inner is None:
        return {}
    found: dict[str, Span] = {}
    for entry in inner.node.entries:
        counter = counter_name(entry.key)
        if isinstance(entry.value, Scalar):
            if entry.value.text == "?":
                found[counter] = Span(ZERO, None, "unknown")
                continue
            amount = read_amount(inner, entry.key, entry.value)
            found[counter] = Span(ZERO, None, "unknown") if amount is None else Span.exact(amount)
            continue
        value = inner.mapping(entry.key)
        if value is not None:
            found[counter] = _read_value(value)
    return found


def _read_value(fields: Fields) -> Span:
    amount = fields.amount("value")
    known = fields.choice("known", KNOWNS, None)
    if fields.has("low"):
        low, high = fields.amount("low") or ZERO, fields.amount("high")
        return Span(low, high, known if known in KNOWNS and high is not None else "unknown")
    known = known or ("known" if amount is not None else "unknown")
    if amount is None or known == "unknown":
        return Span(amount or ZERO, None, "unknown")
    return Span.exact(amount, "estimated" if known == "estimated" else "known")


def _read_task(fields: Fields) -> OpeningTask:
    at: dict[str, Decimal] = {}
    inner = fields.mapping("at")
    if inner is not None:
        for entry in inner.node.entries:
            value = inner.amount(entry.key)
            if value is not None:
                at[counter_name(entry.key)] = value
    known = fields.choice("known", KNOWNS, "known")
    return OpeningTask(
        (fields.text("task", required='"task-name"') or "").lower(),
        fields.ref("subject"),
        fields.day("when"),
        at,
        known if known in KNOWNS else "known",
        fields.node.place,
    )
