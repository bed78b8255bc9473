"""Fasteners: what is fitted to an aircraft, one joint of it, and one thread looked up."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.as_built import read_section
from register.records.lines import Line
from register.records.stock import StockItem, read_stock
from register.records.threads import Thread
from register.trouble import Problem
from register.workshop.fastener_sizes import (
    NUT_HEIGHT,
    TOOLS,
    WASHER_BORE,
    WASHER_OUTSIDE,
    WASHER_THICKNESS,
    Figure,
    find_key,
)
from register.workshop.fasteners import (
    FittedJoint,
    Lot,
    Tool,
    fit_joints,
    item_of,
    key_of,
    list_oddities,
    list_tools,
)
from register.workshop.mending import Way, offer_ways
from register.workshop.threads import Geometry, Holes, build_geometry, build_holes
from register.workshop.torque import (
    FACTORS,
    NOT_STATED,
    NoTorque,
    Rubbing,
    Screw,
    Strength,
    Torque,
    compute_torque,
    factor_of,
    find_strength,
    friction_torque,
    published_torque,
    rubbing_of,
    wrench_setting,
)

#: One spare of each kind and one more for each so many fitted. Common practice, no source.
FITTED_PER_SPARE = 10
#: Of the 0.2 % limit that stretch and twist together may reach in the full equation.
USED = 0.9


class LotLine(Struct, frozen=True):
    """Fasteners of a joint that are alike, with all that the tables say of them."""

    lot: Lot
    key: str | None
    key_figure: Figure | None
    item: str | None
    stock: StockItem | None
    geometry: Geometry | None
    holes: Holes | None
    torque: Torque | NoTorque


class JointLine(Struct, frozen=True):
    """One joint of an aircraft."""

    fitted: FittedJoint
    lots: tuple[LotLine, ...]


class Spare(Struct, frozen=True):
    """Spares of one kind to carry. `fitted` None: how many are fitted is not stated."""

    text: str
    item: str | None
    fitted: int | None
    carry: int
    stock: StockItem | None


class FastenersView(Struct, frozen=True):
    """The answer to `fasteners AIRCRAFT`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: str
    title: str
    joints: tuple[JointLine, ...]
    tools: tuple[Tool, ...]
    locks: tuple[tuple[str, tuple[str, ...]], ...]
    spares: tuple[Spare, ...]
    oddities: tuple[tuple[str, str], ...]
    lines: tuple[Line, ...]
    clashes: tuple[Problem, ...]
    problems: tuple[Problem, ...]


class JointView(Struct, frozen=True):
    """The answer to `fasteners AIRCRAFT JOINT`. `ways` are of its first lot."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: str
    line: JointLine
    rest: str | None
    ways: tuple[Way, ...]
    problems: tuple[Problem, ...]


class FleetRow(Struct, frozen=True):
    """One aircraft in short. `at_least`: of some joints the number fitted is not stated."""

    aircraft: str
    joints: int
    fasteners: int
    at_least: bool
    broken: int
    departures: int


class FleetFasteners(Struct, frozen=True):
    """The answer to `fasteners` alone."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    rows: tuple[FleetRow, ...]


def view_fleet_fasteners(ledger: Ledger, day: date, unread: tuple[str, ...]) -> FleetFasteners:
    """Every aircraft in one row."""
    rows = []
    for name in sorted(ledger.records.aircraft):
        joints = fit_joints(ledger, name)[0].values()
        lots = [lot for fitted in joints for lot in fitted.lots]
        rows.append(
            FleetRow(
                name,
                len(joints),
                sum(lot.count or 0 for lot in lots),
                any(lot.count is None for lot in lots),
                sum(fitted.broken for fitted in joints),
                sum(lot.since is not None for lot in lots),
            )
        )
    return FleetFasteners(day, not unread, unread, tuple(rows))


def view_fasteners(
    ledger: Ledger, aircraft: str, day: date, unread: tuple[str, ...]
) -> FastenersView:
    """Everything fitted, what to bring for it, and what a buyer would ask about."""
    fitted, problems = fit_joints(ledger, aircraft)
    lines, line_problems = read_section(ledger.records, aircraft, "lines")
    stock = read_stock(ledger.records.stock)[0]
    joints = tuple(_line(item, stock) for item in fitted.values())
    clashes = tuple(item for item in line_problems if item.code == "line-colours")
    return FastenersView(
        day,
        not unread,
        unread,
        aircraft,
        ledger.records.aircraft[aircraft].title,
        joints,
        list_tools(fitted.values()),
        _locks(fitted.values()),
        _spares(joints),
        list_oddities(fitted.values()),
        tuple(lines.values()),
        clashes,
        (*problems, *(item for item in line_problems if item.level == "error")),
    )


