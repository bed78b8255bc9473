"""The exact chances of orders: how many pairs stand the wrong way round by luck."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate

from register.faults.chances import normal_two_sided

EXACT_SIZE = 60
"""Up to so many values the chances are counted; beyond, the normal approximation is as good."""


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


def chance_of_so_far(rising: int, size: int) -> float:
    """The one-sided chance of a number of rising pairs at least so far from the middle.

    Exact up to `EXACT_SIZE` values, else normal, corrected for continuity.
    """
    most = size * (size - 1) // 2
    if size <= EXACT_SIZE:
        # The chances mirror about their middle, so the lower tail serves both sides.
        return min(1.0, math.fsum(chance_of_inversions((size,))[: min(rising, most - rising) + 1]))
    off = max(0.0, abs(rising - most / 2) - 0.5)
    return normal_two_sided(off / math.sqrt(most * (2 * size + 5) / 36)) / 2


def _widen(counts: list[int], length: int) -> list[int]:
    """One more value in a row: it may stand before any number of the others, 0 to length - 1."""
    sums = [0, *accumulate(counts)]
    last = len(counts)
    return [
        sums[min(place + 1, last)] - sums[max(place - length + 1, 0)]
        for place in range(last + length - 1)
    ]
