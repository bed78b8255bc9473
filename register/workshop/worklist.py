"""A workshop session as steps: what comes off, what is done, what goes on, what is checked again.

Each thing comes off once and goes on once, however many pieces of work it is off for. What a
thing needs off first comes off before it and goes on after it, so openings nest.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Literal

from msgspec import Struct

from register.records.access import Access
from register.records.workshop_bodies import CureWanted
from register.trouble import Place
from register.workshop.openings import Openings, Way
from register.workshop.precedence import Arrow, Knot, leads_to, untie

Action = Literal["off", "do", "on", "again"]
Where = Literal["place", "outside", "whole", "not-stated"]


class Wait(Struct, frozen=True):
    """A piece of work waits for another one, by its key."""

    key: str
    says: str
    place: Place


class Work(Struct, frozen=True):
    """One thing to do. `at` is the place; `where` says what kind of answer that is.

    `zone` is the zone the place lies in, if that is known.

    `urgency`: smaller comes first among equals. `task` is the name of the task it is, if it is
    one. `ready_at`: something else holds it until then.
    """

    key: str
    kind: str
    text: str
    at: str | None = None
    where: Where = "not-stated"
    urgency: int = 5
    minutes: Decimal | None = None
    waits: tuple[Wait, ...] = ()
    cure: CureWanted | None = None
    ready_at: datetime | None = None
    task: str | None = None
    zone: str | None = None

    @property
    def area(self) -> str:
        """Where it is for grouping: the zone of its place, else the place."""
        return self.zone or self.at or ""


class Again(Struct, frozen=True):
    """A task to do again because it was disturbed: by openings, or by pieces of work."""

    task: str
    openings: tuple[str, ...]
    works: tuple[str, ...]


class Node(Struct, frozen=True):
    """One step. `name` is that of the opening, the work's key, or the task."""

    id: str
    action: Action
    name: str
    minutes: Decimal | None


class Graph(Struct, frozen=True):
    """Steps and arrows without a ring; `knots` are what could not be had together."""

    nodes: dict[str, Node]
    works: dict[str, Work]
    ways: dict[str, Way]
    arrows: tuple[Arrow, ...]
    agains: tuple[Again, ...]
    knots: tuple[Knot, ...]
    absent: tuple[str, ...]

    @property
    def opened(self) -> tuple[str, ...]:
        """What comes off, by name."""
        return tuple(node.name for node in self.nodes.values() if node.action == "off")

    def works_behind(self, opening: str) -> tuple[str, ...]:
        """Work that needs an opening off."""
        return tuple(key for key, way in self.ways.items() if opening in way.off)


def off_id(name: str) -> str:
    """The step that takes something off."""
    return f"off {name}"


def on_id(name: str) -> str:
    """The step that puts it on again."""
    return f"on {name}"


def do_id(key: str) -> str:
    """The step of a piece of work."""
    return f"do {key}"


def again_id(task: str) -> str:
    """The step that does a task again."""
    return f"again {task}"


def build_graph(
    entries: Mapping[str, Access],
    works: Iterable[Work],
    holders: Mapping[str, tuple[str, ...]] | None = None,
    disturbed: Mapping[str, tuple[str, ...]] | None = None,
    *,
    building: bool = False,
) -> Graph:
    """Steps and arrows for some work.

    `holders`: the zones each place lies in. `disturbed`: by a work's key, tasks that are to be
    done again after it. `building`: a thing with an open job at it is not fitted yet, so it is
    not taken off; the job puts it in.
    """
    listed = {work.key: work for work in sorted(works, key=lambda work: work.key)}
    absent = {
        work.at or ""
        for work in listed.values()
        if building and work.kind == "job" and work.at in entries
    }
    openings = Openings(entries, holders, absent)
    reached = {key: work.at if work.where == "place" else None for key, work in listed.items()}
    mending = frozenset(key for key, work in listed.items() if work.kind in ("snag", "job"))
    ways = openings.choose_ways(reached, mending)
    opened = sorted({name for way in ways.values() for name in way.off})
    draft = _Draft(openings, listed, ways, opened)
    arrows, knots = untie(draft.arrows())
    return draft.finish(list(arrows), knots, disturbed or {})


