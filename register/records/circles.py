"""Circles: aircraft and parts that some record ever connected, however far round.

Nothing outside a circle can change an answer about anything inside it: its ledger, made of
the records of its own sheaves and of all standing files, gives for its aircraft and parts
what the ledger of the whole fleet gives. So after a change only the circle it lies in is
opened, settled and counted again.

What connects two sheaves: a record in one that names the other's aircraft or part, or an
event of it, by id or by the beginning of one; two events with one id; and, where the order
within a day could be told otherwise without the other, having events on that day.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping
from itertools import pairwise

from register.records.traces import Anchor, Move, Trace

#: The node in which everything meets that cannot be told apart.
_ALL = ("all", "")
_Node = tuple[str, str]


class Circles:
    """Which sheaves hang together. `things` gives each sheaf the names and ids it goes by."""

    def __init__(self, traces: Mapping[str, Trace], things: Mapping[str, Iterable[str]]):
        self._above: dict[_Node, _Node] = {}
        known = {name for named in things.values() for name in named}
        named = known.union(*(trace.names for trace in traces.values()))
        for folder, trace in traces.items():
            node = ("sheaf", folder)
            for name in (*things.get(folder, ()), *trace.names, *(trace.perhaps & named)):
                self._join(node, ("name", name))
            if trace.odd:
                self._join(node, _ALL)
        if any(trace.odd for trace in traces.values()):
            for folder in traces:
                self._join(("sheaf", folder), _ALL)
        owners = self._join_ids(traces)
        self._join_words(traces, owners)
        self._join_days(traces, owners)
        self.members: dict[str, tuple[str, ...]] = {}
        gathered: dict[_Node, list[str]] = defaultdict(list)
        for folder in sorted(traces):
            gathered[self._top(("sheaf", folder))].append(folder)
        for folders in gathered.values():
            self.members.update(dict.fromkeys(folders, tuple(folders)))

    @property
    def all(self) -> tuple[tuple[str, ...], ...]:
        """Every circle: its sheaves, sorted."""
        return tuple(dict.fromkeys(self.members.values()))

    def around(self, folders: Iterable[str]) -> tuple[str, ...]:
        """The sheaves of every circle that these lie in, sorted."""
        found = {member for one in folders for member in self.members.get(one, ())}
        return tuple(sorted(found))

    def _top(self, node: _Node) -> _Node:
        above = self._above
        while (upper := above.setdefault(node, node)) != node:
            above[node] = node = above[upper]
        return node

    def _join(self, one: _Node, other: _Node) -> None:
        self._above[self._top(one)] = self._top(other)

    def _join_ids(self, traces: Mapping[str, Trace]) -> dict[str, str]:
        """Whose each event is; two with one id belong together."""
        owners: dict[str, str] = {}
        for folder, trace in traces.items():
            for id_ in trace.ids.split():
                first = owners.setdefault(id_, folder)
                if first != folder:
                    self._join(("sheaf", first), ("sheaf", folder))
        return owners

    def _join_words(self, traces: Mapping[str, Trace], owners: dict[str, str]) -> None:
        listed = sorted(owners)
        for folder, trace in traces.items():
            for word in trace.words:
                for owner in find_owners(word, listed, owners):
                    self._join(("sheaf", folder), ("sheaf", owner))

    def _join_days(self, traces: Mapping[str, Trace], owners: dict[str, str]) -> None:
        """Days with several moves, whose events are put in order among each other.

        Where every part's moves follow each other plainly, what stands beside them does not
        matter; else all that have events on that day belong together.
        """
        busy, knotted = _find_busy(traces)
        restless = {owners.get(id_) for trace in traces.values() for id_ in trace.restless}
        for folder, trace in traces.items():
            if folder in restless:
                knotted |= trace.days & busy
        for folder, trace in traces.items():
            for day in trace.days & knotted:
                self._join(("sheaf", folder), ("day", str(day)))
            for day, clock in trace.clocks:
                if day in busy:
                    self._join(("sheaf", folder), ("clock", clock))


def _find_busy(traces: Mapping[str, Trace]) -> tuple[set[int], set[int]]:
    """Days with several moves, and of these the days on which they do not follow plainly."""
    moves: dict[int, list[Move]] = defaultdict(list)
    count: dict[int, int] = defaultdict(int)
    for trace in traces.values():
        for move in trace.moves:
            moves[move.day].append(move)
            count[move.day] += 1
        for day in trace.shifts:
            count[day] += 1
    busy = {day for day, number in count.items() if number > 1}
    knotted = {day for trace in traces.values() for day in trace.shifts if day in busy}
    anchors = [
        anchor for trace in traces.values() for anchor in trace.anchors if anchor.day in busy
    ]
    roots = _Roots(anchors, {move.event: day for day in busy for move in moves[day]})
    knotted |= {anchor.day for anchor in anchors if roots.find(anchor.event) is None}
    knotted |= {day for day in busy - knotted if not _are_plain(moves[day], roots)}
    return busy, knotted


def find_owners(word: str, listed: list[str], owners: Mapping[str, str]) -> set[str]:
    """The sheaves with an event whose id is this word or begins with it; `listed` is sorted."""
    found = set()
    for place in range(bisect_left(listed, word), len(listed)):
        if not listed[place].startswith(word):
            break
        found.add(owners[listed[place]])
    return found


class _Roots:
    """Which event each anchored one hangs on in the end; `days` are those of the moves."""

    def __init__(self, anchors: list[Anchor], days: dict[str, int]):
        self.after: dict[str, str | None] = {}
        for anchor in anchors:
            is_sure = anchor.is_sure or days.get(anchor.after) == anchor.day
            doubled = anchor.event in self.after
            self.after[anchor.event] = anchor.after if is_sure and not doubled else None

    def find(self, event: str) -> str | None:
        """The event at the end of the chain; None where that is in doubt, as in a ring."""
        seen = {event}
        while event in self.after:
            above = self.after[event]
            if above is None or above in seen:
                return None
            seen.add(above)
            event = above
        return event


def _are_plain(moves: list[Move], roots: _Roots) -> bool:
    """Are each part's moves in one chain of events after each other, or else in an order
    that the numbers of one machine and their times tell alike?"""
    by_part: dict[str, list[Move]] = defaultdict(list)
    for move in moves:
        for name in move.part or ("",):
            by_part[name].append(move)
    for same in by_part.values():
        if len({roots.find(move.event) for move in same}) < 2:
            continue
        same.sort(key=lambda move: move.order)
        for one, two in pairwise(same):
            is_told = one.machine == two.machine and one.seq < two.seq and bool(one.machine)
            if not is_told or one.event in roots.after or two.event in roots.after:
                return False
    return True
