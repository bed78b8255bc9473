"""What creeps towards its limit: slope, test and projected crossing of uneven readings.

Readings stand at real places (days, flights, hours); nothing here takes them as evenly spaced. A
fix, swap or new part starts a new spell: readings of different spells are never compared, so a
step is no drift.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from itertools import combinations, groupby
from statistics import median
from typing import Literal

from msgspec import Struct

from register.faults.chances import normal_two_sided, two_sided_z
from register.faults.enough import READINGS
from register.faults.orders import EXACT_SIZE, chance_of_inversions
from register.faults.results import LEVEL, Behind, Evidence, Figure, check_level

LEVEL_READINGS = 3
"""Readings of the last spell from which its own height is known: the median of two is no middle."""

UNEVEN = "readings at their real places, uneven spacing allowed; only within a spell"


class Reading(Struct, frozen=True):
    """A value measured at a place, in one spell of the thing measured."""

    at: float
    value: float
    spell: int = 0


class Drift(Struct, frozen=True):
    """The slope per unit of place, and the test of whether there is one (1 rising, -1 falling)."""

    slope: Figure
    test: Evidence


class Crossing(Struct, frozen=True):
    """Where a straight drift meets a limit.

    `at.low` is the earliest place; `at.high` is None where the slope's interval allows that it is
    never met, and `at.value` where the slope itself does not lead there. `past` tells that the
    last reading is already beyond.
    """

    at: Figure
    past: bool


def estimate_drift(readings: Sequence[Reading], level: float = LEVEL) -> Drift:
    """Theil-Sen slope with Sen's interval, and Mann-Kendall's test on the same pairs.

    The slope is the median over all pairs of one spell at different places (Sen 1968; pairs within
    blocks only, as Hirsch, Slack & Smith 1982). Exact while no two readings share a value or a
    place in their spell and there are no more than 60, else the normal approximation with its
    variance lessened for ties (Kendall 1975), with a correction of one for continuity in the test
    and none in the interval. Without a pair the slope is None.
    """
    check_level(level)
    spells = _split(readings)
    pairs = [pair for spell in spells for pair in combinations(spell, 2)]
    slopes = sorted(
        (later.value - earlier.value) / (later.at - earlier.at)
        for earlier, later in pairs
        if later.at > earlier.at
    )
    score = sum(
        _sign(later.value - earlier.value) for earlier, later in pairs if later.at > earlier.at
    )
    ties = sum(_count_tied(spell) for spell in spells)
    behind = Behind(len(readings), units=len(spells), ties=ties)
    # Many short spells have few pairs, and so as little to tell as few readings.
    few = len(slopes) < READINGS * (READINGS - 1) // 2
    exact = not ties and len(readings) <= EXACT_SIZE
    chances = chance_of_inversions([len(spell) for spell in spells]) if exact else ()
    variance = math.fsum(_variance(spell) for spell in spells)
    low, high = _exact_limits(slopes, chances, level) if exact else _limits(slopes, variance, level)
    kind = "exact" if exact else "normal approximation, ties allowed for"
    value = median(slopes) if slopes else None
    slope = Figure(
        value, low, high, level, f"Theil-Sen, {kind}", f"Sen's ranks; {UNEVEN}", behind, few
    )
    p = _exact_chance(score, chances) if exact else _chance(score, variance)
    corrected = "two-sided" if exact else "two-sided, corrected for continuity"
    test = Evidence(
        float(score),
        p if slopes else None,
        _sign(score),
        f"Mann-Kendall, {kind}",
        f"{corrected}; {UNEVEN}",
        behind,
        few,
    )
    return Drift(slope, test)


def _split(readings: Sequence[Reading]) -> list[list[Reading]]:
    """The readings of each spell, in order of place."""
    ordered = sorted(readings, key=lambda reading: (reading.spell, reading.at))
    return [list(group) for _, group in groupby(ordered, lambda reading: reading.spell)]


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)


def _tied(values: Sequence[float]) -> list[int]:
    """How many share each value that is shared."""
    return [count for count in Counter(values).values() if count > 1]


def _count_tied(spell: Sequence[Reading]) -> int:
    """Readings of a spell that share their value or their place with another."""
    values = Counter(reading.value for reading in spell)
    places = Counter(reading.at for reading in spell)
    return sum(values[reading.value] > 1 or places[reading.at] > 1 for reading in spell)


def _variance(spell: Sequence[Reading]) -> float:
    """The variance of the score of one spell, with ties in value and in place (Kendall 1975)."""
    size = len(spell)
    values = _tied([reading.value for reading in spell])
    places = _tied([reading.at for reading in spell])

    def lessened(counts: Sequence[int]) -> float:
        return float(sum(count * (count - 1) * (2 * count + 5) for count in counts))

    def twos(counts: Sequence[int]) -> float:
        return float(sum(count * (count - 1) for count in counts))

    def threes(counts: Sequence[int]) -> float:
        return float(sum(count * (count - 1) * (count - 2) for count in counts))

    result = (lessened([size]) - lessened(values) - lessened(places)) / 18
    if size > 1:
        result += twos(values) * twos(places) / (2 * size * (size - 1))
    if size > 2:
        result += threes(values) * threes(places) / (9 * size * (size - 1) * (size - 2))
    return result


def _exact_chance(score: int, chances: Sequence[float]) -> float:
    """The chance of a score at least so far from zero, either way."""
    most = len(chances) - 1
    fewest = (most - abs(score)) // 2
    return min(1.0, 2 * math.fsum(chances[: fewest + 1]))


def _chance(score: int, variance: float) -> float:
    if variance <= 0:
        return 1.0
    return normal_two_sided(max(0, abs(score) - 1) / math.sqrt(variance))


def _exact_limits(
    slopes: Sequence[float], chances: Sequence[float], level: float
) -> tuple[float | None, float | None]:
    """Sen's ranks from the exact chances; open where there are too few pairs.

    The exact test alone would drop one slope more at each end; Sen's own example keeps it, and so
    the interval holds somewhat more than its level.
    """
    left, rank = (1 - level) / 2, -1
    sofar = 0.0
    for chance in chances:
        sofar += chance
        # A hair of room, so that a level written in decimals is not missed by rounding.
        if sofar > left * (1 + 1e-12):
            break
        rank += 1
    return (slopes[rank - 1], slopes[-rank]) if rank > 0 else (None, None)


def _limits(
    slopes: Sequence[float], variance: float, level: float
) -> tuple[float | None, float | None]:
    """Sen's ranks by the normal approximation, rounded outwards."""
    reach = two_sided_z(level) * math.sqrt(max(0.0, variance))
    lower = math.floor((len(slopes) - reach) / 2)
    if lower < 1:
        return None, None
    return slopes[lower - 1], slopes[-lower]


