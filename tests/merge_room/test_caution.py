"""While a clash is open the cautious value stands; where none is, that is said."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.merge.caution import NO_SIDE
from register.merge.missing import MISSING
from register.merge.texts import merge_texts
from register.merge.values import clash_over
from register.text.nodes import Plain

FLEET, HERON, PACK = "fleet.yaml", "aircraft/heron/aircraft.yaml", "parts/pk-1/part.yaml"
CLUB, SNAG = "programmes/club.yaml", "aircraft/heron/events/2026/05/x.yaml"
ROWS: list[tuple[str, str, Plain, Plain]] = [
    (FLEET, "soon/days", 21, 10),
    (FLEET, "soon/flights", 8, 5),
    (FLEET, "season_gap_days", 30, 60),
    ("papers/permit.yaml", "warn_days", 60, 30),
    ("papers/permit.yaml", "expires", "2026-03-01", "2026-11-02"),
    (HERON, "opening/counters/flights", 160, 145),
    (HERON, "opening/counters/flights", "?", 160),
    (HERON, "opening/counters/flights/value", 160, 145),
    (HERON, "opening/counters/flights", {"value": 1, "known": "unknown"}, 400),
    (HERON, "opening/counters/flights", {"low": 3, "high": 500}, {"value": 400}),
    (HERON, "opening/counters/flights/known", "unknown", "estimated"),
    (HERON, "opening/since_overhaul/minutes", 90, 12),
    (HERON, "opening/as_of", "2026-01-02", "2026-03-01"),
    (HERON, "opening/tasks/slop/when", "2025-01-02", "2026-01-02"),
    (HERON, "opening/tasks/slop/at/flights", 100, 140),
    (HERON, "per_flight/engine-minutes/value", 9, 7),
    (HERON, "positions/engine/required", True, False),
    (HERON, "stage", "laid-up", "in-service"),
    (PACK, "made", "2024-03-01", "2025-03-01"),
    (PACK, "life/flights/limit", 2400, 3600),
    (PACK, "life/months/months", 12, 24),
    (PACK, "opening/counters/charges", 60, 55),
    (PACK, "condition", "rejected", "serviceable"),
    (CLUB, "tasks/slop/every/flights/amount", 8, 25),
    (CLUB, "tasks/slop/every/days", 20, 30),
    (CLUB, "tasks/slop/every/flights/late", 1, 5),
    (CLUB, "tasks/slop/grounds", True, False),
    (CLUB, "tasks/slop/reading/play/high", Decimal("0.8"), 2),
    (CLUB, "tasks/slop/reading/play/low", 3, 2),
    (SNAG, "severity", "grounding", "cosmetic"),
    (SNAG, "flights", 3, 9),
    (SNAG, "until", "2026-05-30", "2026-06-30"),
    (SNAG, "count", 4, 3),
    (SNAG, "closes", False, True),
    ("stock.yaml", "items/m3/count", 4, 9),
]


@pytest.mark.parametrize(("file", "key", "cautious", "other"), ROWS)
def test_the_cautious_one_stands_and_the_reason_is_given(
    file: str, key: str, cautious: Plain, other: Plain
) -> None:
    for sides in ((cautious, other), (other, cautious)):
        clash = clash_over(file, tuple(key.split("/")), MISSING, *sides)
        assert (clash.one if clash.stands == 1 else clash.two) == cautious
        assert clash.why
        assert clash.why != NO_SIDE


def test_a_window_that_was_taken_out_is_the_narrower_one() -> None:
    assert clash_over(CLUB, ("tasks", "slop", "late"), 5, 7, MISSING).stands == 1


@pytest.mark.parametrize(
    ("file", "key", "sides"),
    [
        (HERON, "title", ("b", "a")),
        (CLUB, "tasks/slop/minutes", (20, 30)),
        (CLUB, "tasks/slop/reset", ("from-due", "from-done")),
        (HERON, "opening/counters/flights/value", ("many", "few")),
    ],
)
def test_without_a_cautious_side_nothing_is_claimed(
    file: str, key: str, sides: tuple[Plain, Plain]
) -> None:
    clash = clash_over(file, tuple(key.split("/")), MISSING, *sides)
    assert (clash.stands, clash.why) == (1, NO_SIDE)


def test_the_file_is_known_where_texts_are_merged() -> None:
    base, one, two = (b"soon:\n  days: %d\n" % days for days in (14, 10, 21))
    merged = merge_texts(FLEET, base, one, two)
    assert merged.data == two
    assert merged.clashes[0].why == "the warning comes earlier"


VALUES = st.one_of(st.sampled_from(["?", "x", True, MISSING, None]), st.integers(0, 9))


@given(st.sampled_from(ROWS), VALUES, VALUES)
def test_whatever_the_values_turns_say_nothing(
    row: tuple[str, str, Plain, Plain], one: Plain, two: Plain
) -> None:
    path = tuple(row[1].split("/"))
    if one != two:
        left, right = (
            clash_over(row[0], path, MISSING, *sides) for sides in ((one, two), (two, one))
        )
        assert left == right
