"""What came before what, and where that is not known.

Days are ordered by date. Within a day an event stands where its `after` puts it,
else where its time puts it; a date alone gives no order, and none is guessed.
A flights event is cut into segments wherever another event is anchored inside it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime
from functools import cached_property
from heapq import heapify, heappop, heappush
from itertools import combinations, pairwise
from typing import Literal, NamedTuple

from msgspec import Struct, field

from register.records.bodies import Flights, Install, Remove
from register.records.events import Event
from register.trouble import Problem

Order = Literal["before", "after", "unknown", "same"]


class Point(NamedTuple):
    """An event, or one segment of a flights event (flights `low` to `high`, from 1)."""

    event: str
    low: int = 0
    high: int = 0


class _Day(Struct):
    """One day: tracks (each a known sequence), and the closure of all known order."""

    tracks: list[list[Point]] = field(default_factory=list)
    roots: list[Event] = field(default_factory=list)
    index: dict[Point, int] = field(default_factory=dict)
    later: list[int] = field(default_factory=list)


class Orders:
    """All events in order, as far as it is known."""

    def __init__(self, events: Iterable[Event]):
        self.events: dict[str, Event] = {event.id: event for event in events}
        self.problems: list[Problem] = []
        self._days: dict[date, _Day] = {}
        self._segments: dict[str, tuple[Point, ...]] = {}
        #: Parts whose last move so far was an install.
        self._placed: set[str] = set()
        by_day: dict[date, list[Event]] = defaultdict(list)
        for event in self.events.values():
            by_day[event.moment.day].append(event)
        self.sequence: list[Event] = []
        for day in sorted(by_day):
            self._build_day(day, by_day[day])

    @cached_property
    def rank(self) -> dict[str, int]:
        """Place of each event in the deterministic order."""
        return {event.id: n for n, event in enumerate(self.sequence)}

    def segments(self, event_id: str) -> tuple[Point, ...]:
        """The segments of an event; one for everything but a cut flights event."""
        return self._segments[event_id]

    def compare(self, one: Point, other: Point) -> Order:
        """How two points stand to each other."""
        if one == other:
            return "same"
        first = self.events[one.event].moment.day
        second = self.events[other.event].moment.day
        if first != second:
            return "before" if first < second else "after"
        day = self._days[first]
        if not day.later:
            day.later = self._close(day)
        a, b = day.index[one], day.index[other]
        if day.later[a] >> b & 1:
            return "before"
        if day.later[b] >> a & 1:
            return "after"
        return "unknown"

    def last_point(self, event_id: str) -> Point:
        """The end of an event."""
        return self._segments[event_id][-1]

    # --- building ---------------------------------------------------------

    def _build_day(self, day: date, events: list[Event]) -> None:
        here = {event.id: event for event in events}
        children: dict[tuple[str, int], list[Event]] = defaultdict(list)
        cuts: dict[str, set[int]] = defaultdict(set)
        roots: list[Event] = []
        for event in events:
            anchor = self._anchor(event, here)
            if anchor is None:
                roots.append(event)
            else:
                children[anchor].append(event)
                cuts[anchor[0]].add(anchor[1])
        reached: set[str] = set()
        built = _Day()
        for event in events:
            self._segments[event.id] = _cut(event, cuts.get(event.id, set()))
        for root in sorted(roots, key=lambda item: item.order):
            built.tracks.append(self._track(root, children, reached))
            built.roots.append(root)
        for event in sorted(events, key=lambda item: item.order):
            if event.id not in reached:
                self._report_ring(event)
                reached.add(event.id)
                built.tracks.append(list(self._segments[event.id]))
                built.roots.append(event)
        for track in built.tracks:
            for point in track:
                built.index[point] = len(built.index)
        self._days[day] = built
        self._sort_day(built)

    def _sort_day(self, built: _Day) -> None:
        """Append the day's events in an order that agrees with all that is known."""
        listed = [
            self.events[id_]
            for id_ in dict.fromkeys(point.event for track in built.tracks for point in track)
        ]
        moves = [event for event in listed if isinstance(event.body, Install | Remove)]
        if len(moves) > 1:
            # Tracks one after the other agree with every time and `after`, but not with
            # the moves of one part, which keep their order wherever they stand.
            built.later = self._close(built)
            self._chain_moves(built, moves)
            listed = self._sort_moves(built, listed)
        elif moves:
            self._note_move(moves[0])
        self.sequence.extend(listed)

    def _sort_moves(self, built: _Day, listed: list[Event]) -> list[Event]:
        """Earliest first by what is known; where nothing is, off before on, else as listed."""
        roots = {
            point.event: root
            for track, root in zip(built.tracks, built.roots, strict=True)
            for point in track
        }
        wishes = [
            (roots[event.id].order[:3], _move_rank(event), n) for n, event in enumerate(listed)
        ]
        first = [built.index[self._segments[event.id][0]] for event in listed]
        number = {point: n for n, point in enumerate(first)}
        starts = sum(1 << point for point in first)
        # On the day a fleet begins, every part of it may be installed: few of them are
        # related, so each is looked at with its own followers only.
        followers = [[number[b] for b in _bits(built.later[a] & starts)] for a in first]
        earlier = [0] * len(listed)
        for n in (n for following in followers for n in following):
            earlier[n] += 1
        ready = [wish for wish in wishes if not earlier[wish[-1]]]
        heapify(ready)
        found = []
        while ready:
            chosen = heappop(ready)[-1]
            found.append(listed[chosen])
            for n in followers[chosen]:
                earlier[n] -= 1
                if not earlier[n]:
                    heappush(ready, wishes[n])
        return found

    @staticmethod
    def _is_before(built: _Day, one: int, other: int) -> bool:
        return bool(built.later[one] >> other & 1)

    def _anchor(self, event: Event, here: dict[str, Event]) -> tuple[str, int] | None:
        """The event and flight number it follows; None with a problem if that cannot be."""
        after = event.after
        if after is None:
            return None
        aims = [id_ for id_ in here if id_ == after.event] or [
            id_ for id_ in here if id_.startswith(after.event) and len(after.event) >= 4
        ]
        if len(aims) != 1 or aims[0] == event.id:
            known = next((id_ for id_ in self.events if id_ == after.event), None)
            says = (
                f"after: {after.event} is not of the same day"
                if known
                else f"after: no event {after.event!r} on {event.moment.day}"
            )
            self._report(event, says, "name an event of that day, or take the line out")
            return None
        body = here[aims[0]].body
        if not isinstance(body, Flights):
            return aims[0], 0
        number = body.count if after.flight is None else after.flight
        if not 1 <= number <= body.count:
            self._report(
                event,
                f"after: {after.event} has {body.count} flights, no flight {number}",
                f'write  after: "{after.event}:{body.count}"',
            )
            return None
        return aims[0], number

    def _report(self, event: Event, says: str, mend: str) -> None:
        place = event.after.place if event.after else event.place("after")
        self.problems.append(
            Problem(place, "after-wrong", f"{says}; the order counts as unknown", mend, "warning")
        )

    def _report_ring(self, event: Event) -> None:
        self._report(
            event, "after: these events follow each other in a ring", "take one after: line out"
        )

    def _track(
        self, root: Event, children: dict[tuple[str, int], list[Event]], reached: set[str]
    ) -> list[Point]:
        """A root and all that hangs on it, in order. Iterative: rings and depth are data."""
        if not children:
            reached.add(root.id)
            return list(self._segments[root.id])
        track: list[Point] = []
        stack: list[Point | Event] = [root]
        while stack:
            item = stack.pop()
            if isinstance(item, Point):
                track.append(item)
                continue
            reached.add(item.id)
            parts: list[Point | Event] = []
            for segment in self._segments[item.id]:
                parts.append(segment)
                hanging = children.get((item.id, segment.high), [])
                parts.extend(child for child in _siblings(hanging) if child.id not in reached)
            stack.extend(reversed(parts))
        return track

    def _close(self, day: _Day) -> list[int]:
        """Transitive closure as bit sets: which points are known to come later."""
        later = [0] * len(day.index)
        for track in day.tracks:
            for one, two in pairwise(track):
                later[day.index[one]] |= 1 << day.index[two]
        timed = sorted(
            (root.order, n) for n, root in enumerate(day.roots) if root.moment.instant is not None
        )
        for (first, a), (second, b) in combinations(timed, 2):
            if first < second:
                self._relate(day, later, (a, b), same_entry=first[:3] == second[:3])
        return _closed(later)

    def _relate(
        self, day: _Day, later: list[int], tracks: tuple[int, int], *, same_entry: bool
    ) -> None:
        """Two timed tracks, the first starting earlier: what that says of their points."""
        a, b = tracks
        first, second = day.roots[a], day.roots[b]
        if same_entry and _are_moves(first, second):
            # Written as one swap: their ids say nothing of what came first.
            return
        whole = not isinstance(first.body, Flights) or first.body.count == 1
        whole = whole or _same_aircraft(first, second)
        track, start = day.tracks[a], day.index[day.tracks[b][0]]
        if whole:
            later[day.index[track[-1]]] |= 1 << start
            return
        head, rest = self._segments[first.id][:2]
        if head.high == 1:
            # What directly follows the first flight comes with it.
            later[day.index[track[track.index(rest) - 1]]] |= 1 << start

    def _chain_moves(self, day: _Day, moves: list[Event]) -> None:
        """A part comes off before it goes on elsewhere: its own moves keep their order."""
        by_part: dict[str, list[Event]] = defaultdict(list)
        for event in moves:
            by_part[_part_of(event)].append(event)
        for waiting in by_part.values():
            previous: Event | None = None
            while waiting:
                chosen = min(waiting, key=lambda event: self._move_wish(day, event, waiting))
                waiting.remove(chosen)
                self._note_move(chosen)
                if previous is not None:
                    before = day.index[self._segments[previous.id][0]]
                    _link(day.later, before, day.index[self._segments[chosen.id][0]])
                previous = chosen

    def _move_wish(
        self, day: _Day, event: Event, waiting: list[Event]
    ) -> tuple[bool, bool, bool, tuple[datetime, str, int, str]]:
        """Which move of a part comes next: by the known order, by the order of writing,
        then one that can be (off what is on, on what is off)."""
        here = day.index[self._segments[event.id][0]]
        others = [other for other in waiting if other is not event]
        is_on = _part_of(event) in self._placed
        return (
            any(self._is_before(day, day.index[self._segments[o.id][0]], here) for o in others),
            any(o.machine == event.machine and o.seq < event.seq for o in others),
            isinstance(event.body, Install) == is_on,
            event.order,
        )

    def _note_move(self, event: Event) -> None:
        if isinstance(event.body, Install):
            self._placed.add(_part_of(event))
        else:
            self._placed.discard(_part_of(event))


