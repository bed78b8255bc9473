"""Notices of a kit: known defects that ask each part a question, and traps that ask nothing.

    notices:
      rib-bond:
        title: "Dry bond at the root rib"
        text: "Tap along the root rib; a dull sound is a dry bond."
        kind: "defect"
        applies: {part_kind: "wing", side: "left", lots: ["B12-B40"]}
        action: "until-repaired"
        every: [{counter: "flights", amount: 20}]
        grounds: true
        touches: ["left-wing"]
        basis: {kind: "maker", reference: "service letter 4"}

`applies` narrows it: all that is left out applies to every one. `action` is `once` (looked at
once and done with), `recurring` (asked again each interval, repaired or not) or
`until-repaired` (ended by a repair only; with `every`, looked at each interval until then).
"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from register.records.fields import Fields
from register.records.lots import LotRange, parse_range
from register.records.programmes import Interval, read_intervals
from register.records.scalars import NAME_PATTERN
from register.records.values import Basis
from register.text.nodes import Scalar
from register.trouble import Place

KINDS = ("defect", "trap")
ACTIONS = ("once", "recurring", "until-repaired")
SIDES = ("left", "right")
#: An aircraft's own file takes a notice of its kit away with this word.
NONE = "none"


class Applies(Struct, frozen=True):
    """Whom a notice is about, beside its kit; what is None or empty narrows nothing."""

    part_kind: str | None
    position: str | None
    side: str | None
    lots: tuple[LotRange, ...]

    @property
    def is_for_parts(self) -> bool:
        """Is each part asked? Else the aircraft is asked as a whole."""
        return self.part_kind is not None or self.position is not None


class Notice(Struct, frozen=True):
    """A known defect of a kit, or a trap. `owner` is the kit or aircraft whose file holds it."""

    name: str
    owner: str
    title: str
    text: str
    kind: str
    applies: Applies
    action: str
    every: tuple[Interval, ...]
    grounds: bool
    touches: tuple[str, ...]
    basis: Basis
    raised_from: str | None
    place: Place
    #: Something of it could not be read: nobody can be told clear of it.
    is_damaged: bool = False

    @property
    def is_trap(self) -> bool:
        """A trap needs no answer; it is shown where work touches its place."""
        return self.kind == "trap"


def read_notices(fields: Fields, owner: str = "") -> dict[str, Notice]:
    """The section `notices`, in the order written."""
    inner = fields.mapping("notices")
    found: dict[str, Notice] = {}
    for entry in inner.node.entries if inner is not None else ():
        if inner is None or (isinstance(entry.value, Scalar) and _is_none(entry.value)):
            continue
        name = entry.key.strip().lower()
        if not NAME_PATTERN.fullmatch(name):
            fields.report(
                entry.key_place,
                "name-wrong",
                f"notices: {entry.key[:40]!r} is not a name (a-z, 0-9 and -)",
                "write, for example  rib-bond:",
            )
            continue
        item = inner.mapping(entry.key)
        if item is None and not inner.has(entry.key):
            inner.report(
                entry.key_place,
                "key-missing",
                f"{name}: a notice says at least what it is about",
                'add a line below it  title: "Dry bond at the root rib"',
            )
        if item is not None:
            found[name] = _read_notice(item, name, owner, entry.key_place)
    return found


def read_taken_away(fields: Fields) -> tuple[str, ...]:
    """Names of the kit's notices that an aircraft's own file writes as "none"."""
    inner = fields.mapping("notices")
    return tuple(
        entry.key.strip().lower()
        for entry in (inner.node.entries if inner is not None else ())
        if isinstance(entry.value, Scalar) and _is_none(entry.value)
    )


def _is_none(node: Scalar) -> bool:
    return node.text.strip().lower() == NONE


def _read_notice(fields: Fields, name: str, owner: str, place: Place) -> Notice:
    before = _errors(fields)
    kind = fields.choice("kind", KINDS, "defect") or "defect"
    every = read_intervals(fields, "every")
    action = fields.choice("action", ACTIONS, None) or ("recurring" if every else "once")
    notice = Notice(
        name,
        owner,
        fields.text("title") or name.replace("-", " "),
        fields.text("text") or "",
        kind,
        _read_applies(fields),
        action,
        every,
        fields.flag("grounds"),
        tuple(word.strip().lower() for word in fields.texts("touches")),
        fields.basis(),
        fields.event_id("raised_from"),
        place,
    )
    fields.odd_keys(("note",))
    _check_action(fields, notice)
    if _errors(fields) == before:
        return notice
    # Left out, it would never be missed.
    return replace(notice, is_damaged=True)


def _errors(fields: Fields) -> int:
    return sum(problem.level == "error" for problem in fields.problems)


def _check_action(fields: Fields, notice: Notice) -> None:
    if notice.is_trap:
        idle = [key for key in ("action", "every", "grounds") if fields.has(key)]
        if idle:
            fields.report(
                fields.place(idle[0]),
                "trap-asks",
                f"{notice.name}: a trap asks for no answer; {', '.join(idle)} counts for nothing",
                f'take {" and ".join(idle)} out, or write  kind: "defect"',
                "warning",
            )
        return
    if notice.action == "recurring" and not notice.every:
        fields.report(
            fields.place("action"),
            "notice-interval-missing",
            f"{notice.name}: a recurring notice needs to say how often",
            'add a line  every: [{counter: "flights", amount: 10}]   or  action: "once"',
        )
    if notice.action == "once" and notice.every:
        fields.report(
            fields.place("every"),
            "notice-interval-idle",
            f"{notice.name}: it is looked at once, so every: counts for nothing",
            'take every: out, or write  action: "recurring"',
            "warning",
        )


def _read_applies(fields: Fields) -> Applies:
    inner = fields.mapping("applies")
    if inner is None:
        return Applies(None, None, None, ())
    kind, position = inner.text("part_kind"), inner.text("position")
    applies = Applies(
        kind.strip().lower() if kind else None,
        position.strip().lower() if position else None,
        inner.choice("side", SIDES, None),
        _read_lots(inner),
    )
    inner.odd_keys(())
    return applies


def _read_lots(fields: Fields) -> tuple[LotRange, ...]:
    found = []
    for node in fields.scalars("lots"):
        lot = parse_range(node.text)
        if lot is None:
            fields.report(
                node.place,
                "lot-range-wrong",
                f"lots: {node.text[:40]!r} is no range: both ends need the same letters, and the "
                "first number comes first",
                'write  lots: ["B12-B40"]',
            )
        else:
            found.append(lot)
    return tuple(found)
