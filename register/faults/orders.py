"""The exact chances of orders: how many pairs stand the wrong way round by luck."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate


def chance_of_inversions(sizes: Sequence[int]) -> tuple[float, ...]:
    """The chance of each number of inversions in random orders of unequal values.

    `sizes` are the lengths of rows that are ordered apart from each other; their inversions are
    added. Counted in whole numbers (the Mahonian numbers), so exact to the last division.
    """
    counts = [1]
    whole = 1
    for size in sizes:
        for length in range(2, size + 1):
            counts = _widen(counts, length)
            whole *= length
    return tuple(count / whole for count in counts)


def _widen(counts: list[int], length: int) -> list[int]:
    """One more value in a row: it may stand before any number of the others, 0 to length - 1."""
    sums = [0, *accumulate(counts)]
    last = len(counts)
    return [
        sums[min(place + 1, last)] - sums[max(place - length + 1, 0)]
        for place in range(last + length - 1)
    ]
