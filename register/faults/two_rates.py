"""Two aircraft, or two seasons: is one rate higher, and by how much."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from register.faults.chances import binomial_chances
from register.faults.enough import enough_for_two_rates
from register.faults.extra import load_special
from register.faults.results import LEVEL, Behind, Evidence, Figure, check_level

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Sided = Literal["central", "minimum likelihood"]
SIDES = {
    "central": "two-sided, central: twice the smaller tail",
    "minimum likelihood": "two-sided, minimum likelihood: all counts no more likely than this one",
}
SAME = 1e-7
"""Chances nearer than this part of each other are equal: rounding keeps equal ones apart."""


MOST_EVENTS = 5000
"""Beyond, the E-test's sum over all pairs of counts would take too much room; p is None."""


class RateComparison(Struct, frozen=True):
    """The first rate against the second.

    `ratio` is first over second; `conditional` the exact test given the whole count, which is the
    cautious one; `unconditional` the E-test, which finds more and may be a little too eager. The
    direction is 1 where the first rate is the higher.
    """

    ratio: Figure
    conditional: Evidence
    unconditional: Evidence


def compare_rates(
    first: tuple[int, float],
    second: tuple[int, float],
    level: float = LEVEL,
    sided: Sided = "central",
) -> RateComparison:
    """Compare two counts, each with its exposure.

    Given their sum, the first count is binomial with its share of the exposure (Przyborowski &
    Wilenski 1940); limits of the ratio are those of Clopper & Pearson, always central, and agree
    with the test when that is central too. E-test: Krishnamoorthy & Thomson 2004.

    Raises:
        ValueError: a negative count, or exposure that is not above 0.
        RegisterError: scipy is not installed.
    """
    check_level(level)
    if min(first[0], second[0]) < 0 or min(first[1], second[1]) <= 0:
        raise ValueError("counts are 0 or more, and exposures above 0")
    events = first[0] + second[0]
    share = first[1] / (first[1] + second[1])
    behind = Behind(events, first[1] + second[1], units=2)
    few = not events or not enough_for_two_rates(events, share)
    off = first[0] * second[1] - second[0] * first[1]
    direction = (off > 0) - (off < 0)
    conditional = Evidence(
        float(first[0]),
        chance_of_split(first[0], events, share, sided),
        direction,
        "conditional binomial test of two Poisson rates",
        SIDES[sided],
        behind,
        few,
    )
    statistic, p = _unconditional(first, second)
    summed = "two-sided" if events <= MOST_EVENTS else "two-sided; not summed for so many events"
    unconditional = Evidence(
        statistic, p, direction, "E-test of two Poisson rates", summed, behind, few
    )
    return RateComparison(_ratio(first, second, level, behind, few), conditional, unconditional)


def _ratio(
    first: tuple[int, float], second: tuple[int, float], level: float, behind: Behind, few: bool
) -> Figure:
    special = load_special()
    alpha = (1 - level) / 2
    scale = second[1] / first[1]
    low, high = 0.0, None
    if first[0]:
        part = float(special.betaincinv(first[0], second[0] + 1, alpha))
        low = part / (1 - part) * scale
    if second[0]:
        part = float(special.betaincinv(first[0] + 1, second[0], 1 - alpha))
        high = part / (1 - part) * scale
    value = first[0] / second[0] * scale if second[0] else None
    method = "ratio of two Poisson rates, conditional binomial limits (Clopper-Pearson)"
    return Figure(value, low, high, level, method, "central", behind, few)


def chance_of_split(
    count: int, events: int, share: float, sided: Sided = "central"
) -> float | None:
    """The exact two-sided chance that so many events split so unevenly; None without an event.

    `count` of them are the first one's, whose part of the whole exposure is `share`.
    """
    if not events:
        return None
    chances = binomial_chances(events, share)
    if sided == "central":
        return min(1.0, 2 * min(math.fsum(chances[: count + 1]), math.fsum(chances[count:])))
    limit = chances[count] * (1 + SAME)
    return min(1.0, math.fsum(chance for chance in chances if chance <= limit))


def _unconditional(
    first: tuple[int, float], second: tuple[int, float]
) -> tuple[float, float | None]:
    """The E-test's statistic and chance, summed over every pair of counts that can matter."""
    special = load_special()
    import numpy as np  # it comes with scipy

    pooled = (first[0] + second[0]) / (first[1] + second[1])
    if pooled == 0:
        return 0.0, None

    def spread(exposure: float) -> tuple[Floats, Floats]:
        mean = pooled * exposure
        reach = 10 * math.sqrt(mean) + 30
        counts = np.arange(max(0, math.floor(mean - reach)), math.ceil(mean + reach) + 1.0)
        return counts, np.exp(counts * math.log(mean) - mean - special.gammaln(counts + 1))

    def statistic(ones: Floats, twos: Floats) -> Floats:
        off = ones / first[1] - twos / second[1]
        error = np.sqrt(ones / first[1] ** 2 + twos / second[1] ** 2)
        return np.abs(np.divide(off, error, out=np.zeros_like(off), where=error > 0))

    seen = float(statistic(np.array([float(first[0])]), np.array([float(second[0])]))[0])
    if first[0] + second[0] > MOST_EVENTS:
        return seen, None
    ones, one_chances = spread(first[1])
    twos, two_chances = spread(second[1])
    far = statistic(ones[:, None], twos[None, :]) >= seen * (1 - 1e-12)
    return seen, min(1.0, float(one_chances @ far @ two_chances))
