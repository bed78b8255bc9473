"""Is one aircraft unlike its sisters, or is it chance: likeness of several rates, and of gaps."""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from register.faults.enough import enough_for_unlike
from register.faults.extra import load_special, load_stats
from register.faults.results import Behind, Evidence
from register.faults.two_rates import RateComparison, chance_of_split, compare_rates

MOST_SPLITS = 20_000
"""Ways to share the events out up to which every one is counted; beyond, the chi-square holds."""

AtTies = Literal["midrank", "right"]
"""Where equal gaps stand among the ranks: in their middle, or all at its upper end."""

CONDITIONAL = "given the whole count"


class Odd(Struct, frozen=True):
    """The unit that differs most from the rest together.

    `p` is its conditional p times the number of units: it was picked for being the oddest.
    """

    unit: int
    against_rest: RateComparison
    p: float


class Likeness(Struct, frozen=True):
    """Whether several units share one rate: two tests, and the oddest of them. Direction is 0."""

    ratio_test: Evidence
    dispersion: Evidence
    oddest: Odd | None


class GapLikeness(Struct, frozen=True):
    """Whether gaps of several units are alike: of one mean, and of one distribution."""

    means: Evidence
    corrected: Evidence
    anderson_darling: Evidence


def compare_units(counts: Sequence[int], exposures: Sequence[float]) -> Likeness:
    """Compare the rates of several units, each with its count and exposure.

    Likelihood ratio: exact over every way to share the events out (conditional multinomial) while
    there are not too many, else a chi-square with k - 1 degrees of freedom. Dispersion: squared
    differences from the expected counts over these, as chi-square (Fisher; Cox & Lewis 1966).

    Raises:
        ValueError: fewer than two units, a negative count, or exposure that is not above 0.
        RegisterError: scipy is not installed.
    """
    if len(counts) < 2 or len(counts) != len(exposures):
        raise ValueError("two units or more, each with its exposure")
    if min(counts) < 0 or min(exposures) <= 0:
        raise ValueError("counts are 0 or more, and exposures above 0")
    events, whole = sum(counts), math.fsum(exposures)
    behind = Behind(events, whole, units=len(counts))
    few = not enough_for_unlike(events, len(counts))
    expected = [events * exposure / whole for exposure in exposures]
    return Likeness(
        _ratio_test(counts, expected, behind, few),
        _dispersion(counts, expected, behind, few),
        _find_oddest(counts, exposures) if events else None,
    )


def _ratio_test(
    counts: Sequence[int], expected: Sequence[float], behind: Behind, few: bool
) -> Evidence:
    events, units = behind.events, behind.units
    statistic = math.fsum(map(_share_of_ratio, counts, expected))
    if not events:
        return Evidence(0.0, None, 0, "likelihood ratio", CONDITIONAL, behind, too_few=True)
    if math.comb(events + units - 1, units - 1) <= MOST_SPLITS:
        method = "likelihood ratio, exact conditional multinomial"
        p = _exact_chance(statistic, expected, events)
        return Evidence(statistic, p, 0, method, CONDITIONAL, behind, few)
    method = f"likelihood ratio, chi-square, {units - 1} degrees of freedom"
    p = float(load_special().chdtrc(units - 1, statistic))
    least = f"approximate; smallest expected count {min(expected):.1f}"
    return Evidence(statistic, p, 0, method, least, behind, few)


def _share_of_ratio(count: int, expected: float) -> float:
    """What one unit adds to the statistic."""
    return 2 * count * math.log(count / expected) if count else 0.0


def _exact_chance(statistic: float, expected: Sequence[float], events: int) -> float:
    """The chance of a statistic at least so large, over all ways to share the events out.

    Unit by unit: what was given out so far and the statistic so far, with their chance. Splits
    that come to the same are kept together, which for equal exposures leaves few.
    """
    sofar: dict[tuple[int, float], float] = {(0, 0.0): 1.0}
    last = len(expected) - 1
    for place, mean in enumerate(expected):
        share = [_share_of_ratio(count, mean) for count in range(events + 1)]
        logs = [
            count * math.log(mean / events) - math.lgamma(count + 1) for count in range(events + 1)
        ]
        after: dict[tuple[int, float], float] = {}
        for (given, value), chance in sofar.items():
            rest = events - given
            for count in range(rest if place == last else 0, rest + 1):
                key = (given + count, round(value + share[count], 9))
                after[key] = after.get(key, 0.0) + chance * math.exp(logs[count])
        sofar = after
    far = math.fsum(chance for (_, value), chance in sofar.items() if value >= statistic - 1e-6)
    return min(1.0, far * math.exp(math.lgamma(events + 1)))


