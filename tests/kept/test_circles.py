"""An answer put together circle by circle is the answer of the whole ledger, always."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest
from kept.scattered import AIRCRAFT, DAYS, FIRST, HOMES, draw_files, open_in_memory

from register.desk import answer_due, answer_fleet, answer_flyday, answer_history
from register.fleet import Fleet, sheaf_of


def answers(fleet: Fleet, day_number: int) -> list[object]:
    """Whatever the commands that go by circles answer on a day."""
    day = FIRST + timedelta(days=day_number)
    found: list[object] = [
        answer_due(fleet, day, None, every=False),
        answer_fleet(fleet, day),
        answer_flyday(fleet, day + timedelta(days=1), day, {"heron": 4, "knot": 2}),
    ]
    for name in AIRCRAFT:
        found.append(answer_due(fleet, day, name, every=True))
        found.append(answer_history(fleet, day, name))
    for home in HOMES[len(AIRCRAFT) :]:
        found.append(answer_history(fleet, day, home.partition("/")[2]))
    return found


@pytest.mark.parametrize("seed", range(60))
def test_by_circles_as_from_the_whole_ledger(seed: int) -> None:
    chance = random.Random(seed)
    files = draw_files(chance, chance.randint(5, 45))
    whole, cut = open_in_memory(files, cut=False), open_in_memory(files, cut=True)
    for day in (DAYS // 2, DAYS + 3):
        for one, other in zip(answers(whole, day), answers(cut, day), strict=True):
            assert one == other


def test_circles_are_small_where_nothing_ties_them() -> None:
    counts = []
    for seed in range(60):
        chance = random.Random(seed)
        fleet = open_in_memory(draw_files(chance, chance.randint(5, 45)), cut=True)
        counts.append(len(fleet.circles.all))
        for folders in fleet.circles.all:
            assert fleet.circles.around(folders[:1]) == folders
    # Else the test above would compare the whole ledger with itself.
    assert sum(count > 2 for count in counts) > len(counts) // 3


def test_sheaf_of_a_subject() -> None:
    assert sheaf_of(("aircraft", "heron")) == "aircraft/heron"
    assert sheaf_of(("part", "tu-1")) == "parts/tu-1"
