"""A session planned: openings that nest, one removal and one refit each, cures over evenings.

Times of the examples are reckoned by hand in the comments.
"""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop_room.benches import (
    EVENING,
    START,
    Bench,
    benches,
    entries_of,
    make_access,
    make_work,
    tails_of,
    tasks_of,
)

from register.records.access import Access
from register.workshop.evenings import Evening, Task, find_latest, find_ready, later, lay_out
from register.workshop.openings import Openings
from register.workshop.ordering import order_steps
from register.workshop.worklist import Graph, Work, build_graph


def order_of(graph: Graph, evening: Evening = EVENING) -> tuple[str, ...]:
    return order_steps(graph, tasks_of(graph), tails_of(graph), evening, START)


def plan(
    entries: dict[str, Access], *works: Work, building: bool = False
) -> tuple[Graph, tuple[str, ...]]:
    graph = build_graph(entries, works, building=building)
    return graph, order_of(graph)


# --- the laws -------------------------------------------------------------------


@given(benches())
def test_every_arrow_is_kept_and_nothing_is_opened_twice(bench: Bench) -> None:
    graph = bench.graph()
    order = order_of(graph)
    assert sorted(order) == sorted(graph.nodes)
    assert {f"do {work.key}" for work in bench.works} <= set(order)
    slots = {
        slot.id: slot for slot in lay_out(order, tasks_of(graph), graph.arrows, EVENING, START)
    }
    for arrow in graph.arrows:
        assert slots[arrow.after].begins >= later(slots[arrow.before].ends, arrow.lag)


@given(benches())
def test_what_is_needed_off_first_goes_on_last(bench: Bench) -> None:
    graph = bench.graph()
    if graph.knots:
        return
    place = {id_: n for n, id_ in enumerate(order_of(graph))}
    for entry in bench.entries:
        if entry.name not in graph.opened:
            continue
        for need in entry.needs:
            assert need.name in graph.opened
            inner = place[f"off {entry.name}"], place[f"on {entry.name}"]
            assert place[f"off {need.name}"] < inner[0] < inner[1] < place[f"on {need.name}"]


@given(benches(tangled=True), st.randoms(use_true_random=False))
def test_the_order_of_reading_changes_nothing(bench: Bench, chance: random.Random) -> None:
    entries, works = list(bench.entries), list(bench.works)
    chance.shuffle(entries)
    chance.shuffle(works)
    one, other = bench.graph(), build_graph(entries_of(*entries), works)
    assert one == other
    assert order_of(one) == order_of(other)


@given(benches())
def test_labour_is_one_step_after_another_within_the_evenings(bench: Bench) -> None:
    graph = bench.graph()
    tasks = tasks_of(graph)
    last = START
    for slot in lay_out(order_of(graph), tasks, graph.arrows, EVENING, START):
        assert slot.begins >= last
        last = slot.ends
        for moment in (slot.begins, slot.ends):
            assert EVENING.begins <= moment.time() <= EVENING.ends
        if slot.begins.date() == slot.ends.date():
            assert slot.ends - slot.begins == timedelta(minutes=tasks[slot.id].minutes)


@given(benches(), st.integers(0, 6))
def test_begun_later_it_is_never_ready_earlier(bench: Bench, days: int) -> None:
    graph = bench.graph()
    tasks, tails, order = tasks_of(graph), tails_of(graph), order_of(graph)

    def ready(start: datetime) -> datetime:
        return find_ready(lay_out(order, tasks, graph.arrows, EVENING, start), tails, start)

    later_start = START + timedelta(days=days)
    assert ready(START) <= ready(later_start)
    wanted = ready(later_start)
    latest = find_latest(order, tasks, graph.arrows, EVENING, (START, wanted), tails)
    assert latest is not None
    assert latest >= later_start.date()
    assert ready(datetime.combine(latest, EVENING.begins, UTC)) <= wanted


# --- facts of the bench -----------------------------------------------------------


def test_cover_before_servo_and_servo_before_line() -> None:
    entries = entries_of(
        make_access("cover", ["servo-bay"]),
        make_access("servo", ["line"], needs=["cover"]),
    )
    _, order = plan(entries, make_work("splice", "line"))
    assert order == ("off cover", "off servo", "do splice", "on servo", "on cover")


