"""What a session needs brought: tools, fasteners, materials, from what is opened and mended."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.access import Access
from register.records.bodies import Snag
from register.records.joints import StatedTorque
from register.records.stock import StockItem, read_stock
from register.records.values import format_amount
from register.views.worklist_works import WorkLine
from register.workshop.fasteners import FittedJoint, fit_joints, item_of, list_tools

_NO_LOCK = ("none", "dry")


class JointNeed(Struct, frozen=True):
    """Fasteners of a joint that come out and go in again. `count` None: not stated."""

    joint: str
    title: str
    opening: str | None
    count: int | None
    text: str
    lock: str | None
    torque: StatedTorque | None


class Fresh(Struct, frozen=True):
    """New fasteners for broken ones, and what the shelf has."""

    joint: str
    count: int
    text: str
    item: str | None
    stock: StockItem | None

    @property
    def is_short(self) -> bool:
        """The shelf is known to have too few."""
        return (
            self.stock is not None
            and self.stock.count is not None
            and self.stock.count < Decimal(self.count)
        )


class Needs(Struct, frozen=True):
    """Everything to bring, each once, with what it is for."""

    tools: tuple[tuple[str, tuple[str, ...]], ...]
    joints: tuple[JointNeed, ...]
    fresh: tuple[Fresh, ...]
    materials: tuple[tuple[str, tuple[str, ...]], ...]
    unknown: tuple[str, ...]


def gather_needs(
    ledger: Ledger,
    aircraft: str,
    entries: Mapping[str, Access],
    opened: Iterable[str],
    lines: Iterable[WorkLine],
) -> Needs:
    """What the openings and the work of a session take."""
    basket = _Basket(ledger, aircraft)
    for name in sorted(opened):
        basket.take_off(entries[name])
    for line in lines:
        basket.work(line)
    return basket.pack()


class _Basket:
    """What has been gathered so far."""

    def __init__(self, ledger: Ledger, aircraft: str):
        self.ledger = ledger
        self.fitted = fit_joints(ledger, aircraft)[0]
        self.stock = read_stock(ledger.records.stock)[0]
        self.tools: dict[str, list[str]] = {}
        self.materials: dict[str, list[str]] = {}
        self.joints: list[JointNeed] = []
        self.fresh: list[Fresh] = []
        self.unknown: list[str] = []
        self.used: dict[str, FittedJoint] = {}

    def take_off(self, entry: Access) -> None:
        """What it takes to take something off and put it on again."""
        for word in entry.tools:
            _add(self.tools, word, entry.title)
        for word in entry.materials:
            _add(self.materials, word, entry.title)
        for name in entry.fasteners:
            if name not in self.fitted:
                self.unknown.append(f"{entry.title} is held by {name}, which is not in joints:")
                continue
            self.used[name] = self.fitted[name]
            self.joints.extend(_joint_needs(self.fitted[name], entry.title))

    def work(self, line: WorkLine) -> None:
        """What a piece of work takes."""
        for word in line.tools:
            _add(self.tools, word, line.work.text)
        if line.work.cure is not None:
            adhesive = line.work.cure.adhesive or "adhesive not stated"
            _add(self.materials, adhesive, line.work.text)
        joint = _joint_of(self.ledger, line, self.fitted)
        if joint is not None:
            self.used[joint.joint.name] = joint
            self.fresh.append(_fresh(joint, line, self.ledger, self.stock))

    def pack(self) -> Needs:
        """Everything once, by name."""
        used = [self.used[name] for name in sorted(self.used)]
        for tool in list_tools(used):
            for name in tool.joints:
                _add(self.tools, tool.name, self.fitted[name].joint.title)
        for item in used:
            lock = item.joint.thread_lock
            if lock is not None and lock not in _NO_LOCK:
                _add(self.materials, _lock_words(lock), item.joint.title)
        return Needs(
            _listed(self.tools),
            tuple(self.joints),
            tuple(self.fresh),
            _listed(self.materials),
            tuple(self.unknown),
        )


def _add(found: dict[str, list[str]], word: str, what: str) -> None:
    what_for = found.setdefault(word, [])
    if what not in what_for:
        what_for.append(what)


def _listed(found: dict[str, list[str]]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    return tuple((word, tuple(found[word])) for word in sorted(found))


def _lock_words(lock: str) -> str:
    liquid = lock in ("low", "medium", "high")
    return f"thread lock, {lock}" if liquid else lock.replace("-", " ")


def _joint_needs(fitted: FittedJoint, opening: str) -> list[JointNeed]:
    joint = fitted.joint
    lock = joint.thread_lock if joint.thread_lock not in _NO_LOCK else None
    return [
        JointNeed(joint.name, joint.title, opening, lot.count, lot.text, lock, joint.torque)
        for lot in fitted.lots
    ]


def _joint_of(
    ledger: Ledger, line: WorkLine, fitted: Mapping[str, FittedJoint]
) -> FittedJoint | None:
    event = ledger.orders.events.get(line.id) if line.work.kind == "snag" else None
    body = event.body if event is not None else None
    named = body.joint if isinstance(body, Snag) else None
    return fitted.get((named or "").strip().lower())


def _fresh(
    fitted: FittedJoint, line: WorkLine, ledger: Ledger, stock: Mapping[str, StockItem]
) -> Fresh:
    body = ledger.orders.events[line.id].body
    broken = body.broken if isinstance(body, Snag) else None
    lot = fitted.lots[0]
    item = item_of(fitted, lot)
    found = stock.get(item) if item else None
    return Fresh(fitted.joint.title, broken or 1, lot.text, item, found)


def fresh_words(fresh: Fresh) -> str:
    """New fasteners in words, with what the shelf has."""
    words = f"{fresh.count} new {fresh.text} for {fresh.joint}"
    if fresh.item is None:
        return f"{words}; size not wholly stated"
    if fresh.stock is None:
        return f"{words}; {fresh.item} is not in stock.yaml"
    if fresh.stock.count is None:
        return f"{words}; {fresh.item}: not counted"
    have = format_amount(fresh.stock.count)
    return f"{words}; {fresh.item}: {have} on the shelf" + (", too few" if fresh.is_short else "")


def joint_words(need: JointNeed) -> str:
    """Fasteners of a joint in words: 4 x M3 x 10 cap."""
    count = "number not stated" if need.count is None else str(need.count)
    return f"{count} x {need.text}" if need.count is not None else f"{need.text}, {count}"


def torque_words(need: JointNeed) -> str | None:
    """The torque somebody stated, with its basis; None where nobody did."""
    if need.torque is None:
        return None
    return f"stated {format_amount(need.torque.value)} N·m ({need.torque.basis.text})"
