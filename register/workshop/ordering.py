"""The order of the steps: what cures longest is begun first, what is open is finished first.

Steps that may begin are ranked: by the cures still to come after them, then work behind what
is open, closing, opening for work that can be done, work on the outside, checks at the end.
Among equals the more urgent comes first, then the name.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from register.workshop.evenings import Bench, Evening, Releases, Task, later
from register.workshop.precedence import Arrow
from register.workshop.worklist import Graph, Node, Work, do_id, off_id

_CLOSED, _AGAIN, _LAST = 3, 4, 5
Rank = tuple[int, int, int, int, str, int, str]


def order_steps(
    graph: Graph,
    tasks: Mapping[str, Task],
    tails: Mapping[str, int],
    evening: Evening,
    start: datetime,
) -> tuple[str, ...]:
    """Every step of a graph once, so that each arrow is kept."""
    return tuple(_Session(graph, tasks, tails, evening, start).run())


def cures_to_come(
    nodes: Sequence[str], arrows: Sequence[Arrow], tails: Mapping[str, int]
) -> dict[str, int]:
    """For each step, the most minutes of curing on any way from it to flying."""
    after: dict[str, list[Arrow]] = {id_: [] for id_ in nodes}
    waiting = dict.fromkeys(nodes, 0)
    for arrow in arrows:
        after[arrow.before].append(arrow)
        waiting[arrow.after] += 1
    front = [id_ for id_ in nodes if not waiting[id_]]
    listed: list[str] = []
    while front:
        listed.append(front.pop())
        for arrow in after[listed[-1]]:
            waiting[arrow.after] -= 1
            if not waiting[arrow.after]:
                front.append(arrow.after)
    found: dict[str, int] = {}
    for id_ in reversed(listed):
        ways = (arrow.lag + found[arrow.after] for arrow in after[id_])
        found[id_] = max([tails.get(id_, 0), *ways])
    return found


class _Session:
    """The steps not yet taken, and what is open."""

    def __init__(
        self,
        graph: Graph,
        tasks: Mapping[str, Task],
        tails: Mapping[str, int],
        evening: Evening,
        start: datetime,
    ):
        self.graph = graph
        self.tasks = tasks
        self.bench = Bench(evening, start)
        self.releases = Releases(graph.arrows, tasks)
        self.cures = cures_to_come(list(graph.nodes), graph.arrows, tails)
        self.left = set(graph.nodes)
        self.open: list[str] = []
        self.behind: dict[str, tuple[str, ...]] = {
            name: graph.works_behind(name) for name in graph.opened
        }
        self.at_place: dict[str, int] = {}
        for work in graph.works.values():
            known = self.at_place.get(work.area, work.urgency)
            self.at_place[work.area] = min(known, work.urgency)
        self.urgency = {
            name: min((graph.works[key].urgency for key in keys), default=9)
            for name, keys in self.behind.items()
        }

    def run(self) -> list[str]:
        """Take one step after another; wait where nothing can be begun."""
        taken: list[str] = []
        while self.left:
            free = [id_ for id_ in sorted(self.left) if self.releases.is_free(id_)]
            ready = [id_ for id_ in free if self._is_ready(id_)]
            fitting = [id_ for id_ in ready if self.bench.fits(self.tasks[id_].minutes)]
            if fitting:
                chosen = min(fitting, key=self._rank)
                self._take(chosen)
                taken.append(chosen)
            elif ready:
                self.bench.next_evening()
            else:
                self._wait(free)
        return taken

    def _is_ready(self, id_: str) -> bool:
        node = self.graph.nodes[id_]
        moment = self.releases.release(id_)[0]
        if moment is not None and moment > self.bench.now:
            return False
        return node.action != "off" or self._is_ripe(node.name)

    def _is_ripe(self, name: str) -> bool:
        """Nothing is opened before there is something to do behind it."""
        return any(self._can_begin(do_id(key)) for key in self.behind[name])

    def _can_begin(self, id_: str) -> bool:
        """Could this be done now, were everything off that it needs off?"""
        if id_ not in self.left:
            return False
        moment = self.tasks[id_].ready_at
        if moment is not None and moment > self.bench.now:
            return False
        offs = {off_id(name) for name in self.graph.opened}
        before = [arrow for arrow in self.releases.before[id_] if arrow.before not in offs]
        return all(arrow.before in self.releases.ends and self._is_over(arrow) for arrow in before)

    def _is_over(self, arrow: Arrow) -> bool:
        return later(self.releases.ends[arrow.before], arrow.lag) <= self.bench.now

    def _wait(self, free: Sequence[str]) -> None:
        """Until the next thing can be begun, or be opened for."""
        moments = [
            moment
            for id_ in free
            if (moment := self.releases.release(id_)[0]) is not None and moment > self.bench.now
        ]
        for keys in self.behind.values():
            moments.extend(self._later_works(keys))
        self.bench.wait_until(min(moments))

    def _later_works(self, keys: Sequence[str]) -> list[datetime]:
        found: list[datetime] = []
        for key in keys:
            id_ = do_id(key)
            if id_ not in self.left:
                continue
            ready = self.tasks[id_].ready_at
            moments = [ready] if ready is not None else []
            moments.extend(
                later(self.releases.ends[arrow.before], arrow.lag)
                for arrow in self.releases.before[id_]
                if arrow.before in self.releases.ends
            )
            found.extend(moment for moment in moments if moment > self.bench.now)
        return found

    def _take(self, id_: str) -> None:
        node = self.graph.nodes[id_]
        self.left.discard(id_)
        self.releases.ends[id_] = self.bench.work(self.tasks[id_].minutes)[1]
        if node.action == "off":
            self.open.append(node.name)
        elif node.action == "on":
            self.open.remove(node.name)

    def _rank(self, id_: str) -> Rank:
        node = self.graph.nodes[id_]
        group, depth, urgency, name = self._group(node)
        own = self.graph.works[node.name].urgency if node.action == "do" else 0
        return -self.cures[id_], group, -depth, urgency, name, own, id_

    def _group(self, node: Node) -> tuple[int, int, int, str]:
        """Group, how deep behind what is open, urgency, and the place for ties."""
        if node.action == "on":
            return 1, self.open.index(node.name), 5, node.name
        if node.action == "off":
            needs = [self.open.index(n) for n in self._around(node.name) if n in self.open]
            return 2, max(needs, default=-1), self.urgency[node.name], node.name
        if node.action == "again":
            return _AGAIN, 0, 5, node.name
        work = self.graph.works[node.name]
        off = self.graph.ways[node.name].off
        if off:
            depth = max(self.open.index(name) for name in off)
            return 0, depth, self._most_urgent(work), _place(work)
        groups = {"whole": _AGAIN, "not-stated": _LAST}
        return groups.get(work.where, _CLOSED), 0, self._most_urgent(work), _place(work)

    def _most_urgent(self, work: Work) -> int:
        """Work in one area stays together: the most urgent of it decides."""
        return self.at_place[work.area] if work.area else work.urgency

    def _around(self, name: str) -> tuple[str, ...]:
        return tuple(
            arrow.before.partition(" ")[2]
            for arrow in self.releases.before[off_id(name)]
            if arrow.before.startswith("off ")
        )


def _place(work: Work) -> str:
    """For ties: area by area, and place by place within one."""
    return f"{work.area} {work.at or ''}"
