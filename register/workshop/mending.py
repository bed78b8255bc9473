"""What can be done about a broken or stripped screw, and what each way needs."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.records.stock import StockItem
from register.records.threads import next_larger
from register.workshop.fastener_sizes import Figure
from register.workshop.fasteners import FittedJoint, Lot, item_of, standard_key
from register.workshop.threads import build_geometry, build_holes

NEVER_LONGER = (
    "Never a longer screw in the same hole: it holds by the same spoiled thread, and its end "
    "reaches what lies behind."
)
WOODEN = ("plywood", "hardwood", "balsa")
_SOFT = (*WOODEN, "plastic", "composite")
_SCRAP = "a trial on scrap of the same; no standard"
#: Diameters of sound material between an old hole and a new one. Common practice, no source.
APART = 2


class Need(Struct, frozen=True):
    """One thing that a way needs; `source` says where its size comes from.

    `item` is its name on the shelf and `at_hand` how many lie there, None if not known.
    """

    what: str
    source: str = ""
    item: str | None = None
    at_hand: Decimal | None = None


class Way(Struct, frozen=True):
    """One way to mend; `name` is the word for --mending."""

    name: str
    says: str
    needs: tuple[Need, ...]


def offer_ways(
    fitted: FittedJoint, lot: Lot, rest: str | None, stock: dict[str, StockItem]
) -> tuple[Way, ...]:
    """Extract, a new hole beside, an insert, a larger thread: in that order, gentlest first."""
    shelf = _Shelf(stock)
    ways = [
        _extract(fitted, lot, rest, shelf),
        _new_hole(fitted, lot, shelf),
        _insert(fitted, lot, shelf),
        _larger(fitted, lot, shelf),
    ]
    return tuple(way for way in ways if way is not None)


class _Shelf:
    """Looks up what lies on the shelf."""

    def __init__(self, stock: dict[str, StockItem]):
        self.stock = stock

    def need(self, what: str, item: str | None, source: str = "") -> Need:
        """A need with what the shelf has of it."""
        found = self.stock.get(item) if item is not None else None
        return Need(what, source, item, found.count if found is not None else None)


def _screw(fitted: FittedJoint, lot: Lot, shelf: _Shelf) -> Need:
    return shelf.need(f"1 {lot.text}", item_of(fitted, lot))


def _extract(fitted: FittedJoint, lot: Lot, rest: str | None, shelf: _Shelf) -> Way:
    if rest == "out":
        return Way(
            "same-again",
            "The rest is out: if the thread in the hole is whole, fit the same again.",
            (
                _screw(fitted, lot, shelf),
                Need("a light and a gauge or tap to try the thread by hand"),
            ),
        )
    if rest == "loose-inside":
        return Way(
            "same-again",
            "First find the rest, which lies loose inside; then fit the same again.",
            (
                Need("magnet for steel; it hardly holds stainless, and not titanium or brass"),
                Need("inspection mirror or camera"),
                _screw(fitted, lot, shelf),
            ),
        )
    geometry = build_geometry(lot.thread) if lot.thread is not None else None
    drill = Need("left-hand drill, thinner than the core of the screw")
    if geometry is not None:
        drill = Need(
            f"left-hand drill, under {geometry.core_diameter:.1f} mm",
            f"core diameter by {geometry.source}",
        )
    return Way(
        "extracted",
        "Drill the rest and turn it out; grip it where it stands proud.",
        (
            Need("centre punch"),
            drill,
            Need("screw extractor to suit"),
            _screw(fitted, lot, shelf),
        ),
    )


def _drills(fitted: FittedJoint, lot: Lot) -> list[Need]:
    """Hole and tap for a screw of a lot; in wood and plastic only a trial tells."""
    if fitted.joint.into in _SOFT or lot.thread is None or lot.thread.system == "tapping":
        return [Need("drill for the pilot hole", _SCRAP)]
    holes = build_holes(lot.thread)
    if fitted.joint.into in ("nut", "captive-nut"):
        return [
            _hole("drill right through", holes.clearance.get("medium"), lot),
            Need(f"1 nut {lot.thread.name}"),
        ]
    return [
        _hole("tapping drill", holes.tapping, lot),
        Need(f"tap {lot.thread.name}"),
        _hole("drill for the part held", holes.clearance.get("medium"), lot),
    ]


def _hole(what: str, figure: Figure | None, lot: Lot) -> Need:
    if figure is None:
        name = lot.thread.name if lot.thread is not None else "this thread"
        return Need(what, f"size not in the tables for {name}")
    return Need(f"{what} {figure.text}", figure.source)


def _new_hole(fitted: FittedJoint, lot: Lot, shelf: _Shelf) -> Way:
    apart = "well clear of the old one"
    if lot.thread is not None:
        distance = f"{float(lot.thread.diameter) * APART:.1f}".removesuffix(".0")
        apart = f"{distance} mm or more from the old one ({APART} x diameter: common practice)"
    says = f"A new hole beside, {apart}; fill the old one."
    return Way("new-hole", says, (*_drills(fitted, lot), _screw(fitted, lot, shelf)))


def _insert(fitted: FittedJoint, lot: Lot, shelf: _Shelf) -> Way | None:
    if lot.thread is None or lot.thread.system == "tapping":
        return None
    size = lot.thread.name.lower().replace("#", "").replace("/", "-")
    needs = [
        shelf.need(f"1 insert for {lot.thread.name}", f"insert-{size}"),
        Need("drill and tool for the insert", "by its maker; no table holds it"),
        _screw(fitted, lot, shelf),
    ]
    if fitted.joint.into in _SOFT:
        needs.insert(2, Need("adhesive, and its cure before any load"))
    return Way("insert", "A threaded insert in the old hole, for the same screw.", tuple(needs))


def _larger(fitted: FittedJoint, lot: Lot, shelf: _Shelf) -> Way:
    says = "The next larger thread, no longer than before; kept as a departure."
    larger = next_larger(lot.thread) if lot.thread is not None else None
    if larger is None:
        return Way("larger-thread", says, (Need("a larger screw", "none in the tables"),))
    new = replace(lot, thread=larger)
    key = standard_key(new)
    needs = [*_drills(fitted, new), shelf.need(f"1 {new.text}", new.item)]
    if key is not None and key != standard_key(lot):
        needs.append(Need(key, "another key than before"))
    return Way("larger-thread", says, tuple(needs))