def project_crossing(
    readings: Sequence[Reading], limit: float, kind: Literal["most", "least"], level: float = LEVEL
) -> Crossing:
    """Where the drift of the last spell meets a limit that is the most or the least allowed.

    A line with the slope of all spells through the medians of the last one; the range follows from
    the ends of the slope's interval, each with its own line. It supposes that the drift goes on as
    it was.

    Raises:
        ValueError: no reading.
    """
    if not readings:
        raise ValueError("a crossing needs a reading")
    way = 1 if kind == "most" else -1
    turned = [Reading(one.at, way * one.value, one.spell) for one in readings]
    slope = estimate_drift(turned, level).slope
    last = _split(turned)[-1]
    ends = [
        None if one is None else _meet(last, one, way * limit)
        for one in (slope.value, slope.high, slope.low)
    ]
    past = last[-1].value > way * limit
    # Before the middle of the spell a steeper line meets it later: the ends in their order.
    known = [one for one in ends if one is not None]
    figure = Figure(
        ends[0],
        min(known) if ends[1] is not None else None,
        None if None in ends else max(known),
        level,
        f"straight line on: {slope.method}",
        "range from the ends of the slope's interval; supposes the drift goes on as it was",
        slope.behind,
        slope.too_few or slope.low is None or len(last) < LEVEL_READINGS,
    )
    return Crossing(figure, past)


def _meet(spell: Sequence[Reading], slope: float, limit: float) -> float | None:
    """Where a rising line through a spell's median meets a limit; None where it does not rise."""
    if slope <= 0:
        return None
    height = median(reading.value - slope * reading.at for reading in spell)
    return (limit - height) / slope
