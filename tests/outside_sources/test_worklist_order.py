"""The order of a worklist, held to a graph library that knows nothing of ours.

networkx (a published library of graph algorithms) is given what the owner wrote (needs, what
goes in before what, waits) and the nature of the work, built here anew; it decides what must be
off, whether an order exists, and whether ours is one.
"""

from __future__ import annotations

from datetime import timedelta

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st
from workshop_room.benches import EVENING, START, Bench, benches, entries_of, tails_of, tasks_of

from register.records.access import find_circles
from register.workshop.evenings import find_ready, later, lay_out
from register.workshop.ordering import order_steps
from register.workshop.precedence import untie
from register.workshop.worklist import Graph, cure_minutes


def written(bench: Bench) -> nx.DiGraph[str]:
    """What must come off before what, as written: an arrow from each entry to what it needs."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    names = {entry.name for entry in bench.entries}
    for entry in bench.entries:
        graph.add_node(entry.name)
        graph.add_edges_from((entry.name, need.name) for need in entry.needs)
        graph.add_edges_from((item.what, item.before) for item in entry.order)
    assert set(graph) <= names
    return graph


def expected(bench: Bench, graph: Graph) -> nx.DiGraph[str]:
    """Steps in their order, from the bench itself and from which doors were chosen."""
    needs = written(bench)
    steps: nx.DiGraph[str] = nx.DiGraph()
    for name in graph.opened:
        steps.add_edge(f"off {name}", f"on {name}")
        for first in needs.successors(name):
            steps.add_edge(f"off {first}", f"off {name}")
            steps.add_edge(f"on {name}", f"on {first}")
    for work in bench.works:
        step = f"do {work.key}"
        steps.add_node(step)
        for name in off_for(bench, graph, work.key):
            steps.add_edge(f"off {name}", step)
            steps.add_edge(step, f"on {name}")
        steps.add_edges_from((f"do {wait.key}", step) for wait in work.waits)
        if work.kind in ("job", "snag"):
            for entry in bench.entries:
                for item in entry.order:
                    if item.what == work.at and item.before in graph.opened:
                        steps.add_edge(step, f"on {item.before}")
    return steps


def off_for(bench: Bench, graph: Graph, key: str) -> set[str]:
    """What has to be off for a piece of work: its door, and all that any of it needs."""
    needs, work = written(bench), next(work for work in bench.works if work.key == key)
    door = graph.ways[key].by
    doors = {e.name for e in bench.entries if work.at in e.opens and e.name != work.at}
    if work.where != "place":
        doors = set()
    assert (door in doors) if doors else door is None
    off = {door, *nx.descendants(needs, door)} if door is not None else set()
    if work.where == "place" and work.at in needs:
        off |= nx.descendants(needs, work.at)
    return off


@given(benches())
def test_our_order_is_a_topological_order_of_theirs(bench: Bench) -> None:
    graph = bench.graph()
    steps = expected(bench, graph)
    order = order_steps(graph, tasks_of(graph), tails_of(graph), EVENING, START)
    place = {id_: n for n, id_ in enumerate(order)}
    if nx.is_directed_acyclic_graph(steps):
        assert not graph.knots
        assert all(place[before] < place[after] for before, after in steps.edges)
    else:
        # Only a job that waits across what goes in before what can tangle these.
        assert graph.knots
    for work in bench.works:
        assert set(graph.ways[work.key].off) == off_for(bench, graph, work.key)


@given(benches(tangled=True))
def test_knots_are_found_where_they_find_rings(bench: Bench) -> None:
    graph = bench.graph()
    theirs = expected(bench, graph)
    left = nx.DiGraph((arrow.before, arrow.after) for arrow in graph.arrows)
    assert nx.is_directed_acyclic_graph(left)
    assert bool(graph.knots) == (not nx.is_directed_acyclic_graph(theirs))
    for knot in graph.knots:
        assert knot.ends
        assert knot.left_out in {says for says, _ in knot.ends}
    # Whatever was wrong, every step is still there, once.
    order = order_steps(graph, tasks_of(graph), tails_of(graph), EVENING, START)
    assert sorted(order) == sorted(graph.nodes)


@given(benches(tangled=True))
def test_circles_of_the_access_are_theirs(bench: Bench) -> None:
    needs = written(bench)
    circles = list(find_circles(entries_of(*bench.entries)))
    rings = [set(part) for part in nx.strongly_connected_components(needs)]
    tangled = [part for part in rings if len(part) > 1 or needs.has_edge(*(next(iter(part)),) * 2)]
    assert bool(circles) == bool(tangled)
    for ring in circles:
        names = {rule.then for rule in ring}
        assert any(names <= part for part in tangled)
        assert all(needs.has_edge(rule.then, rule.first) for rule in ring)
    assert all(any({r.then for r in ring} & part for ring in circles) for part in tangled)


@given(benches())
def test_it_can_never_fly_before_the_longest_way(bench: Bench) -> None:
    """Their longest way through labour and cures is a bound that no order can beat."""
    graph = bench.graph()
    tasks, tails = tasks_of(graph), tails_of(graph)
    weighted: nx.DiGraph[str] = nx.DiGraph()
    weighted.add_nodes_from(["fly", *graph.nodes])
    for id_ in graph.nodes:
        weighted.add_edge(id_, "fly", weight=tasks[id_].minutes + tails.get(id_, 0))
    for arrow in graph.arrows:
        weight = tasks[arrow.before].minutes + arrow.lag
        known = weighted.get_edge_data(arrow.before, arrow.after, {"weight": 0})["weight"]
        weighted.add_edge(arrow.before, arrow.after, weight=max(weight, known))
    longest = nx.dag_longest_path_length(weighted)
    order = order_steps(graph, tasks, tails, EVENING, START)
    ready = find_ready(lay_out(order, tasks, graph.arrows, EVENING, START), tails, START)
    assert ready >= later(START, longest)
    assert ready - START >= timedelta(minutes=sum(task.minutes for task in tasks.values()))


@given(benches(tangled=True), st.randoms(use_true_random=False))
def test_untying_leaves_no_ring_and_takes_only_what_was_written(
    bench: Bench, chance: object
) -> None:
    graph = bench.graph()
    arrows = list(graph.arrows)
    chance.shuffle(arrows)  # type: ignore[attr-defined]
    left, knots = untie(arrows)
    assert not knots
    assert set(left) == set(graph.arrows)
    lags = {arrow.lag for arrow in left}
    assert lags <= {0, *(n for w in bench.works for n in cure_minutes(w.cure))}
