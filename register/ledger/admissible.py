"""The orders that one day admits, walked through to the ends of a range.

Each flight that perhaps counts may be possible, and yet not all of them together: a
part moved from one aircraft to another cannot have been in both. Where two or more
things of a day decide, the answer is found by walking through every order.
"""

from __future__ import annotations

from msgspec import Struct

from register.ledger.order import Orders, Point
from register.ledger.places import Spell

#: A walk with more open branches than this is given up, and the wider range stands.
MOST_BRANCHES = 4000
#: Which pieces count, for each way it can have been.
Counted = set[frozenset[Point]]


class Doubt(Struct, frozen=True):
    """A piece that perhaps counts. Each way is a chain of stays from the part to the aircraft.

    An empty way is always open; `free` means that no order tells (a pack not named).
    """

    point: Point
    ways: tuple[tuple[Spell, ...], ...]
    free: bool = False


class DayWalk:
    """All orders of the doubtful pieces of one day, and of what decides about them."""

    def __init__(
        self,
        orders: Orders,
        doubts: tuple[Doubt, ...],
        since: Point | None,
        until: Point | None,
    ):
        self.orders = orders
        self.doubts = doubts
        self.since = since
        self.until = until
        self.day = orders.events[doubts[0].point.event].moment.day
        edges = dict.fromkeys(point for point in self._edges() if self._is_today(point))
        #: How many points of the day decide. With one alone every piece stands for itself.
        self.deciding = len(edges)
        points = list(dict.fromkeys((*(doubt.point for doubt in doubts), *edges)))
        self.index = {point: n for n, point in enumerate(points)}
        self.before = [
            sum(1 << n for n, one in enumerate(points) if orders.compare(one, point) == "before")
            for point in points
        ]

    def _edges(self) -> list[Point]:
        found = [point for point in (self.since, self.until) if point is not None]
        for spell in (spell for doubt in self.doubts for way in doubt.ways for spell in way):
            ends = (spell.start, spell.end) if spell.end is not None else (spell.start,)
            found.extend(point for edge in ends for point in (edge.earliest, edge.latest))
        return found

    def _is_today(self, point: Point) -> bool:
        return self.orders.events[point.event].moment.day == self.day

    def find_counted(self, *, most: bool) -> Counted | None:
        """Which doubtful pieces count in each order; None when there are too many orders.

        `most`: what no order decides counts, else it does not.
        """
        turns = [
            (1 << n, needed, self._rules(n, most=most) if n < len(self.doubts) else ())
            for n, needed in enumerate(self.before)
        ]
        layer = {(0, 0)}
        for _ in self.before:
            following = set()
            for past, counted in layer:
                for bit, needed, rules in turns:
                    if past & bit or needed & ~past:
                        continue
                    gained = any(past & open_ == open_ and not past & shut for open_, shut in rules)
                    following.add((past | bit, counted | bit if gained else counted))
            if len(following) > MOST_BRANCHES:
                return None
            layer = following
        return {
            frozenset(doubt.point for n, doubt in enumerate(self.doubts) if counted >> n & 1)
            for _, counted in layer
        }

    def _rules(self, n: int, *, most: bool) -> tuple[tuple[int, int], ...]:
        """When a piece counts: under any of these, its first points all past and no second one."""
        doubt = self.doubts[n]
        ways = (((),) if most else ()) if doubt.free else doubt.ways
        found = (self._rule(way, most=most) for way in ways)
        return tuple(dict.fromkeys(rule for rule in found if rule is not None))

    def _rule(self, way: tuple[Spell, ...], *, most: bool) -> tuple[int, int] | None:
        """Points that must be past and points that must not; None when that cannot be."""
        needed = [] if self.since is None else [self.since]
        shut = [] if self.until is None else [self.until]
        for spell in way:
            needed.append(spell.start.latest)
            if spell.end is not None:
                # Between the two ends of an implied removal nothing tells whether it was off.
                shut.extend((spell.end.latest,) if most else (spell.end.latest, spell.end.earliest))
        if any(self._is_never(point) for point in needed) or any(
            self._is_always(point) for point in shut
        ):
            return None
        return self._bits_of(needed), self._bits_of(shut)

    def _is_always(self, point: Point) -> bool:
        """Past before the day begins."""
        return point not in self.index and self.orders.events[point.event].moment.day < self.day

    def _is_never(self, point: Point) -> bool:
        """Not past when the day ends."""
        return point not in self.index and not self._is_always(point)

    def _bits_of(self, points: list[Point]) -> int:
        return sum({1 << self.index[point] for point in points if point in self.index})


class Walks:
    """The walks that were made. Counters and tasks ask for the same ones over and over."""

    def __init__(self, orders: Orders):
        self.orders = orders
        self._found: dict[object, tuple[Counted, Counted] | None] = {}

    def find(
        self,
        subject: tuple[str, str],
        doubts: tuple[Doubt, ...],
        since: Point | None,
        until: Point | None,
    ) -> tuple[Counted, Counted] | None:
        """What may count of a day's doubtful pieces, at least and at most; None: no order tells."""
        key = (subject, tuple(doubt.point for doubt in doubts), since, until)
        if key not in self._found:
            walk = DayWalk(self.orders, doubts, since, until)
            lowest = walk.find_counted(most=False) if walk.deciding > 1 else None
            highest = walk.find_counted(most=True) if lowest is not None else None
            both = None if lowest is None or highest is None else (lowest, highest)
            self._found[key] = both
        return self._found[key]
