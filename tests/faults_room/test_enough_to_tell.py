"""The thresholds of "too few to tell", computed again from the power they stand for."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from register.faults import enough
from register.faults.alike import compare_units
from register.faults.cumulative import estimate_cumulative
from register.faults.drift import Reading, estimate_drift
from register.faults.lives import estimate_survival, make_life
from register.faults.rates import estimate_rate, estimate_time_between
from register.faults.trend import assess_reversals, assess_trend, estimate_growth
from register.faults.two_rates import compare_rates
from register.faults.watches import make_watch
from register.faults.weibull import fit_weibull

DRAWN = 60_000


def power_of_laplace(events: int) -> float:
    """How often Laplace finds a rate that grows in proportion to use, by drawing."""
    ages = np.sqrt(np.random.default_rng(events).random((DRAWN, events)))
    z = np.sqrt(12 * events) * (ages.mean(axis=1) - 0.5)
    return float((np.abs(z) > stats.norm.ppf(0.975)).mean())


def power_of_mann_kendall(readings: int) -> float:
    """How often the exact test finds a drift of three times the scatter, by drawing."""
    rng = np.random.default_rng(readings)
    values = np.linspace(0, enough.EFFECT, readings) + rng.standard_normal((DRAWN, readings))
    score = np.zeros(DRAWN)
    for later in range(readings):
        for earlier in range(later):
            score += np.sign(values[:, later] - values[:, earlier])
    pairs = readings * (readings - 1) // 2
    critical = next(
        least
        for least in range(pairs % 2, pairs + 1, 2)
        if stats.kendalltau(range(readings), order_with(readings, least), method="exact").pvalue
        <= 0.05
    )
    return float((np.abs(score) >= critical).mean())


def order_with(size: int, score: int) -> list[int]:
    """An order of so many values with a given score: the largest are moved forward as needed."""
    wrong = (size * (size - 1) // 2 - score) // 2
    order: list[int] = []
    for value in range(size):
        moved = min(wrong, value)
        wrong -= moved
        order.insert(value - moved, value)
    return order


def test_growth_of_the_effect_puts_three_of_four_in_the_second_half() -> None:
    assert 0.5**enough.GROWTH == 1 / (1 + enough.EFFECT)


def test_trend_threshold_is_the_least_at_which_both_tests_find_more_than_they_miss() -> None:
    least = enough.TREND_EVENTS
    assert enough.power_of_trend(least) > enough.ENOUGH_POWER < power_of_laplace(least)
    one_less = min(enough.power_of_trend(least - 1), power_of_laplace(least - 1))
    assert one_less < enough.ENOUGH_POWER


def test_eight_events_are_not_a_trend() -> None:
    assert enough.power_of_trend(8) < 0.4
    assert power_of_laplace(8) < 0.4


@pytest.mark.parametrize("events", [3, 8, 12, 20])
@pytest.mark.parametrize("growth", [0.5, 1.0, 2.0, 3.0])
def test_power_of_the_handbook_by_scipy(events: int, growth: float) -> None:
    law = stats.chi2(2 * events)
    expected = law.cdf(growth * law.ppf(0.025)) + law.sf(growth * law.ppf(0.975))
    assert enough.power_of_trend(events, growth) == pytest.approx(expected, rel=1e-8)


def test_rate_threshold_is_a_factor_of_three_either_way() -> None:
    def reach(count: int) -> float:
        figure = estimate_rate(count, 1.0)
        assert figure.value is not None
        assert figure.low is not None
        assert figure.high is not None
        return max(figure.value / figure.low, figure.high / figure.value)

    assert reach(enough.RATE_EVENTS) <= enough.EFFECT < reach(enough.RATE_EVENTS - 1)


def test_reading_threshold_is_the_least_at_which_a_drift_is_found_more_than_missed() -> None:
    assert power_of_mann_kendall(enough.READINGS) > enough.ENOUGH_POWER
    assert power_of_mann_kendall(enough.READINGS - 1) < enough.ENOUGH_POWER


@pytest.mark.parametrize("share", [0.2, 0.5, 0.7])
@pytest.mark.parametrize("events", [6, 17, 30])
def test_power_of_two_rates_by_scipy(events: int, share: float) -> None:
    counts = range(events + 1)
    refused = [
        2
        * min(
            stats.binom.cdf(count, events, share),
            stats.binom.sf(count - 1, events, share),
        )
        <= 0.05
        for count in counts
    ]
    powers = [
        sum(
            stats.binom.pmf(counts, events, share * up / (share * up + (1 - share) * down))[refused]
        )
        for up, down in ((3, 1), (1, 3))
    ]
    assert enough.power_of_two_rates(events, share) == pytest.approx(min(powers), rel=1e-8)


def test_two_equal_seasons_need_twenty_events() -> None:
    needed = [events for events in range(40) if enough.enough_for_two_rates(events, 0.5)]
    assert needed == list(range(20, 40))


@pytest.mark.parametrize("units", [2, 3, 5, 8])
def test_power_of_unlike_by_drawing(units: int) -> None:
    """At the least number that is enough: the odd one, and the whole fleet's dispersion as well."""
    events = next(number for number in range(100) if enough.enough_for_unlike(number, units))
    real = np.full(units, 1 / (units + 2))
    real[0] = 3 / (units + 2)
    drawn = np.random.default_rng(units).multinomial(events, real, DRAWN)
    p = [
        2
        * min(
            stats.binom.cdf(count, events, 1 / units), stats.binom.sf(count - 1, events, 1 / units)
        )
        for count in range(events + 1)
    ]
    found = float((np.array(p)[drawn[:, 0]] <= 0.05 / units).mean())
    assert enough.power_of_unlike(events, units) == pytest.approx(found, abs=0.01)
    expected = events / units
    dispersion = ((drawn - expected) ** 2 / expected).sum(axis=1)
    refused = float((dispersion > stats.chi2.ppf(0.95, units - 1)).mean())
    assert refused > enough.ENOUGH_POWER