def _dispersion(
    counts: Sequence[int], expected: Sequence[float], behind: Behind, few: bool
) -> Evidence:
    degrees = behind.units - 1
    method = f"dispersion, chi-square, {degrees} degrees of freedom"
    if not behind.events:
        return Evidence(0.0, None, 0, method, CONDITIONAL, behind, too_few=True)
    statistic = math.fsum(
        (count - mean) ** 2 / mean for count, mean in zip(counts, expected, strict=True)
    )
    p = float(load_special().chdtrc(degrees, statistic))
    least = f"approximate; smallest expected count {min(expected):.1f}"
    return Evidence(statistic, p, 0, method, least, behind, few)


def _find_oddest(counts: Sequence[int], exposures: Sequence[float]) -> Odd:
    """The unit with the smallest conditional p against all the others together."""
    events, whole = sum(counts), math.fsum(exposures)
    alone = [
        chance_of_split(count, events, exposure / (exposure + (whole - exposure))) or 0.0
        for count, exposure in zip(counts, exposures, strict=True)
    ]
    unit = min(range(len(counts)), key=lambda place: (alone[place], place))
    # All that is told of two rates takes a sum over every pair of counts: for this one only.
    count, exposure = counts[unit], exposures[unit]
    against = compare_rates((count, exposure), (events - count, whole - exposure))
    return Odd(unit, against, min(1.0, (against.conditional.p or 0.0) * len(counts)))


def compare_gaps(samples: Sequence[Sequence[float]], at_ties: AtTies = "midrank") -> GapLikeness:
    """Compare complete gaps between events of several units, each ended by its last event.

    Likelihood ratio of equal means of exponential gaps, a chi-square with k - 1 degrees of
    freedom, plain and over Bartlett's correction; and the k-sample Anderson-Darling test (Scholz &
    Stephens 1987), which asks nothing of their shape. The chance of the last
    comes from a table from 0.001 to 0.25; beyond it the end stands.

    Raises:
        ValueError: fewer than two units, one without gaps, or gaps not above 0.
        RegisterError: scipy is not installed.
    """
    if len(samples) < 2 or not all(samples) or min(map(min, samples)) <= 0:
        raise ValueError("two units or more, each with gaps above 0")
    sizes = [len(sample) for sample in samples]
    totals = [math.fsum(sample) for sample in samples]
    events, whole = sum(sizes), math.fsum(totals)
    behind = Behind(events, whole, units=len(samples))
    few = not enough_for_unlike(events, len(samples))
    plain = math.fsum(
        _share_of_ratio(size, events * total / whole)
        for size, total in zip(sizes, totals, strict=True)
    )
    degrees = len(samples) - 1
    correction = 1 + (math.fsum(1 / size for size in sizes) - 1 / events) / (6 * degrees)
    special = load_special()

    def ratio_test(statistic: float, convention: str) -> Evidence:
        p = float(special.chdtrc(degrees, statistic))
        method = f"likelihood ratio of exponential means, {degrees} degrees of freedom"
        return Evidence(statistic, p, 0, method, convention, behind, few)

    return GapLikeness(
        ratio_test(plain, "chi-square, not corrected"),
        ratio_test(plain / correction, "chi-square, with Bartlett's correction"),
        _anderson_darling(samples, at_ties, behind, few),
    )


def _anderson_darling(
    samples: Sequence[Sequence[float]], at_ties: AtTies, behind: Behind, few: bool
) -> Evidence:
    method = "k-sample Anderson-Darling, standardised"
    if len({gap for sample in samples for gap in sample}) < 2:
        return Evidence(0.0, None, 0, method, "all gaps are equal", behind, too_few=True)
    with warnings.catch_warnings():
        # It warns at the ends of its table, which the convention says.
        warnings.simplefilter("ignore")
        found = load_stats().anderson_ksamp(list(map(list, samples)), variant=at_ties)
    convention = (
        f"{at_ties} at ties; p from a table of 0.001 to 0.25, whose ends stand for all beyond"
    )
    return Evidence(float(found.statistic), float(found.pvalue), 0, method, convention, behind, few)
