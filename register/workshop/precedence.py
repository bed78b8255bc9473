"""What comes before what: arrows between steps, the rings among them, and what cannot be.

Names decide every tie, so the order in which files were read changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from msgspec import Struct

from register.trouble import Place

#: Which kind of arrow is left out of a ring first: what goes in before what, then a job's wait,
#: then what an opening needs. Arrows of the work itself (off, do, on) never are.
LINKS = ("need", "wait", "order")


class Arrow(Struct, frozen=True):
    """`before` is over, and `lag` minutes more, when `after` begins.

    `link` names what somebody wrote that makes it, as (kind, name); None is in the nature of
    the work. `says` and `place` tell what was written, and where.
    """

    before: str
    after: str
    lag: int = 0
    link: tuple[str, str] | None = None
    says: str = ""
    place: Place | None = None

    @property
    def order(self) -> tuple[str, str, int, tuple[str, str]]:
        """For sorting, so that no order of reading shows."""
        return (self.before, self.after, self.lag, self.link or ("", ""))


class Knot(Struct, frozen=True):
    """Steps that each have to come before the other. `left_out` was set aside to go on."""

    ends: tuple[tuple[str, Place | None], ...]
    left_out: str
    place: Place | None


def untie(arrows: Iterable[Arrow]) -> tuple[tuple[Arrow, ...], tuple[Knot, ...]]:
    """Arrows without a ring, and a knot for each that had to be undone."""
    left = sorted(set(arrows), key=lambda arrow: arrow.order)
    knots = []
    while ring := find_ring(left):
        written = {
            arrow.link: arrow
            for arrow in sorted(ring, key=lambda arrow: arrow.order)
            if arrow.link is not None
        }
        # Off, do and on of one thing make no ring by themselves.
        chosen = max(written, key=lambda link: (LINKS.index(link[0]), link[1]))
        ends = [(arrow.says, arrow.place) for arrow in written.values()]
        knots.append(Knot(tuple(sorted(ends)), written[chosen].says, written[chosen].place))
        left = [arrow for arrow in left if arrow.link != chosen]
    return tuple(left), tuple(dict.fromkeys(knots))


def find_ring(arrows: Iterable[Arrow]) -> list[Arrow]:
    """One ring of arrows, the shortest from its first step by name; empty if there is none."""
    out: dict[str, list[Arrow]] = defaultdict(list)
    waiting: dict[str, int] = defaultdict(int)
    for arrow in arrows:
        out[arrow.before].append(arrow)
        waiting[arrow.after] += 1
    free = [name for name in out if not waiting[name]]
    while free:
        for arrow in out[free.pop()]:
            waiting[arrow.after] -= 1
            if not waiting[arrow.after]:
                free.append(arrow.after)
    for start in sorted(name for name, count in waiting.items() if count > 0):
        way = find_way(out, start, start)
        if way:
            return way
    return []


def find_way(out: Mapping[str, Iterable[Arrow]], start: str, end: str) -> list[Arrow]:
    """The shortest way along arrows, with at least one; empty if there is none."""
    came: dict[str, Arrow] = {}
    front = [start]
    while front:
        following = []
        for here in front:
            for arrow in sorted(out.get(here, ()), key=lambda arrow: arrow.order):
                if arrow.after == end:
                    way = [arrow]
                    while way[-1].before != start:
                        way.append(came[way[-1].before])
                    return way[::-1]
                if arrow.after not in came:
                    came[arrow.after] = arrow
                    following.append(arrow.after)
        front = following
    return []


def leads_to(arrows: Iterable[Arrow], start: str, end: str) -> bool:
    """Does something already make `start` come before `end`?"""
    out: dict[str, list[Arrow]] = defaultdict(list)
    for arrow in arrows:
        out[arrow.before].append(arrow)
    return start == end or bool(find_way(out, start, end))
