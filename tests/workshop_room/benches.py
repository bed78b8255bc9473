"""Workshop sessions drawn at random, for tests: what comes off, and what is done behind it."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import UTC, datetime, time
from decimal import Decimal

from hypothesis import strategies as st
from msgspec import Struct

from register.records.access import Access, GoesIn, Link
from register.records.values import UNSTATED
from register.records.workshop_bodies import CureWanted
from register.trouble import Place
from register.workshop.evenings import Evening, Task
from register.workshop.worklist import Graph, Wait, Work, build_graph, cure_minutes, do_id

NOWHERE = Place("kits/k.yaml")
START = datetime(2026, 5, 11, 19, 0, tzinfo=UTC)
EVENING = Evening(time(19), time(22))
NAMES = ("canopy", "cover", "duct", "hatch", "servo", "tank")
SPOTS = ("bay", "line", "mount", "receiver", *NAMES)


def make_access(
    name: str,
    opens: Sequence[str] = (),
    needs: Sequence[str] = (),
    order: Sequence[tuple[str, str]] = (),
    disturbs: Sequence[str] = (),
    minutes: tuple[int, int] | None = (3, 4),
) -> Access:
    """One entry of an access section."""
    off, on = (None, None) if minutes is None else (Decimal(minutes[0]), Decimal(minutes[1]))
    return Access(
        name,
        name.title(),
        None,
        tuple(opens),
        tuple(Link(need, NOWHERE) for need in needs),
        (),
        off,
        on,
        tuple(Link(task, NOWHERE) for task in disturbs),
        tuple(GoesIn(what, before, NOWHERE) for what, before in order),
        (),
        (),
        (),
        NOWHERE,
    )


def make_work(
    key: str,
    at: str | None,
    kind: str = "job",
    minutes: int | None = 10,
    waits: Sequence[str] = (),
    cure: tuple[int, int] | None = None,
    task: str | None = None,
    urgency: int = 3,
) -> Work:
    """One piece of work."""
    return Work(
        key,
        kind,
        key,
        at,
        "not-stated" if at is None else "whole" if at == "aircraft" else "place",
        urgency,
        None if minutes is None else Decimal(minutes),
        tuple(Wait(other, f"{key} waits for {other}", NOWHERE) for other in waits),
        CureWanted("glue", Decimal(cure[0]), Decimal(cure[1]), UNSTATED) if cure else None,
        task=task,
    )


def entries_of(*entries: Access) -> dict[str, Access]:
    """A section, by name."""
    return {entry.name: entry for entry in entries}


class Bench(Struct, frozen=True):
    """One case: access and work, in some order."""

    entries: tuple[Access, ...]
    works: tuple[Work, ...]

    def graph(self) -> Graph:
        """Its steps."""
        return build_graph(entries_of(*self.entries), self.works)


def benches(*, tangled: bool = False) -> st.SearchStrategy[Bench]:
    """Access whose needs run one way along the names; with `tangled`, any way at all."""
    return st.integers(0, 10**9).map(lambda seed: draw_bench(random.Random(seed), tangled=tangled))


def draw_bench(chance: random.Random, *, tangled: bool) -> Bench:
    """A case from one number: Hypothesis draws that, and this is many times faster."""
    names = chance.sample(NAMES, chance.randint(1, len(NAMES)))
    entries = []
    for n, name in enumerate(names):
        others = names if tangled else names[:n]
        order = []
        if others and chance.random() < 0.3:
            order.append((name, chance.choice(others)))
        entries.append(
            make_access(
                name,
                _some(chance, SPOTS, 3),
                _some(chance, others, 2),
                order,
                _some(chance, ("leak", "range"), 1),
                chance.choice((None, (3, 4))),
            )
        )
    keys = [f"w{n}" for n in range(chance.randint(1, 7))]
    works = [
        make_work(
            key,
            chance.choice((None, *SPOTS, "aircraft")),
            chance.choice(("job", "snag", "task")),
            chance.choice((None, chance.randint(1, 200))),
            _some(chance, keys if tangled else keys[:n], 2) if chance.random() < 0.4 else (),
            chance.choice((None, None, (30, 60), (600, 1500))),
            chance.choice((None, "leak", "range")),
        )
        for n, key in enumerate(keys)
    ]
    return Bench(tuple(entries), tuple(works))


def _some(chance: random.Random, pool: Sequence[str], most: int) -> list[str]:
    return chance.sample(pool, chance.randint(0, min(most, len(pool))))


def tasks_of(graph: Graph) -> dict[str, Task]:
    """Steps with their labour; 15 minutes where none is stated."""
    return {
        id_: Task(id_, 15 if node.minutes is None else int(node.minutes))
        for id_, node in graph.nodes.items()
    }


def tails_of(graph: Graph) -> dict[str, int]:
    """Curing until full load, by step."""
    return {
        do_id(key): cure_minutes(work.cure)[1]
        for key, work in graph.works.items()
        if work.cure is not None
    }