def test_work_that_shares_an_opening_is_done_together() -> None:
    entries = entries_of(
        make_access("hatch", ["receiver", "battery"]), make_access("nose", ["lamp"])
    )
    works = [make_work(key, at) for key, at in (("a", "receiver"), ("b", "lamp"), ("c", "battery"))]
    _, order = plan(entries, *works)
    assert order == (
        "off hatch", "do c", "do a", "on hatch", "off nose", "do b", "on nose",
    )  # fmt: skip


def test_the_duct_goes_in_before_the_tank() -> None:
    """In an aircraft that flies the tank comes out for the duct; in one being built it waits."""
    order = [("duct", "tank")]
    entries = entries_of(make_access("tank", order=order))
    _, steps = plan(entries, make_work("seat the duct", "duct"))
    assert steps == ("off tank", "do seat the duct", "on tank")
    works = [make_work("fit tank", "tank"), make_work("seat the duct", "duct")]
    graph, steps = plan(entries, *works, building=True)
    assert steps == ("do seat the duct", "do fit tank")
    assert graph.absent == ("tank",)


def test_what_lies_behind_a_thing_is_done_before_that_is_fitted() -> None:
    entries = entries_of(make_access("tank", ["mount"]), make_access("cover", ["tank"]))
    works = [make_work("a fit tank", "tank"), make_work("b bolt mount", "mount")]
    _, steps = plan(entries, *works, building=True)
    assert steps.index("do b bolt mount") < steps.index("do a fit tank")
    assert "off tank" not in steps


def test_of_two_doors_the_one_already_open_is_taken() -> None:
    entries = entries_of(
        make_access("belly", ["duct", "gear"], minutes=(10, 10)),
        make_access("hatch", ["duct"], minutes=(1, 1)),
    )
    graph, _ = plan(entries, make_work("a", "duct"), make_work("b", "gear"))
    assert graph.opened == ("belly",)
    assert graph.ways["a"].others == ("hatch",)
    graph, _ = plan(entries, make_work("a", "duct"))
    assert graph.opened == ("hatch",)


def test_a_place_in_a_zone_is_reached_by_the_door_of_the_zone() -> None:
    openings = Openings(entries_of(make_access("hatch", ["nose"])), {"lamp": ("nose",)})
    assert openings.choose_way("lamp", frozenset()).off == ("hatch",)
    assert not openings.choose_way("tail-lamp", frozenset()).is_stated


def test_a_task_disturbed_is_done_again_once_or_moved_behind_the_refit() -> None:
    entries = entries_of(
        make_access("hatch", ["receiver"], disturbs=["range"]),
        make_access("nose", ["lamp"], disturbs=["range"]),
    )
    works = [make_work("a", "receiver"), make_work("b", "lamp")]
    graph, order = plan(entries, *works)
    assert order[-1] == "again range"
    assert graph.agains[0].openings == ("hatch", "nose")
    # It is due anyway: once, after all that would disturb it.
    graph, order = plan(entries, *works, make_work("r", None, "task", task="range", urgency=0))
    assert not graph.agains
    assert order[-1] == "do r"
    # It is done behind the hatch, so closing that disturbs it again.
    inside = make_work("r", "receiver", "task", task="range", urgency=0)
    graph, order = plan(entries, make_work("b", "lamp"), inside)
    assert [again.task for again in graph.agains] == ["range"]
    assert order[-1] == "again range"


def test_work_on_the_whole_aircraft_comes_when_all_is_closed() -> None:
    entries = entries_of(make_access("hatch", ["receiver"]))
    whole = make_work("a range", "aircraft", "task", urgency=0)
    _, order = plan(entries, whole, make_work("b", "receiver"))
    assert order[-1] == "do a range"


def test_a_cure_is_begun_first_and_other_work_fills_the_wait() -> None:
    """Glue 10 min after the hatch (3): 19:13; handling 60 min, so the hatch goes on at 20:13."""
    entries = entries_of(make_access("hatch", ["rib"]), make_access("nose", ["lamp"]))
    works = [make_work("z glue", "rib", cure=(60, 600)), make_work("a wire", "lamp")]
    graph, order = plan(entries, *works)
    assert order == (
        "off hatch", "do z glue", "off nose", "do a wire", "on nose", "on hatch",
    )  # fmt: skip
    slots = list(lay_out(order, tasks_of(graph), graph.arrows, EVENING, START))
    assert slots[1].ends == datetime(2026, 5, 11, 19, 13, tzinfo=UTC)
    assert slots[5].begins == datetime(2026, 5, 11, 20, 13, tzinfo=UTC)
    assert slots[5].waited
    assert slots[5].because == "do z glue"
    # Full load ten hours after 19:13.
    ready = find_ready(iter(slots), tails_of(graph), START)
    assert ready == datetime(2026, 5, 12, 5, 13, tzinfo=UTC)


