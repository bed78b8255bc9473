"""What is screwed into an aircraft now: its joints as built, and what broke or was changed."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.findings.snags import SnagState, fold_snags
from register.ledger.ledger import Ledger
from register.records.as_built import read_section, read_section_of
from register.records.bodies import Snag
from register.records.events import Event
from register.records.joints import Joint
from register.records.threads import Thread, parse_thread
from register.records.values import format_amount
from register.records.workshop_bodies import FastenerChange, Modification
from register.trouble import Problem
from register.workshop.fastener_sizes import TOOLS, find_key


class Lot(Struct, frozen=True):
    """Fasteners of a joint that are alike. `since` is the departure that fitted them."""

    count: int | None
    thread: Thread | None
    length: Decimal | None
    head: str | None
    since: Event | None

    @property
    def text(self) -> str:
        """M3 x 10 cap; what is not stated is left out."""
        words = [self.thread.name if self.thread else "thread not stated"]
        if self.length is not None:
            words.append(f"x {format_amount(self.length)}")
        if self.head is not None:
            words.append(self.head.replace("-", " "))
        return " ".join(words)

    @property
    def item(self) -> str | None:
        """What it is called on the shelf: screw-m3x10-cap, nut-m3; None if not wholly stated."""
        if self.thread is None or self.head is None:
            return None
        size = self.thread.name.lower().replace("#", "").replace("/", "-")
        if self.head == "nut":
            return f"nut-{size}"
        if self.length is None:
            return None
        return f"screw-{size}x{format_amount(self.length)}-{self.head}".replace(".", "-")


class FittedJoint(Struct, frozen=True):
    """A joint as it is now. `broken` counts what open snags say of it.

    `holding` None: how many were fitted is not stated.
    """

    joint: Joint
    kit: Joint | None
    lots: tuple[Lot, ...]
    snags: tuple[SnagState, ...]
    broken: int
    holding: int | None

    @property
    def is_too_few(self) -> bool:
        """Fewer hold than the joint's owner asks for."""
        least = self.joint.least_holding
        return least is not None and self.holding is not None and self.holding < least


class Tool(Struct, frozen=True):
    """One tool to bring, and the joints it is for."""

    name: str
    joints: tuple[str, ...]


def fit_joints(ledger: Ledger, aircraft: str) -> tuple[dict[str, FittedJoint], tuple[Problem, ...]]:
    """Every joint by name: kit, then the aircraft's own file, then its recorded departures."""
    records = ledger.records
    joints, problems = read_section(records, aircraft, "joints")
    kit = records.find_kit(records.aircraft[aircraft].kit)
    of_kit = read_section_of(kit.node, "joints")[0] if kit is not None else {}
    changes = _changes(ledger, aircraft)
    snags = _joint_snags(ledger, aircraft)
    fitted = {
        name: _fit(joint, of_kit.get(name), changes.get(name, ()), snags.get(name, ()))
        for name, joint in joints.items()
    }
    return fitted, problems


def _changes(ledger: Ledger, aircraft: str) -> dict[str, list[tuple[Event, FastenerChange]]]:
    found: dict[str, list[tuple[Event, FastenerChange]]] = {}
    for event in ledger.events:
        body = event.body
        if (
            isinstance(body, Modification)
            and body.fastener is not None
            and ledger.names.aircraft_name(body.aircraft) == aircraft
        ):
            found.setdefault(body.fastener.joint, []).append((event, body.fastener))
    return found


def _joint_snags(ledger: Ledger, aircraft: str) -> dict[str, list[SnagState]]:
    found: dict[str, list[SnagState]] = {}
    for state in fold_snags(ledger).values():
        body = state.event.body
        if (
            state.is_open
            and isinstance(body, Snag)
            and body.joint is not None
            and aircraft in state.hosts
        ):
            found.setdefault(body.joint.strip().lower(), []).append(state)
    return found


def broken_of(state: SnagState) -> int:
    """How many fasteners a snag says are broken."""
    body = state.event.body
    return (body.broken or 0) if isinstance(body, Snag) else 0


def _fit(
    joint: Joint,
    kit: Joint | None,
    changes: Iterable[tuple[Event, FastenerChange]],
    snags: Iterable[SnagState],
) -> FittedJoint:
    lots = [Lot(joint.count, joint.thread, joint.length, joint.head, None)]
    for event, change in changes:
        lots = _apply(lots, event, change)
    listed = tuple(snags)
    broken = sum(broken_of(state) for state in listed)
    holding = None if joint.count is None else max(joint.count - broken, 0)
    return FittedJoint(joint, kit, tuple(lots), listed, broken, holding)