def view_joint(
    ledger: Ledger, aircraft: str, name: str, day: date, unread: tuple[str, ...]
) -> JointView:
    """One joint with its sizes, its torque, what broke and the ways to mend it."""
    joints, problems = fit_joints(ledger, aircraft)
    fitted = joints[name]
    stock = read_stock(ledger.records.stock)[0]
    rests = [state.rest for state in fitted.snags if state.rest is not None]
    rest = "loose-inside" if "loose-inside" in rests else next(iter(rests), None)
    ways = offer_ways(fitted, fitted.lots[0], rest, stock)
    line = _line(fitted, stock)
    return JointView(day, not unread, unread, aircraft, line, rest, ways, problems)


def _line(fitted: FittedJoint, stock: dict[str, StockItem]) -> JointLine:
    return JointLine(fitted, tuple(_lot_line(fitted, lot, stock) for lot in fitted.lots))


def _lot_line(fitted: FittedJoint, lot: Lot, stock: dict[str, StockItem]) -> LotLine:
    joint, thread = fitted.joint, lot.thread
    screw = Screw(thread, lot.head, joint.material, joint.into, factor_of(joint))
    item = item_of(fitted, lot)
    return LotLine(
        lot,
        key_of(fitted, lot),
        find_key(lot.head, thread.size) if lot.head and thread else None,
        item,
        stock.get(item) if item else None,
        build_geometry(thread) if thread else None,
        build_holes(thread) if thread else None,
        compute_torque(screw),
    )


def _locks(joints: Iterable[FittedJoint]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    found: dict[str, list[str]] = {}
    for fitted in joints:
        lock = fitted.joint.thread_lock
        if lock not in (None, "none", "dry", "other"):
            found.setdefault(str(lock), []).append(fitted.joint.name)
    return tuple((lock, tuple(names)) for lock, names in found.items())


def _spares(joints: Iterable[JointLine]) -> tuple[Spare, ...]:
    groups: dict[str, list[LotLine]] = {}
    for joint in joints:
        for line in joint.lots:
            groups.setdefault(line.item or line.lot.text, []).append(line)
    found = []
    for group in groups.values():
        counts = [line.lot.count for line in group]
        fitted = None if None in counts else sum(count or 0 for count in counts)
        carry = 1 + (fitted or 0) // FITTED_PER_SPARE
        first = group[0]
        found.append(Spare(first.lot.text, first.item, fitted, carry, first.stock))
    return tuple(found)


class ThreadWish(Struct, frozen=True):
    """What a thread is looked up with; lengths in mm."""

    thread: Thread
    head: str | None = None
    material: str | None = None
    into: str | None = None
    friction: str | None = None
    mu: Decimal | None = None
    lever: Decimal | None = None
    extension: Decimal | None = None
    torque: Decimal | None = None


class ThreadView(Struct, frozen=True):
    """The answer to `fasteners --thread`. `setting` is what a wrench with the extension reads."""

    wish: ThreadWish
    geometry: Geometry | None
    holes: Holes
    keys: tuple[tuple[str, str, Figure], ...]
    nut: tuple[tuple[str, Figure], ...]
    torque: Torque | NoTorque
    published: Figure | None
    rubbing: Rubbing | None
    by_friction: float | None
    limit: Strength | None
    setting: float | None


def view_thread(wish: ThreadWish) -> ThreadView:
    """All that the tables and formulas give for one thread."""
    thread = wish.thread
    heads = (wish.head,) if wish.head is not None else tuple(TOOLS)
    keys = tuple(
        (head, TOOLS[head], figure)
        for head in heads
        if head in TOOLS and (figure := find_key(head, thread.size)) is not None
    )
    factor = FACTORS[wish.friction] if wish.friction is not None else NOT_STATED
    torque = compute_torque(Screw(thread, wish.head, wish.material, wish.into, factor))
    rubbing, by_friction = _by_friction(wish)
    given = float(wish.torque) if wish.torque is not None else None
    if given is None and isinstance(torque, Torque):
        given = torque.newton_metres
    setting = None
    if given is not None and wish.lever is not None and wish.extension is not None:
        setting = wrench_setting(given, float(wish.lever), float(wish.extension))
    return ThreadView(
        wish,
        build_geometry(thread),
        build_holes(thread),
        keys,
        _nut(thread),
        torque,
        published_torque(thread),
        rubbing,
        by_friction,
        find_strength(wish.material, float(thread.diameter)),
        setting,
    )


def _nut(thread: Thread) -> tuple[tuple[str, Figure], ...]:
    tables = (
        ("nut height, at most", NUT_HEIGHT),
        ("washer bore", WASHER_BORE),
        ("washer outside", WASHER_OUTSIDE),
        ("washer thickness", WASHER_THICKNESS),
    )
    return tuple(
        (what, figure) for what, table in tables if (figure := table.find(thread.size)) is not None
    )


def _by_friction(wish: ThreadWish) -> tuple[Rubbing | None, float | None]:
    """The full equation, for a cap head with a stated friction."""
    if wish.mu is None:
        return None, None
    rubbing = rubbing_of(wish.thread, wish.head, float(wish.mu))
    strength = find_strength(wish.material, float(wish.thread.diameter))
    if rubbing is None or strength is None:
        return rubbing, None
    return rubbing, friction_torque(rubbing, strength.mpa, USED)
