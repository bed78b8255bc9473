"""One event: the fields that every kind has, and the body of its own kind."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from msgspec import Struct

from register.records.bodies import Body
from register.records.body_readers import READERS
from register.records.fields import Fields
from register.records.scalars import nearest
from register.records.values import After, Moment
from register.text.nodes import Mapping
from register.text.parsing import parse_text
from register.trouble import Place, Problem

SOURCES = ("at-the-time", "later", "from-paper", "estimated")
#: Kinds that count even when a field is wrong: leaving them out would hide a fault.
KEPT_WITH_ERRORS = frozenset({"snag"})
COMMON_KEYS = (
    "record",
    "id",
    "when",
    "after",
    "by",
    "typed",
    "machine",
    "source",
    "note",
    "seq",
    "schema",
)


class Origin:
    """What a record was built from: its file's bytes, and the tree of them when asked for.

    Kept as bytes it stores and loads quickly; most answers never need the tree.
    """

    __slots__ = ("_node", "data", "path")

    def __init__(self, path: str, data: bytes | None, node: Mapping | None):
        self.path = path
        self.data = data
        self._node = node

    @property
    def node(self) -> Mapping:
        """The tree with its places, parsed again if it was not kept."""
        if self._node is None:
            self._node = parse_text(self.path, self.data or b"").node
        return self._node or Mapping(Place(self.path), ())

    def __reduce__(self) -> tuple[type[Origin], tuple[str, bytes | None, Mapping | None]]:
        return Origin, (self.path, self.data, None if self.data is not None else self._node)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Origin) and self.path == other.path and self.node == other.node

    def __hash__(self) -> int:
        return hash(self.path)


class Event(Struct, frozen=True):
    """One immutable fact with a time. `origin` is what it was built from."""

    kind: str
    id: str
    moment: Moment
    after: After | None
    by: str | None
    typed: datetime | None
    machine: str
    source: str
    seq: int
    note: str | None
    body: Body
    origin: Origin
    path: str
    amended_by: tuple[str, ...] = ()

    @property
    def node(self) -> Mapping:
        """The tree of the record, with the place of every field."""
        return self.origin.node

    def place(self, key: str) -> Place:
        """Where a field stands, or the top of the record."""
        found = self.node.get(key)
        return found.place if found is not None else self.node.place

    @property
    def order(self) -> tuple[datetime, str, int, str]:
        """Order within a day: instant, machine, sequence, id.

        Without a time, one typed on its own day stands where it was typed: that orders
        the telling only; what is *known* of the order is the ledger's to say.
        """
        instant = self.moment.instant or _EARLY
        if self.moment.instant is None and self.typed and self.typed.date() == self.moment.day:
            instant = self.typed
        return (instant.astimezone(UTC), self.machine, self.seq, self.id)


_EARLY = datetime(1950, 1, 1, tzinfo=UTC)


def build_event(
    path: str, node: Mapping, zone: ZoneInfo | None, data: bytes | None = None
) -> tuple[Event | None, tuple[Problem, ...]]:
    """Node to event. Without a kind, an id or a readable `when` there is no event.

    `data` are the bytes that the node was parsed from, if it stands as they say.
    """
    problems: list[Problem] = []
    fields = Fields(node, problems, zone)
    kind = _read_kind(fields)
    id_ = fields.event_id("id", required=True)
    if id_ is not None and not (3 <= len(id_) <= 32 and id_.isascii() and id_.isalnum()):
        fields.report(
            fields.place("id"),
            "id-wrong",
            f"id: {id_[:40]!r} is not an id (letters and digits)",
            "give it an id of ten letters and digits that no other record has",
        )
        id_ = None
    moment = fields.moment("when")
    if moment is None and not fields.has("when"):
        fields.missing("when", '"2026-05-16"')
    if kind is None:
        return None, tuple(problems)
    typed = fields.moment("typed")
    common = (
        fields.after(),
        fields.text("by"),
        typed.instant if typed else None,
        fields.text("machine") or "",
        fields.choice("source", SOURCES, "at-the-time") or "at-the-time",
        fields.count("seq") or 0,
        fields.text("note"),
    )
    errors_before = _errors(problems)
    body = READERS[kind](fields)
    fields.odd_keys((*COMMON_KEYS, "set"))
    whole = _errors(problems) == errors_before or kind in KEPT_WITH_ERRORS
    if id_ is None or moment is None or not whole:
        # A body with a wrong figure must not count as a smaller one: it is left out, and said.
        return None, tuple(problems)
    return Event(kind, id_, moment, *common, body, Origin(path, data, node), path), tuple(problems)


def _errors(problems: list[Problem]) -> int:
    return sum(1 for problem in problems if problem.level == "error")


def _read_kind(fields: Fields) -> str | None:
    word = fields.text("record", required='"flights"')
    if word is None:
        return None
    kind = word.strip().lower().replace(" ", "-").replace("_", "-")
    if kind in READERS:
        return kind
    guess = nearest(kind, READERS) or "note"
    fields.report(
        fields.place("record"),
        "kind-unknown",
        f"record: {word!r} is not a kind of record",
        f'write  record: "{guess}"',
    )
    return None