def _closed(later: list[int]) -> list[int]:
    """Transitive closure."""
    changed = True
    while changed:
        changed = False
        # Most of what is later also stands later in the list: from its end, one pass does.
        for i in reversed(range(len(later))):
            mask = grown = later[i]
            for one in _bits(mask):
                grown |= later[one]
            if grown != mask:
                later[i] = grown
                changed = True
    return later


def _link(later: list[int], one: int, other: int) -> None:
    """Note in a closure that one point comes before another."""
    gained = 1 << other | later[other]
    for i, mask in enumerate(later):
        if i == one or mask >> one & 1:
            later[i] = mask | gained


def _bits(mask: int) -> Iterator[int]:
    """The numbers in a bit set."""
    while mask:
        bit = mask & -mask
        yield bit.bit_length() - 1
        mask ^= bit


def _part_of(event: Event) -> str:
    body = event.body
    return body.part.name if isinstance(body, Install | Remove) and body.part else ""


def _are_moves(one: Event, two: Event) -> bool:
    return isinstance(one.body, Install | Remove) and isinstance(two.body, Install | Remove)


def _move_rank(event: Event) -> int:
    """Where nothing else tells: what comes off makes room for what goes on."""
    return 0 if isinstance(event.body, Remove) else 2 if isinstance(event.body, Install) else 1


