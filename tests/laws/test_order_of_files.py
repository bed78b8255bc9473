"""The order in which files are met changes no answer."""

from __future__ import annotations

from datetime import date

from hypothesis import given
from hypothesis import strategies as st
from laws.sheets import Sheets
from laws.small_fleets import answer, fleets

from register.ledger.ledger import Ledger

ON = date(2026, 4, 20)


@given(fleets(), st.randoms(use_true_random=False))
def test_the_order_of_files_changes_no_answer(sheets: Sheets, chance: object) -> None:
    straight = list(range(len(sheets.data)))
    shuffled = list(straight)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    one = Ledger(sheets.records(straight))
    other = Ledger(sheets.records(shuffled))
    assert answer(one, ON) == answer(other, ON)
