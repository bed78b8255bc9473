"""Withdrawals that call flights each other's double must leave exactly one of them."""

from __future__ import annotations

import random
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from laws.sheets import Sheets, codes, span

from register.checks import check_ledger

FLIGHTS = ("fa0", "fb0", "fc0", "fd0", "fe0")


def _fleet(withdrawals: list[tuple[str, str | None]], **keys: Any) -> Sheets:
    sheets = Sheets()
    for id_ in FLIGHTS:
        sheets.fly("2026-05-16", 1, id_)
    for n, (target, twin) in enumerate(withdrawals):
        said = {"duplicate_of": twin} if twin else {"reason": "not flown"}
        sheets.add("withdrawal", "2026-05-17", f"wd{n}", withdraws=target, **said, **keys)
    return sheets


def _standing(sheets: Sheets) -> set[str]:
    return set(FLIGHTS) - sheets.ledger().settled.withdrawn.keys()


def _said(sheets: Sheets) -> list[Any]:
    found = check_ledger(sheets.ledger(), date(2026, 6, 1))
    return [problem for problem in found if problem.code == "doubles-in-ring"]


@pytest.mark.parametrize(
    ("withdrawals", "left"),
    [
        ([("fb0", "fa0"), ("fa0", "fb0")], "fa0"),
        ([("fc0", "fb0"), ("fb0", "fd0"), ("fd0", "fc0")], "fb0"),
        ([("fa0", "fb0"), ("fb0", "fc0"), ("fc0", "fb0")], "fa0"),
        ([("fa0", "fa0")], "fa0"),
        ([("fa0", "fb0"), ("fa0", "fb0"), ("fb0", "fa0")], "fa0"),
    ],
)
def test_a_ring_leaves_one(withdrawals: list[tuple[str, str | None]], left: str) -> None:
    sheets = _fleet(withdrawals)
    away = {target for target, _ in withdrawals} - {left}
    assert _standing(sheets) == set(FLIGHTS) - away
    assert span(sheets.ledger(), "heron") == (5 - len(away), 5 - len(away))
    (problem,) = _said(sheets)
    assert all(id_ in problem.says for id_, _ in withdrawals)


def test_the_line_that_ends_it_ends_it() -> None:
    sheets = _fleet([("fb0", "fa0"), ("fa0", "fb0")])
    (problem,) = _said(sheets)
    assert problem.mend.startswith("tailsheaf withdraw wd1 ")
    assert "tailsheaf withdraw wd0 " in problem.mend
    for id_, left in (("wd1", "fa0"), ("wd0", "fb0")):
        mended = sheets.copy()
        mended.add("withdrawal", "2026-05-18", "wx9", withdraws=id_)
        assert _said(mended) == []
        assert _standing(mended) == set(FLIGHTS) - {"fa0", "fb0"} | {left}


def test_one_that_stands_is_enough_and_nothing_is_said() -> None:
    sheets = _fleet([("fa0", "fb0"), ("fb0", "fc0")])
    assert _standing(sheets) == {"fc0", "fd0", "fe0"}
    assert _said(sheets) == []


def test_withdrawn_for_another_reason_stays_withdrawn() -> None:
    sheets = _fleet([("fa0", "fb0"), ("fb0", "fa0"), ("fa0", None)])
    assert _standing(sheets) == {"fc0", "fd0", "fe0"}
    sheets = _fleet([("fa0", "fb0"), ("fb0", None)])
    assert _standing(sheets) == {"fc0", "fd0", "fe0"}


def test_a_double_of_what_another_machine_withdrew_is_pointed_out() -> None:
    sheets = _fleet([("fa0", "fb0"), ("fb0", None)])
    assert _said(sheets) == []
    for n, machine in enumerate(("m-one", "m-two")):
        path = next(path for path in sheets.data if path.endswith(f"wd{n}.yaml"))
        sheets.data[path]["machine"] = machine
    (problem,) = _said(sheets)
    assert "neither counts" in problem.says
    assert problem.mend.startswith("tailsheaf withdraw wd0 ")


def test_a_ring_of_withdrawals_leaves_one_withdrawal() -> None:
    sheets = _fleet([("fa0", None), ("fb0", None)])
    sheets.add("withdrawal", "2026-05-18", "wx0", withdraws="wd0", duplicate_of="wd1")
    sheets.add("withdrawal", "2026-05-18", "wx1", withdraws="wd1", duplicate_of="wd0")
    assert _standing(sheets) == {"fb0", "fc0", "fd0", "fe0"}


ENDS = st.sampled_from(FLIGHTS)
WITHDRAWALS = st.lists(st.tuples(ENDS, st.one_of(ENDS, ENDS, ENDS, st.none())), max_size=8)


@given(WITHDRAWALS, st.randoms(use_true_random=False))
def test_what_is_one_flight_counts_once_unless_taken_out_for_another_reason(
    withdrawals: list[tuple[str, str | None]], chance: random.Random
) -> None:
    sheets = _fleet(withdrawals)
    left = _standing(sheets)
    otherwise = {target for target, twin in withdrawals if twin is None}
    assert not left & otherwise
    group = {id_: {id_} for id_ in FLIGHTS}
    for target, twin in withdrawals:
        if twin is not None and group[target] is not group[twin]:
            group[target] |= group[twin]
            for id_ in group[target]:
                group[id_] = group[target]
    targets = {target for target, _ in withdrawals}
    for same in group.values():
        if not same & otherwise:
            # Those that nobody withdrew stand; where all were, exactly one is left.
            assert len(same & left) == (len(same - targets) or 1)
        else:
            assert same - targets == same & left or len(same & left) == 1
    mixed = sheets.copy()
    listed = list(mixed.data.items())
    chance.shuffle(listed)
    mixed.data = dict(listed)
    assert _standing(mixed) == left
    assert codes(mixed.ledger().problems) == codes(sheets.ledger().problems)