def test_nothing_is_moved_that_has_just_been_glued() -> None:
    works = [make_work("a glue", "duct", cure=(60, 600)), make_work("b turn", "duct")]
    _, order = plan({}, *works)
    assert order == ("do b turn", "do a glue")
    fit = make_work("b fit", "duct", waits=["a glue"])
    graph, order = plan({}, works[0], fit)
    assert order == ("do a glue", "do b fit")
    slots = list(lay_out(order, tasks_of(graph), graph.arrows, EVENING, START))
    assert slots[1].begins == datetime(2026, 5, 12, 19, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("wanted", "latest"),
    [
        # Ready at 05:13 of the day after: for Saturday 10:00 Friday's evening will do,
        ((16, 10, 0), date(2026, 5, 15)),
        # for Saturday 05:13 too, and a minute before not any more.
        ((16, 5, 13), date(2026, 5, 15)),
        ((16, 5, 12), date(2026, 5, 14)),
        ((12, 5, 12), None),
    ],
)
def test_the_latest_evening(wanted: tuple[int, int, int], latest: date | None) -> None:
    entries = entries_of(make_access("hatch", ["rib"]))
    graph, order = plan(entries, make_work("glue", "rib", cure=(60, 600)))
    day, hour, minute = wanted
    span = (START, datetime(2026, 5, day, hour, minute, tzinfo=UTC))
    found = find_latest(order, tasks_of(graph), graph.arrows, EVENING, span, tails_of(graph))
    assert found == latest


def test_what_does_not_fit_is_begun_on_the_next_evening_and_long_work_goes_on() -> None:
    tasks = {"a": Task("a", 170), "b": Task("b", 20), "c": Task("c", 400)}
    slots = list(lay_out(["a", "b", "c"], tasks, (), EVENING, START))
    assert slots[1].begins == datetime(2026, 5, 12, 19, 0, tzinfo=UTC)
    # 400 minutes: two evenings of 180 and 40 minutes of a third.
    assert slots[2].begins == datetime(2026, 5, 13, 19, 0, tzinfo=UTC)
    assert slots[2].ends == datetime(2026, 5, 15, 19, 40, tzinfo=UTC)


def test_an_evening_past_midnight_and_a_cure_across_summer_time() -> None:
    late = Evening(time(22), time(1))
    assert late.minutes == 180
    zone = ZoneInfo("Europe/Berlin")
    start = datetime(2026, 3, 28, 22, 0, tzinfo=zone)
    tasks = {"a": Task("a", 130), "b": Task("b", 60)}
    slots = list(lay_out(["a", "b"], tasks, (), late, start))
    assert slots[0].ends == datetime(2026, 3, 29, 0, 10, tzinfo=zone)
    assert slots[1].begins == datetime(2026, 3, 29, 22, 0, tzinfo=zone)
    # In that night the clock goes from 02:00 to 03:00: eight hours end at 09:10 by it.
    assert later(slots[0].ends, 480) == datetime(2026, 3, 29, 9, 10, tzinfo=zone)


def test_a_job_that_waits_across_what_goes_in_first_is_a_knot_with_both_ends() -> None:
    entries = entries_of(make_access("cover", order=[("duct", "tank")]))
    works = [make_work("duct job", "duct", waits=["tank job"]), make_work("tank job", "tank")]
    graph, order = plan(entries, *works)
    (knot,) = graph.knots
    assert {says for says, _ in knot.ends} == {
        "duct goes in before tank",
        "duct job waits for tank job",
    }
    assert knot.left_out == "duct goes in before tank"
    assert sorted(order) == ["do duct job", "do tank job"]


def test_minutes_of_openings_decide_in_decimal() -> None:
    half = make_access("a", ["x"], minutes=None)
    assert Openings(entries_of(half)).choose_way("x", frozenset()).off == ("a",)
    assert half.minutes_off is None
    assert make_access("b").minutes_on == Decimal(4)
