"""Where the order of a day is not known, what is left to a limit holds every answer that
some order would give: the least of them, which decides, is never missed."""

from __future__ import annotations

from decimal import Decimal
from itertools import product
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st
from laws.sheets import Sheets

Round = tuple[int, int]
"""Flights before the day of a check, and flights on that day."""


def write(
    rounds: list[Round], chosen: tuple[int, ...] | None, reset: str, window: int | None
) -> Sheets:
    """Checks on days with flights: after so many of them, or in no order."""
    every: dict[str, Any] = {"counter": "flights", "amount": 25}
    if window is not None:
        every |= {"early": window, "late": window}
    sheets = Sheets()
    sheets.task("check", every=[every], reset=reset)
    for n, (before, during) in enumerate(rounds):
        sheets.fly(f"2026-05-{2 * n + 1:02d}", before)
        day, flown = f"2026-05-{2 * n + 2:02d}", f"flown{n}"
        sheets.fly(day, during, flown)
        if chosen is None:
            sheets.done("check", day)
        elif chosen[n]:
            sheets.done("check", day, after=f"{flown}:{chosen[n]}")
        else:
            # Before the first flight: written as a day of its own would be, a minute earlier.
            id = sheets.done("check", day)
            sheets.data[next(p for p, d in sheets.data.items() if d.get("id") == flown)][
                "after"
            ] = id
    return sheets


def left(sheets: Sheets) -> tuple[Decimal, Decimal]:
    """Least and most that is left at the end of the month."""
    found = sheets.limit("check", "2026-05-31").left
    assert found is not None
    assert found.low is not None
    return found.low, found.high


ROUNDS = st.tuples(st.integers(15, 40), st.integers(1, 6))
RESETS = st.sampled_from(["from-done", "from-due", "from-due-in-window"])
WINDOWS = st.sampled_from([None, 1, 2, 5])


def left_of_each(rounds: list[Round], reset: str, window: int | None) -> list[Decimal]:
    """What is left in every order that the days can have had."""
    orders = product(*(range(during + 1) for _, during in rounds))
    told = [left(write(rounds, chosen, reset, window)) for chosen in orders]
    assert all(low == high for low, high in told)
    return [low for low, _ in told]


@settings(max_examples=30)
@given(st.lists(ROUNDS, min_size=1, max_size=3), RESETS, WINDOWS)
# Both ends of the day are outside the window, its middle is not.
@example([(21, 6)], "from-due-in-window", 1)
# Between them the done passes the second due point.
@example([(45, 6)], "from-due", None)
# 20 to 25 flights at the first check: due at 45 or at 50. At 52 to 53 the later of the two
# is in its window and gives 75, the earlier is not and gives 77 or 78.
@example([(20, 5), (27, 1)], "from-due-in-window", 2)
def test_what_is_left_holds_what_every_order_gives(
    rounds: list[Round], reset: str, window: int | None
) -> None:
    exact = left_of_each(rounds, reset, window)
    least, most = left(write(rounds, None, reset, window))
    assert least <= min(exact)
    assert most >= max(exact)


@given(ROUNDS)
def test_from_done_it_is_just_what_the_orders_give(one: Round) -> None:
    exact = left_of_each([one], "from-done", None)
    assert left(write([one], None, "from-done", None)) == (min(exact), max(exact))
