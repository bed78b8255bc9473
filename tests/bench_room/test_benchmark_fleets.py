"""The fleets that speed is measured on: without errors, the same each time, as typed one by one."""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path

import pytest

from bench.fleet import Wish, build_sheaf, write_fleet
from bench.rows import limit_of
from register.desk import read_records
from register.git.history import paths_not_in_history
from register.text.canonical import read_canonical

WISH = Wish(events=300, aircraft=6)


def test_a_fleet_has_no_error_and_all_of_it_is_in_history(tmp_path: Path) -> None:
    root = tmp_path / "fleet"
    write_fleet(root, WISH)
    fleet = read_records(root)
    found = (*fleet.problems, *fleet.ledger.problems)
    assert [problem for problem in found if problem.level == "error"] == []
    assert len(fleet.records.events) == 300
    assert len(fleet.records.aircraft) == 6
    assert paths_not_in_history(root) == ()


def test_one_wish_gives_the_same_bytes_and_another_seed_others() -> None:
    one, two = build_sheaf(WISH), build_sheaf(WISH)
    assert one == two
    assert build_sheaf(Wish(events=300, aircraft=6, seed=1)).entries != one.entries


@pytest.mark.parametrize(("events", "aircraft"), [(20, 2), (300, 6), (1001, 20)])
def test_a_fleet_has_as_many_events_as_were_wished_and_ends_just_before_its_day(
    events: int, aircraft: int
) -> None:
    until = date(2026, 5, 16)
    sheaf = build_sheaf(Wish(events, aircraft, until=until))
    assert len({entry.path for entry in sheaf.entries}) == events
    assert 0 <= (until - sheaf.entries[-1].typed.date()).days <= 10


def test_every_event_is_in_canonical_form_and_over_half_are_flights() -> None:
    entries = build_sheaf(Wish(events=1000, aircraft=20)).entries
    kinds: Counter[str] = Counter()
    for number, entry in enumerate(entries, 1):
        node = read_canonical(entry.path, entry.data.decode())
        assert node is not None, entry.path
        values = {item.key: getattr(item.value, "text", "") for item in node.entries}
        kinds[values["record"]] += 1
        assert values["seq"] == str(number)
    assert 0.5 <= kinds["flights"] / len(entries) <= 0.6
    assert {"charge", "task-done", "snag", "fix", "install", "remove"} <= kinds.keys()


@pytest.mark.parametrize(
    ("goal", "events", "limit"),
    [(1, 1_000, 1.15), (1, 10_000, 1.15), (1, 50_000, 1.6), (1, 30_000, 1.375), (9, 10_000, None)],
)
def test_a_limit_between_two_sizes_is_read_off_a_straight_line(
    goal: int, events: int, limit: float | None
) -> None:
    assert limit_of(goal, events) == (None if limit is None else pytest.approx(limit))
