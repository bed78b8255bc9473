"""Is it getting worse: the Laplace and military-handbook tests, always together, and the growth.

Both ask whether events come steadily. Laplace looks at where their middle lies and suits a rate
that changes evenly; the handbook's (MIL-HDBK-189) weighs the early events and suits a rate that
grows as a power of use. They may disagree on one set of data; both are shown and neither picked.
Several watches (aircraft of a kit, stretches between overhauls) are pooled, each on its own scale.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations, pairwise

from msgspec import Struct

from register.faults.chances import (
    chi_square_above,
    chi_square_below,
    chi_square_quantile,
    normal_two_sided,
    two_sided_z,
)
from register.faults.enough import TREND_EVENTS
from register.faults.orders import EXACT_SIZE, chance_of_so_far
from register.faults.results import LEVEL, Behind, Evidence, Figure, check_level, count_ties
from register.faults.watches import Watch

ENDED = {
    "time": "watch ended by time: every event counts",
    "failure": "watch ended by its last event, which is left out",
    "mixed": "last events are left out where they ended the watch",
}


class Trend(Struct, frozen=True):
    """The two tests, to be shown together with the number of events.

    The direction of each is 1 where events come closer together, -1 where they spread.
    """

    laplace: Evidence
    handbook: Evidence

    @property
    def agree(self) -> bool:
        """Whether both lie on the same side of 5 %."""
        verdicts = {test.p is not None and test.p < 0.05 for test in (self.laplace, self.handbook)}
        return len(verdicts) == 1


def assess_trend(watches: Sequence[Watch]) -> Trend:
    """Both trend tests over one or several watches, two-sided.

    Laplace: the sum of the places against n half watches, over its standard error, as normal.
    Military handbook: twice the sum of ln(length / place), a chi-square with 2n degrees of freedom;
    large where events spread (NIST/SEMATECH e-Handbook 8.2.3.4; MIL-HDBK-189 appendix C). In a
    watch that an event ended, that event is left out and the rest count.
    """
    free = [(watch.length, age) for watch in watches for age in watch.free_ages]
    behind = Behind(
        events=len(free),
        exposure=math.fsum(watch.length for watch in watches),
        units=len(watches),
        ties=sum(count_ties(watch.times) for watch in watches),
    )
    endings = {watch.ended_by for watch in watches}
    convention = ENDED["mixed" if len(endings) > 1 else next(iter(endings), "time")]
    few = len(free) < TREND_EVENTS
    return Trend(
        _laplace(free, f"two-sided normal; {convention}", behind, few),
        _handbook(free, f"two-sided chi-square; {convention}", behind, few),
    )


def _laplace(
    free: list[tuple[float, float]], convention: str, behind: Behind, few: bool
) -> Evidence:
    if not free:
        return Evidence(0.0, None, 0, "Laplace", convention, behind, too_few=True)
    off = math.fsum(age - length / 2 for length, age in free)
    z = off / math.sqrt(math.fsum(length * length for length, _ in free) / 12)
    return Evidence(z, normal_two_sided(z), _sign(z), "Laplace", convention, behind, few)


def _handbook(
    free: list[tuple[float, float]], convention: str, behind: Behind, few: bool
) -> Evidence:
    method = f"military handbook, {2 * len(free)} degrees of freedom"
    if not free:
        return Evidence(0.0, None, 0, method, convention, behind, too_few=True)
    statistic = 2 * math.fsum(math.log(length / age) for length, age in free)
    below = chi_square_below(statistic, len(free))
    above = chi_square_above(statistic, len(free))
    p = min(1.0, 2 * min(below, above))
    return Evidence(statistic, p, _sign(above - below), method, convention, behind, few)


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)


def assess_reversals(gaps: Sequence[float]) -> Evidence:
    """Pairs of gaps of which the later is longer (the reverse arrangement test).

    The statistic is their number; equal gaps are no reversal. One-sided p of so many or more for
    direction -1 (gaps grow), of so few or fewer for 1; exact for gaps that all differ, and with
    equal ones only approximate. (NIST/SEMATECH e-Handbook 8.2.3.4.)
    """
    most = len(gaps) * (len(gaps) - 1) // 2
    reversals = sum(later > earlier for earlier, later in combinations(gaps, 2))
    ties = count_ties(gaps)
    direction = _sign(most / 2 - reversals)
    convention = "one-sided, strictly longer"
    if len(gaps) > EXACT_SIZE:
        convention += ", normal approximation"
    elif not ties:
        convention += ", exact"
    if ties:
        convention += f"; {ties} gaps are equal to another, so p is approximate"
    p = chance_of_so_far(reversals, len(gaps))
    behind = Behind(len(gaps), math.fsum(gaps), ties=ties)
    few = len(gaps) < TREND_EVENTS
    return Evidence(float(reversals), p, direction, "reversals", convention, behind, few)


def gaps_of(watch: Watch) -> tuple[float, ...]:
    """The gaps of a watch, from its start to each event; the open one at its end is none."""
    return tuple(later - earlier for earlier, later in pairwise((0.0, *watch.ages)))


class Growth(Struct, frozen=True):
    """A rate that changes as a power of use: cumulative events are `scale * use ** power`.

    `power` above 1 means events come closer together. `corrected` is the power without its bias,
    and `scale` and `time_between` (at the end of the watch) go with the one named in `basis`.
    """

    power: Figure
    corrected: float
    scale: float
    time_between: Figure
    basis: str


def estimate_growth(watch: Watch, level: float = LEVEL, corrected: bool = True) -> Growth | None:
    """The power law of a watch by maximum likelihood; None with fewer than three free events.

    Limits of the power are from the exact pivot, a chi-square over twice the events: 2n degrees of
    freedom ended by time, 2(n - 1) ended by an event (Crow 1974; not the wider-known
    approximation of growth programs). Limits of the time between are the approximate ones of
    NIST/SEMATECH e-Handbook 8.4.5.2.
    """
    check_level(level)
    count = len(watch.times)
    free = watch.free_ages
    if len(free) < 3:
        return None
    spread = math.fsum(math.log(watch.length / age) for age in free)
    if spread <= 0:
        return None
    power = count / spread
    unbiased = (len(free) - 1) / spread
    used = unbiased if corrected else power
    behind = Behind(count, watch.length, ties=count_ties(watch.times))
    few = count < TREND_EVENTS
    alpha = (1 - level) / 2
    figure = Figure(
        power,
        power * chi_square_quantile(alpha, len(free)) / (2 * count),
        power * chi_square_quantile(1 - alpha, len(free)) / (2 * count),
        level,
        "power law, maximum likelihood",
        f"exact pivot; {ENDED[watch.ended_by]}",
        behind,
        few,
    )
    between = _time_between_at_end(watch.length / (count * used), count, level, behind, few)
    scale = count / watch.length**used
    return Growth(figure, unbiased, scale, between, "corrected" if corrected else "likelihood")


def _time_between_at_end(
    value: float, count: int, level: float, behind: Behind, few: bool
) -> Figure:
    z = two_sided_z(level)
    most = count + z * z / 4 + math.sqrt(count * z * z / 2 + z**4 / 16)
    least = count - z * math.sqrt(count / 2)
    pairs = count * (count - 1)
    return Figure(
        value,
        value * pairs / most**2,
        value * pairs / least**2 if least > 0 else None,
        level,
        "time between at the end of the watch, power law",
        "approximate two-sided limits",
        behind,
        few,
    )
