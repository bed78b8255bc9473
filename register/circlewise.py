"""Answers over the whole fleet, put together circle by circle.

What a circle gave is kept under a digest of everything it was computed from: the bytes of
its files and of those outside all sheaves, and the question. So after a change only the
circle that changed is opened and folded again, and nothing has to be thrown away by hand.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from hashlib import blake2b
from typing import TYPE_CHECKING, TypeVar, cast

from msgspec.structs import replace

from register.ledger.ledger import Ledger
from register.records.kept import pack, unpack
from register.records.sheaves import REST

if TYPE_CHECKING:
    from register.fleet import Fleet
    from register.views.due import DueView
    from register.views.fleet import FleetView
    from register.views.flyday import Card, FlydayView

T = TypeVar("T")


def gather(
    fleet: Fleet, kind: str, about: tuple[str, ...], compute: Callable[[Fleet], T]
) -> list[T]:
    """What `compute` gives for each circle. Kept under `kind`, for the last question `about`."""
    kept = fleet.sheaves.kept.load(kind)
    before = kept[1] if isinstance(kept, tuple) and kept[0] == about else {}
    found: list[T] = []
    packed: dict[bytes, bytes] = {}
    fresh = False
    for folders in fleet.circles.all:
        digest = _digest(fleet, folders)
        known = unpack(before[digest]) if digest in before else None
        if known is not None:
            found.append(cast(T, known))
            packed[digest] = before[digest]
            continue
        found.append(compute(fleet.cut(folders)))
        if fleet.sheaves.on_disk:
            packed[digest] = pack(found[-1])
            fresh = True
    if fresh and not fleet.sheaves.torn:
        fleet.sheaves.kept.store(kind, (about, packed))
    return found


def _digest(fleet: Fleet, folders: tuple[str, ...]) -> bytes:
    """Stands for everything that the answers about a circle are computed from."""
    mixed = blake2b(digest_size=32)
    for folder in (REST, *folders):
        mixed.update(folder.encode("utf-8", "surrogatepass") + b"\0")
        mixed.update(fleet.sheaves.catalogue[folder].digest)
    return mixed.digest()


def gather_unread(fleet: Fleet) -> tuple[str, ...]:
    """Files of the whole fleet whose facts count for nothing."""
    found = gather(fleet, "unread", (), lambda part: part.unread)
    return tuple(sorted({path for paths in found for path in paths}))


def gather_due(fleet: Fleet, day: date) -> DueView:
    """What is due, over the whole fleet."""
    from register.views.due import DueView, due_order, view_due

    def compute(part: Fleet) -> tuple[DueView, ...]:
        ledger = part.ledger_at(day)
        return tuple(view_due(ledger, day, (), name) for name in sorted(part.records.aircraft))

    circles = gather(fleet, "due", (day.isoformat(),), compute)
    views = sorted((view for circle in circles for view in circle), key=_name_of)
    lines = [line for view in views for line in view.lines]
    lines.sort(key=lambda line: due_order(line.item))
    unread = gather_unread(fleet)
    never = {name: count for view in views for name, count in view.never_done.items()}
    checks = {name: count for view in views for name, count in view.day_checks.items()}
    lost = tuple(one for view in views for one in view.lost)
    doubles = sum(view.doubles for view in views)
    return DueView(day, not unread, unread, tuple(lines), never, checks, False, None, lost, doubles)


def _name_of(view: DueView) -> str:
    return view.one_aircraft or ""


def gather_fleet(fleet: Fleet, day: date) -> FleetView:
    """Every aircraft at a glance."""
    from register.views.fleet import view_fleet

    views = gather(
        fleet, "fleet", (day.isoformat(),), lambda part: view_fleet(part.ledger_at(day), day, ())
    )
    bare = view_fleet(Ledger(fleet.cut(()).records), day, gather_unread(fleet))
    lines = [line for view in views for line in view.lines]
    doubles = sum(view.doubles for view in views)
    lines.sort(key=lambda line: line.name)
    return replace(bare, lines=tuple(lines), doubles=doubles)


def gather_flyday(
    fleet: Fleet, day: date, known_to: date, plans: dict[str, int]
) -> tuple[FlydayView, tuple[Card, ...]]:
    """The flying day, and its pocket cards."""
    from register.views.flyday import flyday_order, view_cards, view_flyday

    until = min(day, known_to)

    def compute(part: Fleet) -> tuple[FlydayView, tuple[Card, ...]]:
        ledger = part.ledger_at(until)
        here = {name: plans[name] for name in plans if name in part.records.aircraft}
        view = view_flyday(ledger, day, known_to, (), here)
        return view, view_cards(ledger, view)

    about = (day.isoformat(), known_to.isoformat(), *(f"{a}={n}" for a, n in sorted(plans.items())))
    found = gather(fleet, "flyday", about, compute)
    bare = view_flyday(Ledger(fleet.cut(()).records), day, known_to, gather_unread(fleet), {})
    judged = sorted((one for view, _ in found for one in view.aircraft), key=flyday_order)
    cards = {card.aircraft.aircraft: card for _, listed in found for card in listed}
    last = max((view.last_entry for view, _ in found if view.last_entry is not None), default=None)
    doubles = sum(view.doubles for view, _ in found)
    view = replace(bare, aircraft=tuple(judged), last_entry=last, doubles=doubles)
    return view, tuple(cards[one.aircraft] for one in judged if one.aircraft in cards)