def _apply(lots: list[Lot], event: Event, change: FastenerChange) -> list[Lot]:
    """Take so many off the lots, the first one first, and add them as a lot of their own."""
    first = lots[0]
    new = Lot(
        change.count,
        parse_thread(change.thread) if change.thread else first.thread,
        first.length if change.length is None else change.length,
        change.head or first.head,
        event,
    )
    left = change.count
    kept = []
    for lot in lots:
        if lot.count is None:
            kept.append(lot)
            left = 0
            continue
        taken = min(lot.count, left)
        left -= taken
        if lot.count > taken:
            kept.append(replace(lot, count=lot.count - taken))
    if left:
        # More were changed than are stated: only what was there can have been.
        new = replace(new, count=max(change.count - left, 1))
    for place, lot in enumerate(kept):
        if _alike(lot, new):
            together = None if lot.count is None else lot.count + (new.count or 0)
            kept[place] = replace(lot, count=together)
            return kept
    return [*kept, new]


def _alike(one: Lot, other: Lot) -> bool:
    return (one.thread, one.length, one.head) == (other.thread, other.length, other.head)


def item_of(fitted: FittedJoint, lot: Lot) -> str | None:
    """What a lot is called on the shelf: the joint's own word for what it was fitted with."""
    own = fitted.joint.stock if lot.since is None else None
    return own or lot.item


def key_of(fitted: FittedJoint, lot: Lot) -> str | None:
    """The tool of a lot: hex key 2.5 mm. A joint's own drive wins for what it was fitted with."""
    if fitted.joint.drive is not None and lot.head == fitted.joint.head:
        return fitted.joint.drive
    return standard_key(lot)


def standard_key(lot: Lot) -> str | None:
    """The tool that the standard of a head asks for; None where no table holds it."""
    if lot.head == "thumb":
        return "by hand"
    if lot.head is None or lot.thread is None:
        return None
    figure = find_key(lot.head, lot.thread.size)
    return None if figure is None else f"{TOOLS[lot.head]} {figure.text}"


def list_tools(joints: Iterable[FittedJoint]) -> tuple[Tool, ...]:
    """Every tool once, by name, with the joints it is for."""
    found: dict[str, list[str]] = {}
    for fitted in joints:
        for lot in fitted.lots:
            key = key_of(fitted, lot) or _not_known(lot)
            if key != "by hand" and fitted.joint.name not in found.setdefault(key, []):
                found[key].append(fitted.joint.name)
    return tuple(Tool(name, tuple(names)) for name, names in sorted(found.items()) if names)


def _not_known(lot: Lot) -> str:
    return f"not in the tables: the key of {lot.text}"


def list_oddities(joints: Iterable[FittedJoint]) -> tuple[tuple[str, str], ...]:
    """Joint and what of it is not as a buyer would expect."""
    listed = tuple(joints)
    systems = [lot.thread.system for f in listed for lot in f.lots if lot.thread is not None]
    few_inch = 0 < systems.count("inch") < systems.count("metric")
    few_metric = 0 < systems.count("metric") < systems.count("inch")
    found: list[tuple[str, str]] = []
    for fitted in listed:
        words = _unlike_kit(fitted)
        for lot in fitted.lots:
            words.extend(_unusual(fitted, lot))
            if lot.thread is None:
                continue
            if few_inch and lot.thread.system == "inch":
                words.append(f"{lot.thread.name}: an inch thread, most here are metric")
            if few_metric and lot.thread.system == "metric":
                words.append(f"{lot.thread.name}: a metric thread, most here are inch")
        found.extend((fitted.joint.name, word) for word in dict.fromkeys(words))
    return tuple(found)


def _unlike_kit(fitted: FittedJoint) -> list[str]:
    words = []
    joint, kit = fitted.joint, fitted.kit
    own = Lot(joint.count, joint.thread, joint.length, joint.head, None)
    if kit is not None:
        given = Lot(kit.count, kit.thread, kit.length, kit.head, None)
        if not _alike(own, given):
            words.append(f"{own.text}; the kit has {given.text}")
        elif own.count != given.count:
            words.append(f"{own.count} fitted; the kit has {given.count}")
    for lot in fitted.lots:
        if lot.since is not None:
            day = lot.since.moment.day.isoformat()
            words.append(f"{lot.count} of them {lot.text} since {day}; they were {own.text}")
    return words


def _unusual(fitted: FittedJoint, lot: Lot) -> list[str]:
    words = []
    standard = standard_key(lot)
    if fitted.joint.left_hand:
        words.append("left-hand thread")
    if lot.thread is not None and lot.thread.system == "metric" and not lot.thread.is_coarse:
        words.append(f"{lot.thread.name}: a fine pitch")
    if lot.since is None and fitted.joint.drive and standard and fitted.joint.drive != standard:
        words.append(f"takes {fitted.joint.drive}; the standard has {standard}")
    return words
