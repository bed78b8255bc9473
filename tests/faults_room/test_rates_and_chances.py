"""Rates, times between and the sums behind them, against scipy and statsmodels."""

from __future__ import annotations

import math
import random

import pytest
from scipy import stats  # type: ignore[import-untyped]
from statsmodels.stats.rates import confint_poisson  # type: ignore[import-untyped]

from register.faults import chances
from register.faults.rates import estimate_rate, estimate_time_between, lower_time_between

DRAWS = range(40)


@pytest.mark.parametrize("draw", DRAWS)
def test_poisson_and_chi_square_sums(draw: int) -> None:
    """To eleven figures where the chance is one, and to nine of its own where it is small."""
    rng = random.Random(draw)
    mean = 10 ** rng.uniform(-2, 4)
    count = int(rng.uniform(0, 2) * mean) + rng.randint(0, 5)
    at_most, at_least = stats.poisson.cdf(count, mean), stats.poisson.sf(count - 1, mean)
    assert chances.poisson_at_most(count, mean) == pytest.approx(at_most, rel=1e-9, abs=1e-290)
    assert chances.poisson_at_least(count, mean) == pytest.approx(at_least, rel=1e-9, abs=1e-290)
    pairs = count + 1
    below = stats.chi2.cdf(2 * mean, 2 * pairs)
    above = stats.chi2.sf(2 * mean, 2 * pairs)
    assert chances.chi_square_below(2 * mean, pairs) == pytest.approx(below, rel=1e-9, abs=1e-290)
    assert chances.chi_square_above(2 * mean, pairs) == pytest.approx(above, rel=1e-9, abs=1e-290)
    chance = rng.uniform(0.001, 0.999)
    expected = stats.chi2.ppf(chance, 2 * pairs)
    assert chances.chi_square_quantile(chance, pairs) == pytest.approx(expected, rel=1e-10)


def test_sums_at_their_ends() -> None:
    assert chances.poisson_at_most(-1, 3) == 0
    assert chances.poisson_at_most(0, 0) == 1
    assert chances.poisson_at_least(0, 0) == 1
    assert chances.poisson_at_least(1, 0) == 0
    assert chances.poisson_at_most(5, 1e6) == 0
    assert chances.normal_two_sided(1.959963984540054) == pytest.approx(0.05)
    assert chances.two_sided_z(0.95) == pytest.approx(1.959963984540054)


@pytest.mark.parametrize("draw", DRAWS)
def test_binomial_chances(draw: int) -> None:
    rng = random.Random(draw)
    trials, chance = rng.randint(0, 300), rng.uniform(0.01, 0.99)
    expected = stats.binom.pmf(range(trials + 1), trials, chance)
    assert chances.binomial_chances(trials, chance) == pytest.approx(expected.tolist(), rel=1e-9)


@pytest.mark.parametrize("draw", DRAWS)
def test_rate_with_exact_limits(draw: int) -> None:
    rng = random.Random(draw)
    count, exposure = rng.randint(0, 60), rng.uniform(10, 1000)
    level = rng.choice((0.8, 0.9, 0.95, 0.99))
    found = estimate_rate(count, exposure, level, per=100)
    low, high = confint_poisson(count, exposure / 100, method="exact-c", alpha=1 - level)
    # The library says nan where nothing happened; the limit is 0.
    assert found.low == pytest.approx(0.0 if math.isnan(low) else low, rel=1e-9)
    assert found.high == pytest.approx(high, rel=1e-9)
    assert found.value == pytest.approx(100 * count / exposure)
    assert (found.behind.events, found.behind.exposure) == (count, exposure)


@pytest.mark.parametrize("draw", DRAWS)
def test_time_between_with_chi_square_limits(draw: int) -> None:
    rng = random.Random(draw)
    count, exposure = rng.randint(1, 40), rng.uniform(10, 1000)
    level = rng.choice((0.8, 0.9, 0.95))
    alpha = (1 - level) / 2
    high = 2 * exposure / stats.chi2.ppf(alpha, 2 * count)
    by_time = estimate_time_between(count, exposure, "time", level)
    by_failure = estimate_time_between(count, exposure, "failure", level)
    assert by_time.low == pytest.approx(
        2 * exposure / stats.chi2.ppf(1 - alpha, 2 * count + 2), rel=1e-9
    )
    assert by_failure.low == pytest.approx(
        2 * exposure / stats.chi2.ppf(1 - alpha, 2 * count), rel=1e-9
    )
    assert by_time.high == pytest.approx(high, rel=1e-9)
    assert by_failure.high == pytest.approx(high, rel=1e-9)


@pytest.mark.parametrize("draw", DRAWS)
def test_one_sided_limit_by_scipy(draw: int) -> None:
    rng = random.Random(draw)
    count, exposure = rng.randint(1, 40), rng.uniform(10, 1000)
    level = rng.choice((0.8, 0.9, 0.95))
    for ended, degrees in (("time", 2 * count + 2), ("failure", 2 * count)):
        expected = 2 * exposure / stats.chi2.ppf(level, degrees)
        found = lower_time_between(count, exposure, "time" if ended == "time" else "failure", level)
        assert found == pytest.approx(expected, rel=1e-9)


def test_nothing_seen_is_not_nothing() -> None:
    rate = estimate_rate(0, 50)
    assert (rate.value, rate.low) == (0, 0)
    assert rate.high == pytest.approx(3.68888 / 50, abs=1e-6)
    between = estimate_time_between(0, 50)
    assert between.value is None
    assert between.high is None
    assert between.low == pytest.approx(50 / 3.68888, rel=1e-5)
    assert rate.too_few
    assert between.too_few


def test_without_exposure_there_is_no_figure() -> None:
    for figure in (estimate_rate(2, 0), estimate_time_between(2, 0)):
        assert (figure.value, figure.low, figure.high) == (None, None, None)
        assert figure.convention == "no exposure"
        assert figure.too_few


def test_slips_are_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        estimate_rate(-1, 5)
    with pytest.raises(ValueError, match="negative"):
        estimate_time_between(1, -5)
    with pytest.raises(ValueError, match="has one"):
        estimate_time_between(0, 5, "failure")
    with pytest.raises(ValueError, match="between 0 and 1"):
        estimate_rate(1, 5, level=95)


def test_method_and_convention_are_named() -> None:
    rate = estimate_rate(7, 100)
    assert "Garwood" in rate.method
    assert "central" in rate.convention
    assert not rate.too_few
    assert "upper limit" in estimate_rate(0, 100).convention
    assert lower_time_between(3, 100) < 100 / 3