def _siblings(events: list[Event]) -> list[Event]:
    """Several after one point: a flight comes directly after it, the latest typed nearest;
    then everything else in the order it was written."""
    flights = [event for event in events if isinstance(event.body, Flights)]
    others = [event for event in events if not isinstance(event.body, Flights)]
    return sorted(flights, key=_written_order, reverse=True) + sorted(others, key=_written_order)


def _written_order(event: Event) -> tuple[str, int, int, str]:
    typed = event.typed.astimezone(UTC).isoformat() if event.typed else ""
    return (typed, event.seq, _move_rank(event), event.id)


def _same_aircraft(one: Event, two: Event) -> bool:
    if not isinstance(one.body, Flights) or not isinstance(two.body, Flights):
        return False
    a, b = one.body.aircraft, two.body.aircraft
    return a is not None and b is not None and (a.id or a.name) == (b.id or b.name)


def _cut(event: Event, cuts: set[int]) -> tuple[Point, ...]:
    if not isinstance(event.body, Flights):
        return (Point(event.id),)
    count = event.body.count
    ends = set(cuts)
    if event.moment.instant is not None and count > 1:
        # The time is that of the first take-off, so only the first flight is placed by it.
        ends.add(1)
    ends.add(count)
    points, low = [], 1
    for end in sorted(ends):
        points.append(Point(event.id, low, end))
        low = end + 1
    return tuple(points)
