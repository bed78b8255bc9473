"""A worklist: everything to do on an aircraft by a day, in an order that can be done."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from decimal import ROUND_CEILING, Decimal

from msgspec import Struct

from register.findings.cures import CureState
from register.ledger.ledger import Ledger
from register.records.access import Access
from register.records.as_built import read_section
from register.records.notices import Notice
from register.records.values import ZERO
from register.standing.judge import judge_aircraft
from register.tasks.items import Item
from register.trouble import Problem
from register.views.worklist_needs import Needs, gather_needs
from register.views.worklist_places import Places
from register.views.worklist_works import WorkLine, find_works, open_cures_of
from register.workshop.evenings import (
    Evening,
    Slot,
    Task,
    find_latest,
    find_ready,
    later,
    lay_out,
)
from register.workshop.ordering import order_steps
from register.workshop.worklist import (
    Again,
    Graph,
    Node,
    build_graph,
    cure_minutes,
    do_id,
)

DEFAULT_EVENING = Evening(time(19), time(22))
DEFAULT_READY = time(10)
#: Minutes reckoned with where none are stated; the answer says so. The owner's to change.
DEFAULT_EACH = 15
OPENING_MINUTES = 5
#: Before these an aircraft was never accepted: a thing with a job at it may not be in yet.
BUILDING = ("on-order", "being-built")


class Asked(Struct, frozen=True):
    """What a worklist is asked for. `ready` is the hour of the last day at which it shall fly.

    `each` is the labour reckoned with for work that states none. `moment` None: from the
    beginning of the first evening.
    """

    until: date
    moment: datetime | None = None
    evening: Evening = DEFAULT_EVENING
    ready: time = DEFAULT_READY
    each: int = DEFAULT_EACH
    planned: int | None = None
    every: bool = False


class StepLine(Struct, frozen=True):
    """One step to tick. `handling_at` and `full_at` are those of what it leaves curing.

    `is_known` False: a task to do again that the aircraft does not have.
    """

    number: int
    node: Node
    slot: Slot
    minutes: int
    is_assumed: bool
    title: str
    access: Access | None
    line: WorkLine | None
    again: Again | None
    traps: tuple[Notice, ...]
    handling_at: datetime | None
    full_at: datetime | None
    is_known: bool = True


class Labour(Struct, frozen=True):
    """Minutes of labour: stated, and reckoned for so many steps that state none."""

    stated: Decimal
    reckoned: int
    without: int

    @property
    def total(self) -> Decimal:
        """Both."""
        return self.stated + self.reckoned


class WorklistView(Struct, frozen=True):
    """The answer to `worklist`.

    `fly_at` is the earliest moment at which all is done and cured when begun at `start`;
    `latest` the last day on whose evening to begin. Either is None where it cannot be told,
    and `untold` says why. `decides` are the steps that decide the hour, in order.
    """

    on: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: str
    title: str
    stage: str
    asked: Asked
    start: datetime
    steps: tuple[StepLine, ...]
    graph: Graph
    lines: tuple[WorkLine, ...]
    needs: Needs
    labour: Labour
    fly_at: datetime | None
    latest: date | None
    decides: tuple[StepLine, ...]
    curing: tuple[tuple[CureState, str], ...]
    untold: tuple[str, ...]
    problems: tuple[Problem, ...]
    day_checks: int
    never_done: int
    soon: int
    has_access: bool
    shelf: tuple[Item, ...]

    @property
    def wanted_at(self) -> datetime:
        """When it shall be ready."""
        return datetime.combine(self.asked.until, self.asked.ready, self.start.tzinfo)

    @property
    def unplaced(self) -> tuple[WorkLine, ...]:
        """Work whose place is not stated, or told from its words alone."""
        return tuple(line for line in self.lines if line.mend is not None)


def view_worklist(
    ledger: Ledger, aircraft: str, day: date, asked: Asked, unread: tuple[str, ...]
) -> WorklistView:
    """Gather the work, order it, and lay it out over the evenings."""
    entries, problems = read_section(ledger.records, aircraft, "access")
    stage = ledger.stage(aircraft)[0]
    judged = judge_aircraft(ledger, aircraft, asked.until, asked.planned)
    places = Places(ledger, aircraft, entries)
    found = find_works(ledger, judged, places, (day, asked.until), every=asked.every)
    graph = build_graph(
        entries,
        [line.work for line in found.lines],
        places.holders,
        found.disturbed,
        building=stage in BUILDING,
    )
    zone = ledger.records.zone
    begins = asked.evening.on(day, datetime.combine(day, time(), zone))[0]
    start = begins if asked.moment is None else max(begins, asked.moment.astimezone(zone))
    curing = open_cures_of(ledger, aircraft, start)
    plan = _Plan(graph, asked, start, curing)
    steps = tuple(plan.steps(ledger, aircraft, entries, found.lines))
    return WorklistView(
        day,
        not unread,
        unread,
        aircraft,
        ledger.records.aircraft[aircraft].title,
        stage,
        asked,
        plan.start,
        steps,
        graph,
        found.lines,
        gather_needs(ledger, aircraft, entries, graph.opened, found.lines),
        plan.labour(),
        plan.fly_at,
        plan.latest(),
        plan.decides(steps),
        curing,
        plan.untold,
        tuple(problem for problem in problems if problem.level == "error"),
        found.day_checks,
        found.never_done,
        found.soon,
        bool(entries),
        found.shelf,
    )


class _Plan:
    """A graph laid out in time."""

    def __init__(
        self,
        graph: Graph,
        asked: Asked,
        start: datetime,
        curing: Iterable[tuple[CureState, str]],
    ):
        self.graph = graph
        self.asked = asked
        self.start = start
        self.cures = [cure for cure, _ in curing]
        self.tasks = {id_: self._task(node) for id_, node in graph.nodes.items()}
        self.tails = {
            do_id(key): cure_minutes(work.cure)[1]
            for key, work in graph.works.items()
            if work.cure is not None
        }
        self.order = order_steps(graph, self.tasks, self.tails, asked.evening, start)
        self.slots = tuple(lay_out(self.order, self.tasks, graph.arrows, asked.evening, start))
        if self.slots:
            self.start = self.slots[0].begins
        self.untold = tuple(self._untold())
        self.fly_at = None if self.untold else self._fly_at()

    def _task(self, node: Node) -> Task:
        ready = self.graph.works[node.name].ready_at if node.action == "do" else None
        return Task(node.id, self._minutes(node), ready)

    def _minutes(self, node: Node) -> int:
        if node.minutes is not None:
            return int(node.minutes.to_integral_value(ROUND_CEILING))
        return OPENING_MINUTES if node.action in ("off", "on") else self.asked.each

    def _untold(self) -> Iterable[str]:
        """Cures whose length nobody stated: when it can fly cannot be told."""
        for cure in self.cures:
            if cure.full_at is None:
                yield f"{cure.what} is curing, for how long is not recorded"
        for work in self.graph.works.values():
            if work.cure is not None and not cure_minutes(work.cure)[1]:
                yield f"{work.text} will have to cure, for how long is not stated"

    def _fly_at(self) -> datetime:
        ready = find_ready(iter(self.slots), self.tails, self.start)
        return max([ready, *(cure.full_at for cure in self.cures if cure.full_at)])

    def latest(self) -> date | None:
        """The last evening to begin on; None: it is too late, or cannot be told."""
        wanted = datetime.combine(self.asked.until, self.asked.ready, self.start.tzinfo)
        held = any(cure.full_at and cure.full_at > wanted for cure in self.cures)
        if self.untold or held or not self.slots:
            return None
        return find_latest(
            self.order,
            self.tasks,
            self.graph.arrows,
            self.asked.evening,
            (self.start, wanted),
            self.tails,
        )

    def labour(self) -> Labour:
        """Labour of all steps."""
        nodes = self.graph.nodes.values()
        stated = sum((node.minutes for node in nodes if node.minutes is not None), ZERO)
        without = [node for node in nodes if node.minutes is None]
        return Labour(stated, sum(self._minutes(node) for node in without), len(without))

    def steps(
        self,
        ledger: Ledger,
        aircraft: str,
        entries: dict[str, Access],
        lines: Iterable[WorkLine],
    ) -> Iterable[StepLine]:
        """Every step in order, with all that is told of it; a trap where it is first met."""
        by_key = {line.work.key: line for line in lines}
        titles = {task.id: task.title for task in ledger.tasks(aircraft)}
        agains = {again.task: again for again in self.graph.agains}
        met: set[str] = set()
        for number, slot in enumerate(self.slots, 1):
            node = self.graph.nodes[slot.id]
            line = by_key.get(node.name) if node.action == "do" else None
            traps = tuple(trap for trap in (line.traps if line else ()) if trap.name not in met)
            met |= {trap.name for trap in traps}
            access = entries[node.name] if node.action in ("off", "on") else None
            handling = full = None
            if line is not None and line.work.cure is not None and self.tails[node.id]:
                handling = later(slot.ends, cure_minutes(line.work.cure)[0])
                full = later(slot.ends, self.tails[node.id])
            title = titles.get(node.name, node.name)
            if line is not None:
                title = line.work.text
            elif access is not None:
                title = access.title
            yield StepLine(
                number,
                node,
                slot,
                self.tasks[node.id].minutes,
                node.minutes is None,
                title,
                access,
                line,
                agains.get(node.name) if node.action == "again" else None,
                traps,
                handling,
                full,
                node.action != "again" or node.name in titles,
            )

    def decides(self, steps: Iterable[StepLine]) -> tuple[StepLine, ...]:
        """The steps that decide when it can fly: each began when the one before let it."""
        by_name = {step.node.id: step for step in steps}
        if not self.slots or self.fly_at is None:
            return ()
        by_id = {slot.id: slot for slot in self.slots}
        last = max(self.slots, key=lambda slot: later(slot.ends, self.tails.get(slot.id, 0)))
        way: list[StepLine] = []
        here: str | None = last.id
        while here is not None:
            way.append(by_name[here])
            here = by_id[here].because
        return tuple(reversed(way))


def evening_of(step: StepLine, evening: Evening) -> date:
    """The day whose evening a step begins in; one past midnight belongs to the day before."""
    day = step.slot.begins.date()
    yesterday = evening.on(day - timedelta(days=1), step.slot.begins)
    return day - timedelta(days=1) if step.slot.begins < yesterday[1] else day