def test_every_estimator_says_when_it_has_too_few() -> None:
    """One below its threshold and at it."""
    few, many = enough.RATE_EVENTS - 1, enough.RATE_EVENTS
    assert (estimate_rate(few, 9).too_few, estimate_rate(many, 9).too_few) == (True, False)
    assert estimate_time_between(few, 9).too_few
    assert not estimate_time_between(many, 9).too_few
    for events, too_few in ((enough.TREND_EVENTS - 1, True), (enough.TREND_EVENTS, False)):
        watch = make_watch(range(1, events + 1), 50)
        trend, growth = assess_trend([watch]), estimate_growth(watch)
        assert growth is not None
        assert {trend.laplace.too_few, trend.handbook.too_few} == {too_few}
        assert growth.power.too_few == too_few
        assert assess_reversals(range(1, events + 1)).too_few == too_few
        fit = fit_weibull([make_life(age, True) for age in watch.times])
        assert fit is not None
        assert fit.shape.too_few == too_few
    for count, too_few in ((few, True), (many, False)):
        lives = [make_life(age, True) for age in range(1, count + 1)]
        assert estimate_survival(lives).too_few == too_few
    for size, too_few in ((enough.READINGS - 1, True), (enough.READINGS, False)):
        readings = [Reading(at, float(at)) for at in range(size)]
        assert estimate_drift(readings).slope.too_few == too_few
    assert compare_rates((4, 10), (15, 10)).conditional.too_few
    assert not compare_rates((4, 10), (16, 10)).conditional.too_few
    assert compare_units([1, 2, 3], [9.0] * 3).ratio_test.too_few
    assert not compare_units([10, 12, 30], [9.0] * 3).ratio_test.too_few
    for count, too_few in ((few, True), (many, False)):
        three = [make_watch(range(1, count + 1), 9), make_watch([], 9), make_watch([], 9)]
        assert estimate_cumulative(three).too_few == too_few
    two = [make_watch([1, 2, 3, 4], 9), make_watch([5, 6, 7], 9)]
    assert estimate_cumulative(two).too_few
    assert not estimate_cumulative([*two, make_watch([], 9)]).too_few
