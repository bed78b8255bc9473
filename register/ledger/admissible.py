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

    def find_counted(self, *, most: bool) -> set[frozenset[Point]] | None:
        """Which doubtful pieces count in each order; None when there are too many orders.

        `most`: what no order decides counts, else it does not.
        """
        layer = {(0, 0)}
        for _ in self.before:
            following = set()
            for past, counted in layer:
                for n, needed in enumerate(self.before):
                    if past >> n & 1 or needed & ~past:
                        continue
                    gained = n < len(self.doubts) and self._counts(n, past, most=most)
                    following.add((past | 1 << n, counted | 1 << n if gained else counted))
            if len(following) > MOST_BRANCHES:
                return None
            layer = following
        return {
            frozenset(doubt.point for n, doubt in enumerate(self.doubts) if counted >> n & 1)
            for _, counted in layer
        }

    def _counts(self, n: int, past: int, *, most: bool) -> bool:
        doubt = self.doubts[n]
        if self.since is not None and not self._is_past(self.since, past):
            return False
        if self.until is not None and self._is_past(self.until, past):
            return False
        if doubt.free:
            return most
        return any(
            all(self._is_open(spell, past, most=most) for spell in way) for way in doubt.ways
        )

    def _is_past(self, point: Point, past: int) -> bool:
        place = self.index.get(point)
        if place is None:
            return self.orders.events[point.event].moment.day < self.day
        return bool(past >> place & 1)

    def _is_open(self, spell: Spell, past: int, *, most: bool) -> bool:
        if not self._is_past(spell.start.latest, past):
            return False
        if spell.end is None:
            return True
        if self._is_past(spell.end.latest, past):
            return False
        # Between the two ends of an implied removal nothing tells whether it was off.
        return most or not self._is_past(spell.end.earliest, past)
