"""Merging data three ways: whose turn it is says nothing, and nothing is lost."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.merge.missing import MISSING
from register.merge.values import merge_values, same
from register.text.nodes import Plain

WORDS = st.sampled_from(["a", "b", "grounding", "serviceable", "rejected"])
SCALARS = st.one_of(WORDS, st.integers(0, 3), st.booleans(), st.none())
ITEMS = st.lists(
    st.builds(lambda name, n: {"id": name, "n": n}, st.sampled_from(["p", "q", "r"]), SCALARS),
    max_size=3,
    unique_by=lambda item: item["id"],
)
VALUES: st.SearchStrategy[Plain] = st.recursive(
    st.one_of(SCALARS, ITEMS),
    lambda inner: st.dictionaries(st.sampled_from(["x", "y", "z", "limit"]), inner, max_size=3),
    max_leaves=6,
)


@given(VALUES, VALUES, VALUES)
def test_turns_say_nothing(base: Plain, one: Plain, two: Plain) -> None:
    left, right = merge_values(base, one, two), merge_values(base, two, one)
    assert same(left[0], right[0])
    assert left[1] == right[1]


@given(VALUES, VALUES)
def test_a_side_that_changed_nothing_gives_way(base: Plain, one: Plain) -> None:
    merged, clashes = merge_values(base, one, base)
    assert same(merged, one)
    assert clashes == ()


@given(VALUES, VALUES)
def test_equal_changes_are_one(base: Plain, one: Plain) -> None:
    merged, clashes = merge_values(base, one, one)
    assert same(merged, one)
    assert clashes == ()


def test_different_keys_and_items_meet() -> None:
    base: Plain = {"title": "Heron", "tasks": [{"id": "a", "n": 1}, {"id": "b", "n": 2}]}
    one: Plain = {"title": "Heron grey", "tasks": [{"id": "a", "n": 1}, {"id": "b", "n": 9}]}
    two: Plain = {
        "title": "Heron",
        "tasks": [{"id": "a", "n": 5}, {"id": "b", "n": 2}, {"id": "c", "n": 3}],
        "lot": "L1",
    }
    merged, clashes = merge_values(base, one, two)
    assert merged == {
        "title": "Heron grey",
        "tasks": [{"id": "a", "n": 5}, {"id": "b", "n": 9}, {"id": "c", "n": 3}],
        "lot": "L1",
    }
    assert clashes == ()


@pytest.mark.parametrize(
    ("key", "one", "two", "stands"),
    [
        ("condition", "serviceable", "rejected", "rejected"),
        ("severity", "cosmetic", "grounding", "grounding"),
        ("limit", 40, 25, 25),
        ("limit", Decimal("1.5"), 2, Decimal("1.5")),
        ("grounds", False, True, True),
        ("title", "b", "a", "a"),
    ],
)
def test_the_cautious_value_stands(key: str, one: Plain, two: Plain, stands: Plain) -> None:
    for sides in ((one, two), (two, one)):
        merged, clashes = merge_values({key: "past"}, {key: sides[0]}, {key: sides[1]})
        assert merged == {key: stands}
        assert [clash.path for clash in clashes] == [(key,)]
        assert {str(clashes[0].one), str(clashes[0].two)} == {str(one), str(two)}


def test_changed_here_and_removed_there_is_kept_and_asked() -> None:
    merged, clashes = merge_values({"lot": "L1"}, {"lot": "L2"}, {})
    assert merged == {"lot": "L2"}
    assert clashes[0].one == MISSING
    assert clashes[0].two == "L2"