class _Draft:
    """A graph while it is being made."""

    def __init__(
        self,
        openings: Openings,
        works: dict[str, Work],
        ways: dict[str, Way],
        opened: list[str],
    ):
        self.openings = openings
        self.entries = openings.entries
        self.works = works
        self.ways = ways
        self.opened = opened

    def arrows(self) -> Iterator[Arrow]:
        """All that is written, and what lies in the nature of the work."""
        for name in self.opened:
            yield Arrow(off_id(name), on_id(name))
            yield from self._needs(name)
        for key, way in self.ways.items():
            handling = cure_minutes(self.works[key].cure)[0]
            for name in way.off:
                yield Arrow(off_id(name), do_id(key))
                yield Arrow(do_id(key), on_id(name), handling)
        for key, work in self.works.items():
            for wait in work.waits:
                if wait.key in self.works:
                    lag = cure_minutes(self.works[wait.key].cure)[1]
                    link = ("wait", f"{key} {wait.key}")
                    yield Arrow(do_id(wait.key), do_id(key), lag, link, wait.says, wait.place)
        yield from self._orders()
        yield from self._fitted_now()

    def _needs(self, name: str) -> Iterator[Arrow]:
        for need in self.entries[name].needs:
            if need.name in self.opened:
                link = ("need", f"{name} {need.name}")
                says = f"{name} needs {need.name} off first"
                yield Arrow(off_id(need.name), off_id(name), 0, link, says, need.place)
                yield Arrow(on_id(name), on_id(need.name), 0, link, says, need.place)

    def _orders(self) -> Iterator[Arrow]:
        """What goes in before what: refits, and jobs at these places."""
        for entry in self.entries.values():
            for item in entry.order:
                link = ("order", f"{item.what} {item.before} {entry.name}")
                says = f"{item.what} goes in before {item.before}"
                firsts = [do_id(key) for key in self._at(item.what, ("job", "snag"))]
                # A thing that is fitted goes in when it goes on again; one that is not, by a job.
                fitted = item.before in self.entries and item.before not in self.openings.absent
                jobs = () if fitted else self._at(item.before, ("job",))
                thens = [do_id(key) for key in jobs]
                if item.what in self.opened:
                    firsts.append(on_id(item.what))
                if item.before in self.opened:
                    thens.append(on_id(item.before))
                    if item.what in self.opened:
                        off, then = off_id(item.before), off_id(item.what)
                        yield Arrow(off, then, 0, link, says, item.place)
                for first in firsts:
                    for then in thens:
                        yield Arrow(first, then, self._handling(first), link, says, item.place)

    def _handling(self, step: str) -> int:
        """Minutes until what a step leaves curing may be handled, or closed over."""
        work = self.works.get(step.removeprefix("do "))
        return 0 if work is None else cure_minutes(work.cure)[0]

    def _at(self, place: str, kinds: tuple[str, ...]) -> list[str]:
        return [key for key, work in self.works.items() if work.at == place and work.kind in kinds]

    def _fitted_now(self) -> Iterator[Arrow]:
        """The job that puts a thing in closes what lies behind it."""
        for absent in sorted(self.openings.absent):
            jobs = self._at(absent, ("job",))
            behind = {
                key
                for key, work in self.works.items()
                if work.at is not None and absent in self.openings.doors_of(work.at)
            }
            inside = [name for name in self.opened if self._is_needed(name, absent)]
            for job in jobs:
                for key in sorted(behind - set(jobs)):
                    link = ("need", f"{key} {absent}")
                    says = f"{self.works[key].at} is reached before {absent} is fitted"
                    place = self.entries[absent].place
                    lag = self._handling(do_id(key))
                    yield Arrow(do_id(key), do_id(job), lag, link, says, place)
                for key in self._at(absent, ("task", "life", "notice", "snag")):
                    link = ("order", f"{job} {key}")
                    says = f"{absent} is looked at when it is fitted"
                    place = self.entries[absent].place
                    yield Arrow(do_id(job), do_id(key), 0, link, says, place)
                for name in inside:
                    link = ("need", f"{name} {absent}")
                    says = f"{name} needs {absent} off first"
                    place = self.entries[name].place
                    yield Arrow(on_id(name), do_id(job), 0, link, says, place)

    def _is_needed(self, name: str, absent: str) -> bool:
        return any(need.name == absent for need in self.entries[name].needs)

    # --- what follows when the rest stands -----------------------------------

    def finish(
        self,
        arrows: list[Arrow],
        knots: tuple[Knot, ...],
        disturbed: Mapping[str, tuple[str, ...]],
    ) -> Graph:
        """Add what is to be checked again, and work on the whole aircraft after all else."""
        self._glue_last(arrows)
        agains = self._agains(arrows, disturbed)
        nodes = self._nodes(agains)
        self._whole_last(arrows, nodes)
        return Graph(
            nodes,
            self.works,
            self.ways,
            tuple(sorted(arrows, key=lambda arrow: arrow.order)),
            tuple(agains),
            knots,
            tuple(sorted(self.openings.absent)),
        )

    def _glue_last(self, arrows: list[Arrow]) -> None:
        """Other work at a place is done before something is left curing there.

        Not in a whole zone, which has room for both, nor where it waits for the cure.
        """
        for key, work in self.works.items():
            if work.cure is None or work.where != "place" or work.at == work.zone:
                continue
            for other, beside in self.works.items():
                if beside.at != work.at or beside.cure is not None or other == key:
                    continue
                if not leads_to(arrows, do_id(key), do_id(other)):
                    arrows.append(Arrow(do_id(other), do_id(key)))

    def _agains(self, arrows: list[Arrow], disturbed: Mapping[str, tuple[str, ...]]) -> list[Again]:
        causes: dict[str, tuple[set[str], set[str]]] = {}
        for name in self.opened:
            for link in self.entries[name].disturbs:
                causes.setdefault(link.name, (set(), set()))[0].add(name)
        for key in sorted(disturbed):
            for task in disturbed[key]:
                causes.setdefault(task, (set(), set()))[1].add(key)
        found = []
        for task in sorted(causes):
            openings, works = causes[task]
            if self._is_put_after(arrows, task, openings, works):
                continue
            found.append(Again(task, tuple(sorted(openings)), tuple(sorted(works))))
            arrows.extend(self._after(again_id(task), openings, works))
        return found

    def _is_put_after(
        self, arrows: list[Arrow], task: str, openings: set[str], works: set[str]
    ) -> bool:
        """A task that is on the list anyway is done once, after what would disturb it."""
        mine = sorted(key for key, work in self.works.items() if work.task == task)
        if not mine:
            return False
        for key in mine:
            new = self._after(do_id(key), openings, works - {key})
            if any(leads_to(arrows, arrow.after, arrow.before) for arrow in new):
                return False
        for key in mine:
            arrows.extend(self._after(do_id(key), openings, works - {key}))
        return True

    def _after(self, then: str, openings: set[str], works: set[str]) -> list[Arrow]:
        found = [Arrow(on_id(name), then) for name in sorted(openings)]
        for key in sorted(works):
            found.append(Arrow(do_id(key), then, cure_minutes(self.works[key].cure)[1]))
        return found

    def _nodes(self, agains: Iterable[Again]) -> dict[str, Node]:
        nodes = [Node(off_id(n), "off", n, self.entries[n].minutes_off) for n in self.opened]
        nodes += [Node(on_id(n), "on", n, self.entries[n].minutes_on) for n in self.opened]
        nodes += [Node(do_id(key), "do", key, work.minutes) for key, work in self.works.items()]
        nodes += [Node(again_id(item.task), "again", item.task, None) for item in agains]
        return {node.id: node for node in sorted(nodes, key=lambda node: node.id)}

    def _whole_last(self, arrows: list[Arrow], nodes: dict[str, Node]) -> None:
        """Work on the whole aircraft comes when all is closed, where nothing speaks against it."""
        whole = [key for key, work in self.works.items() if work.where == "whole"]
        rest = [
            node.id
            for node in nodes.values()
            if node.action in ("on", "do")
            and not (node.action == "do" and self.works[node.name].where in ("whole", "not-stated"))
        ]
        for key in whole:
            new = [Arrow(id_, do_id(key)) for id_ in rest]
            if not any(leads_to(arrows, arrow.after, arrow.before) for arrow in new):
                arrows.extend(new)


def cure_minutes(cure: CureWanted | None) -> tuple[int, int]:
    """Minutes to handling and to full load. A handling time not stated takes the full one."""
    if cure is None:
        return 0, 0
    full = int(cure.full_minutes or cure.handling_minutes or 0)
    handling = full if cure.handling_minutes is None else int(cure.handling_minutes)
    return handling, full
