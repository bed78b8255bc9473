"""Limits hold what they say, and tests refuse no more than they say, over many drawn fleets.

What is a finite sum is summed, not drawn. The rest is drawn: a short run always, a long one with
`pytest -m heavy`. A run of n draws may fall short of its level by four standard errors of it.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import pytest
from faults_room.draws import draw_lives, draw_steady
from scipy import stats  # type: ignore[import-untyped]

from register.faults.alike import compare_units
from register.faults.chances import poisson_at_most
from register.faults.cumulative import estimate_cumulative
from register.faults.drift import Reading, estimate_drift, project_crossing
from register.faults.lives import estimate_failed_at
from register.faults.rates import estimate_rate, estimate_time_between
from register.faults.results import Figure
from register.faults.trend import assess_trend, estimate_growth
from register.faults.two_rates import compare_rates
from register.faults.watches import make_gapped_watch, make_watch
from register.faults.weibull import estimate_failed_by, fit_weibull

SHORT, LONG = 400, 10_000
RUNS = [
    pytest.param(SHORT, id="short"),
    pytest.param(LONG, id="long", marks=pytest.mark.heavy),
]
SMALL_MEANS = (0.05, 0.1, 0.3, 0.5, 1.0, 1.5, 2.0, 3.0, 3.7, 5.0, 7.5, 10.0, 15.0)


def holds(figure: Figure, truth: float) -> bool:
    """Whether the truth lies within the limits; an open side is no limit."""
    above = figure.low is None or figure.low <= truth
    return above and (figure.high is None or truth <= figure.high)


def slack(chance: float, drawn: int) -> float:
    """Four standard errors of a share of so many draws."""
    return 4 * math.sqrt(chance * (1 - chance) / drawn)


def share_of(drawn: int, draw: Callable[[random.Random], bool], start: int = 1) -> float:
    """In what share of draws something holds."""
    rng = random.Random(start)
    return sum(draw(rng) for _ in range(drawn)) / drawn


@pytest.mark.parametrize("level", [0.8, 0.9, 0.95])
@pytest.mark.parametrize("mean", SMALL_MEANS)
def test_exact_limits_of_a_rate_hold_their_level(mean: float, level: float) -> None:
    """Summed over every count that can happen."""
    held = 0.0
    for count in range(80):
        if holds(estimate_rate(count, 1.0, level), mean):
            held += poisson_at_most(count, mean) - poisson_at_most(count - 1, mean)
    assert held >= level - 1e-9


@pytest.mark.parametrize("mean", [1.0, 3.0, 6.0])
@pytest.mark.parametrize("times", [1.0, 2.0])
def test_conditional_test_and_ratio_hold_their_level(mean: float, times: float) -> None:
    """Summed over every pair of counts; the second rate is `times` the first."""
    held = refused = eagerly = 0.0
    for first in range(25):
        for second in range(40):
            chance = stats.poisson.pmf(first, mean) * stats.poisson.pmf(second, mean * times)
            if chance < 1e-7:
                held += chance
                continue
            found = compare_rates((first, 1.0), (second, 1.0))
            held += chance * holds(found.ratio, 1 / times)
            p, eager = found.conditional.p, found.unconditional.p
            refused += chance * (p is not None and p <= 0.05)
            eagerly += chance * (eager is not None and eager <= 0.05)
    assert held >= 0.95 - 1e-4
    if times == 1:
        assert refused <= 0.05 + 1e-9
        # The E-test finds more, and may be a little too eager: by no more than this.
        assert refused <= eagerly <= 0.055


@pytest.mark.parametrize("drawn", RUNS)
@pytest.mark.parametrize("mean", [1.0, 4.0, 12.0])
def test_time_between_holds_its_level(mean: float, drawn: int) -> None:
    def by_time(rng: random.Random) -> bool:
        return holds(estimate_time_between(len(draw_steady(rng, 1.0, mean)), mean), 1.0)

    def by_failure(rng: random.Random) -> bool:
        count = max(1, round(mean))
        total = sum(rng.expovariate(1.0) for _ in range(count))
        return holds(estimate_time_between(count, total, "failure"), 1.0)

    assert share_of(drawn, by_time) >= 0.95 - slack(0.95, drawn)
    # Ended by failure the limits are exact: no more than their level either.
    assert abs(share_of(drawn, by_failure) - 0.95) <= slack(0.95, drawn)


@pytest.mark.parametrize("drawn", RUNS)
@pytest.mark.parametrize("mean", [4.0, 12.0, 30.0])
@pytest.mark.parametrize("ended_by", ["time", "failure"])
def test_trend_tests_keep_their_level_without_a_trend(
    ended_by: str, mean: float, drawn: int
) -> None:
    rng = random.Random(int(mean))
    refused = [0, 0]
    tried = 0
    for _ in range(drawn):
        if ended_by == "time":
            watch = make_watch(draw_steady(rng, 1.0, mean), mean)
        else:
            watch = make_gapped_watch([rng.expovariate(1.0) for _ in range(int(mean))])
        trend = assess_trend([watch])
        if trend.laplace.p is None or trend.handbook.p is None:
            continue
        tried += 1
        refused[0] += trend.laplace.p <= 0.05
        refused[1] += trend.handbook.p <= 0.05
    assert tried > 0.9 * drawn
    for count in refused:
        assert count / tried <= 0.05 + slack(0.05, tried)
    # The handbook's is exact: it refuses no less than it says.
    assert refused[1] / tried >= 0.05 - slack(0.05, tried)


@pytest.mark.parametrize("drawn", RUNS)
def test_pooled_trend_tests_keep_their_level(drawn: int) -> None:
    """Aircraft of differing rates and ends, pooled; one rate for all is not asked."""

    rng = random.Random(1)
    refused = [0, 0]
    for _ in range(drawn):
        watches = [
            make_watch(draw_steady(rng, rate, end), end)
            for rate, end in ((0.02, 100), (0.1, 40), (0.05, 150))
        ]
        trend = assess_trend(watches)
        for place, test in enumerate((trend.laplace, trend.handbook)):
            refused[place] += test.p is not None and test.p <= 0.05
    assert max(refused) / drawn <= 0.05 + slack(0.05, drawn)


@pytest.mark.parametrize("drawn", RUNS)
@pytest.mark.parametrize("flights", [30, 120])
def test_faults_found_on_whole_flights_keep_the_level_too(flights: int, drawn: int) -> None:
    """Placed half a flight back, several on one flight tied: as `faults` places them."""
    rng = random.Random(flights)
    refused = [0, 0]
    tried = 0
    for _ in range(drawn):
        flown = [n for n in range(1, flights + 1) for _ in range(draw_few(rng, 14 / flights))]
        if not flown:
            continue
        tried += 1
        trend = assess_trend([make_watch([n - 0.5 for n in flown], flights)])
        for place, test in enumerate((trend.laplace, trend.handbook)):
            refused[place] += test.p is not None and test.p <= 0.05
    assert max(refused) / tried <= 0.05 + slack(0.05, tried)


def draw_few(rng: random.Random, mean: float) -> int:
    """A Poisson count."""
    return len(draw_steady(rng, mean, 1.0))


@pytest.mark.parametrize("drawn", RUNS)
def test_growth_limits_hold_their_level(drawn: int) -> None:
    def held(rng: random.Random) -> bool:
        growth = estimate_growth(make_watch([100 * rng.random() ** 0.5 for _ in range(8)], 100))
        return growth is not None and holds(growth.power, 2.0)

    assert abs(share_of(drawn, held) - 0.95) <= slack(0.95, drawn)


@pytest.mark.parametrize("drawn", RUNS)
@pytest.mark.parametrize("units", [3, 5, 8])
def test_mean_cumulative_limits_of_a_handful_of_aircraft(units: int, drawn: int) -> None:
    """Approximate: within two hundredths of 95 %, with bunched and with even faults."""
    rng = random.Random(units)
    held = tried = 0
    for number in range(drawn):
        rates = [(rng.gammavariate(2, 0.5) if number % 2 else 1.0) * 0.05 for _ in range(units)]
        watches = [make_watch(draw_steady(rng, rate, 100), 100) for rate in rates]
        step = estimate_cumulative(watches).step_at(100)
        if step is None or step.low is None or step.high is None:
            continue
        tried += 1
        held += step.low <= 5 <= step.high
    assert tried > 0.95 * drawn
    assert held / tried >= 0.93 - slack(0.93, tried)


@pytest.mark.parametrize("drawn", RUNS)
def test_fleet_test_keeps_its_level(drawn: int) -> None:
    """Exact, over few events and unequal use."""

    def refuses(rng: random.Random) -> bool:
        exposures = [30.0, 60.0, 60.0, 110.0]
        counts = [len(draw_steady(rng, 0.02, exposure)) for exposure in exposures]
        p = compare_units(counts, exposures).ratio_test.p
        return p is not None and p <= 0.05

    drawn = min(drawn, 2000)
    assert share_of(drawn, refuses) <= 0.05 + slack(0.05, drawn)


@pytest.mark.parametrize("drawn", RUNS)
def test_share_failed_at_an_interval(drawn: int) -> None:
    """Approximate, both ways: 40 parts, some suspended, some entering late; at least 92 %."""
    truth = 1 - math.exp(-((60 / 100) ** 2))
    drawn = min(drawn, 2000)
    rng = random.Random(5)
    held = [0, 0]
    for _ in range(drawn):
        lives = draw_lives(rng, 40, rounded=False)
        fit = fit_weibull(lives)
        assert fit is not None
        held[0] += holds(estimate_failed_at(lives, 60), truth)
        held[1] += holds(estimate_failed_by(fit, 60), truth)
    for count in held:
        assert count / drawn >= 0.92 - slack(0.92, drawn)


@pytest.mark.parametrize("drawn", RUNS)
@pytest.mark.parametrize("size", [7, 12])
def test_drift_limits_and_test_hold_their_level(size: int, drawn: int) -> None:
    """Uneven places, normal scatter; Sen's ranks hold somewhat more than they say."""
    drawn = min(drawn, 4000)
    rng = random.Random(size)
    held = refused = 0
    for _ in range(drawn):
        places = [rng.uniform(0, 100) for _ in range(size)]
        readings = [Reading(at, 0.03 * at + rng.gauss(0, 1)) for at in places]
        held += holds(estimate_drift(readings).slope, 0.03)
        flat = [Reading(one.at, one.value - 0.03 * one.at) for one in readings]
        p = estimate_drift(flat).test.p
        refused += p is not None and p <= 0.05
    assert held / drawn >= 0.95 - slack(0.95, drawn)
    assert refused / drawn <= 0.05 + slack(0.05, drawn)


@pytest.mark.parametrize("drawn", RUNS)
@pytest.mark.parametrize("size", [9, 15])
def test_range_of_a_crossing(size: int, drawn: int) -> None:
    """Approximate, for the scatter of the line's height is left out: at least 92 % at 95 %."""

    def held(rng: random.Random) -> bool:
        places = [rng.uniform(0, 100) for _ in range(size)]
        readings = [Reading(at, 0.05 * at + rng.gauss(0, 1)) for at in places]
        return holds(project_crossing(readings, 7, "most").at, 140)

    drawn = min(drawn, 4000)
    assert share_of(drawn, held) >= 0.92 - slack(0.92, drawn)
