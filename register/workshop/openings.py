"""How a place on an aircraft is reached: which things have to be off, one way or another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from msgspec import Struct

from register.records.access import Access
from register.records.values import ZERO


class Way(Struct, frozen=True):
    """What is off to reach a place. `by` is the opening used, `others` would have done too.

    `is_stated` False: no opening is said to reach it, so nothing is taken off for it.
    """

    place: str | None
    off: tuple[str, ...]
    by: str | None
    others: tuple[str, ...]
    is_stated: bool


NOWHERE = Way(None, (), None, (), False)


class Openings:
    """The access of an aircraft. `absent` names entries that are not fitted yet."""

    def __init__(
        self,
        entries: Mapping[str, Access],
        holders: Mapping[str, tuple[str, ...]] | None = None,
        absent: Iterable[str] = (),
    ):
        self.entries = dict(sorted(entries.items()))
        self.holders = holders or {}
        self.absent = frozenset(absent)
        self.doors: dict[str, list[str]] = {}
        self.held: dict[str, list[str]] = {}
        self.after: dict[str, list[str]] = {}
        for name, entry in self.entries.items():
            for place in entry.opens:
                self.doors.setdefault(place, []).append(name)
            for joint in entry.fasteners:
                self.held.setdefault(joint, []).append(name)
            for need in entry.needs:
                self.after.setdefault(name, []).append(need.name)
            for item in entry.order:
                self.after.setdefault(item.what, []).append(item.before)

    def directly_before(self, place: str) -> tuple[str, ...]:
        """Entries that come off before this one does, or before this place is worked at."""
        return tuple(
            sorted({name for name in self.after.get(place, ()) if name in self.entries} - {place})
        )

    def around(self, name: str) -> frozenset[str]:
        """An entry and all that comes off before it; nothing that is not fitted."""
        found: set[str] = set()
        front = [name]
        while front:
            here = front.pop()
            if here in found or here in self.absent or here not in self.entries:
                continue
            found.add(here)
            front.extend(self.directly_before(here))
        return frozenset(found)

    def doors_of(self, place: str, *, mending: bool = False) -> tuple[str, ...]:
        """Openings that reach a place, by its own name, else by that of a zone it lies in.

        Where fasteners are mended, what they hold is off; to look at them it stays on.
        """
        direct = self.doors.get(place)
        if direct is None and mending:
            direct = self.held.get(place)
        if direct is None:
            zones = self.holders.get(place, ())
            direct = [name for zone in zones for name in self.doors.get(zone, ())]
        return tuple(sorted(set(direct) - {place}))

    def is_known(self, place: str) -> bool:
        """Does the access say anything of a place?"""
        return place in self.entries or place in self.after or bool(self.doors_of(place))

    def choose_way(self, place: str, already: frozenset[str], *, mending: bool = False) -> Way:
        """The way that takes least more off: in minutes, then in number, then by name."""
        own: set[str] = set()
        for name in self.directly_before(place):
            own |= self.around(name)
        doors = self.doors_of(place, mending=mending)
        if not doors:
            return Way(place, _sorted(own), None, (), self.is_known(place))

        def cost(door: str) -> tuple[Decimal, int, str]:
            more = (self.around(door) | own) - already
            return sum((self._minutes(name) for name in more), ZERO), len(more), door

        best = min(doors, key=cost)
        off = self.around(best) | own
        return Way(place, _sorted(off), best, tuple(d for d in doors if d != best), True)

    def _minutes(self, name: str) -> Decimal:
        entry = self.entries[name]
        return (entry.minutes_off or ZERO) + (entry.minutes_on or ZERO)

    def choose_ways(
        self, places: Mapping[str, str | None], mending: frozenset[str] = frozenset()
    ) -> dict[str, Way]:
        """A way for each piece of work by its key; those with one door first, then by key."""
        already: frozenset[str] = frozenset()
        found: dict[str, Way] = {}
        keys = sorted(places, key=lambda key: (len(self.doors_of(places[key] or "")) > 1, key))
        for key in keys:
            place = places[key]
            if place is None:
                found[key] = NOWHERE
            else:
                found[key] = self.choose_way(place, already, mending=key in mending)
            already |= frozenset(found[key].off)
        return found


def _sorted(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(names))
