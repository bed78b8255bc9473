"""Two rates and a whole fleet, against scipy and statsmodels."""

from __future__ import annotations

import random
import warnings
from itertools import product

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]
from statsmodels.stats.rates import test_poisson_2indep as poisson_2indep  # type: ignore[import-untyped]

from register.faults.alike import compare_gaps, compare_units
from register.faults.two_rates import compare_rates

DRAWS = range(30)


def draw_pair(draw: int) -> tuple[tuple[int, float], tuple[int, float]]:
    """Two counts, small ones often, with unequal exposure."""
    rng = random.Random(draw)
    most = rng.choice((3, 10, 60))
    first = (rng.randint(0, most), rng.uniform(20, 300))
    return first, (rng.randint(1, most), rng.uniform(20, 300))


@pytest.mark.parametrize("draw", DRAWS)
def test_conditional_test_and_limits_by_scipy(draw: int) -> None:
    first, second = draw_pair(draw)
    events, share = first[0] + second[0], first[1] / (first[1] + second[1])
    likely = compare_rates(first, second, sided="minimum likelihood")
    by_scipy = stats.binomtest(first[0], events, share)
    assert likely.conditional.p == pytest.approx(by_scipy.pvalue, rel=1e-9)
    central = compare_rates(first, second)
    tails = [stats.binomtest(first[0], events, share, side).pvalue for side in ("less", "greater")]
    assert central.conditional.p == pytest.approx(min(1.0, 2 * min(tails)), rel=1e-9)
    low, high = by_scipy.proportion_ci(0.95, method="exact")
    scale = second[1] / first[1]
    assert central.ratio.low == pytest.approx(low / (1 - low) * scale, rel=1e-8)
    assert central.ratio.high == pytest.approx(high / (1 - high) * scale, rel=1e-8)


@pytest.mark.parametrize("draw", DRAWS)
def test_e_test_by_scipy_and_statsmodels(draw: int) -> None:
    first, second = draw_pair(draw)
    found = compare_rates(first, second).unconditional
    by_scipy = stats.poisson_means_test(first[0], first[1], second[0], second[1])
    assert found.p == pytest.approx(by_scipy.pvalue, abs=1e-8)
    by_other = poisson_2indep(
        first[0], first[1], second[0], second[1], method="etest-wald", compare="diff"
    )
    assert found.p == pytest.approx(by_other.pvalue, abs=1e-6)


@pytest.mark.parametrize("draw", DRAWS)
def test_central_limits_and_test_agree(draw: int) -> None:
    first, second = draw_pair(draw)
    found = compare_rates(first, second)
    assert found.conditional.p is not None
    assert found.ratio.low is not None
    apart = found.ratio.low > 1 or (found.ratio.high is not None and found.ratio.high < 1)
    assert apart == (found.conditional.p < 0.05)
    turned = compare_rates(second, first)
    assert turned.conditional.p == pytest.approx(found.conditional.p)
    assert turned.unconditional.p == pytest.approx(found.unconditional.p)
    assert turned.conditional.direction == -found.conditional.direction


@pytest.mark.parametrize("events", range(3, 60))
def test_equal_exposures_leave_one_two_sided_chance(events: int) -> None:
    """Counts that mirror each other are equally likely, whatever rounding makes of them."""
    for count in range(events // 2):
        sides = (count, 70.0), (events - count, 70.0)
        likely = compare_rates(*sides, sided="minimum likelihood").conditional.p
        assert likely == pytest.approx(compare_rates(*sides).conditional.p, rel=1e-9)


def test_nothing_happened_to_either() -> None:
    found = compare_rates((0, 10), (0, 20))
    assert (found.conditional.p, found.unconditional.p) == (None, None)
    assert (found.ratio.value, found.ratio.low, found.ratio.high) == (None, 0.0, None)
    assert found.conditional.too_few
    assert found.conditional.direction == 0


def test_only_one_had_any() -> None:
    found = compare_rates((5, 10), (0, 10))
    assert (found.ratio.value, found.ratio.high) == (None, None)
    assert found.ratio.low is not None
    assert found.ratio.low > 0
    assert compare_rates((0, 10), (5, 10)).ratio.low == 0


def test_beyond_reach_only_the_conditional_test_stands() -> None:
    found = compare_rates((40_000, 1000.0), (42_000, 1000.0))
    assert found.unconditional.p is None
    assert "not summed" in found.unconditional.convention
    assert found.conditional.p is not None
    assert found.conditional.p < 1e-6


def test_large_counts_stay_within_reach() -> None:
    """scipy may lose the seen pair of counts or its mirror to rounding; both are as far out."""
    found = compare_rates((2000, 1000.0), (2200, 1000.0)).unconditional
    expected = stats.poisson_means_test(2000, 1000, 2200, 1000).pvalue
    mirrored = stats.poisson.pmf(2000, 2100) * stats.poisson.pmf(2200, 2100)
    assert found.p is not None
    assert -1e-9 <= found.p - expected <= 2 * mirrored + 1e-9


@pytest.mark.parametrize(("first", "second"), [((-1, 5.0), (1, 5.0)), ((1, 0.0), (1, 5.0))])
def test_slips_of_two_rates(first: tuple[int, float], second: tuple[int, float]) -> None:
    with pytest.raises(ValueError, match="0 or more"):
        compare_rates(first, second)


@pytest.mark.parametrize("draw", range(12))
def test_fleet_exact_by_every_split(draw: int) -> None:
    """The exact chance, by scipy's multinomial over every way to share the events out."""
    rng = random.Random(draw)
    units, events = rng.randint(2, 4), rng.randint(1, 9)
    exposures = [rng.choice((50.0, 50.0, 80.0, 130.0)) for _ in range(units)]
    shares = np.array(exposures) / sum(exposures)
    counts = np.random.default_rng(draw).multinomial(events, shares)

    def ratio(split: np.ndarray) -> float:
        return float(stats.power_divergence(split, shares * events, lambda_=0).statistic)

    splits = [
        np.array(split)
        for split in product(range(events + 1), repeat=units)
        if sum(split) == events
    ]
    seen = ratio(counts)
    expected = sum(
        stats.multinomial.pmf(split, events, shares)
        for split in splits
        if ratio(split) >= seen - 1e-6
    )
    found = compare_units(counts.tolist(), exposures)
    assert found.ratio_test.statistic == pytest.approx(seen, abs=1e-9)
    assert found.ratio_test.p == pytest.approx(expected, abs=1e-9)
    assert "exact" in found.ratio_test.method


@pytest.mark.parametrize("draw", DRAWS)
def test_large_fleet_by_chi_square(draw: int) -> None:
    rng = random.Random(draw)
    exposures = [rng.uniform(50, 300) for _ in range(8)]
    counts = [rng.randint(3, 30) for _ in exposures]
    expected = np.array(exposures) / sum(exposures) * sum(counts)
    found = compare_units(counts, exposures)
    for evidence, power in ((found.ratio_test, 0), (found.dispersion, 1)):
        by_scipy = stats.power_divergence(counts, expected, lambda_=power)
        assert evidence.statistic == pytest.approx(by_scipy.statistic, rel=1e-9)
        assert evidence.p == pytest.approx(by_scipy.pvalue, rel=1e-9)
        assert "approximate" in evidence.convention
    assert "7 degrees" in found.ratio_test.method


def test_the_odd_one_is_named_and_pays_for_being_picked() -> None:
    found = compare_units([4, 5, 19, 3], [100.0, 100.0, 100.0, 100.0])
    assert found.oddest is not None
    assert found.oddest.unit == 2
    assert found.oddest.against_rest.conditional.direction == 1
    alone = found.oddest.against_rest.conditional.p
    assert alone is not None
    assert found.oddest.p == pytest.approx(4 * alone)
    assert not found.ratio_test.too_few


@pytest.mark.parametrize("draw", DRAWS)
def test_the_oddest_by_scipy(draw: int) -> None:
    """The smallest binomial chance of each aircraft against all the others, times the aircraft."""
    rng = random.Random(draw)
    counts = [rng.choice((0, 1, 3, 9, 20)) for _ in range(rng.randint(2, 9))]
    counts[0] += 1
    exposures = [rng.uniform(20, 200) for _ in counts]
    alone = []
    for count, exposure in zip(counts, exposures, strict=True):
        share = exposure / sum(exposures)
        tails = [
            stats.binomtest(count, sum(counts), share, side).pvalue for side in ("less", "greater")
        ]
        alone.append(min(1.0, 2 * min(tails)))
    odd = compare_units(counts, exposures).oddest
    assert odd is not None
    assert alone[odd.unit] == pytest.approx(min(alone), rel=1e-9)
    assert odd.p == pytest.approx(min(1.0, min(alone) * len(counts)), rel=1e-9)
    unit = odd.unit
    rest = (sum(counts) - counts[unit], sum(exposures) - exposures[unit])
    expected = compare_rates((counts[unit], exposures[unit]), rest)
    found = odd.against_rest.ratio
    for one, other in (
        (found.value, expected.ratio.value),
        (found.low, expected.ratio.low),
        (found.high, expected.ratio.high),
    ):
        assert one == (None if other is None else pytest.approx(other, rel=1e-9))
    assert odd.against_rest.conditional.direction == expected.conditional.direction


def test_bartletts_correction_brings_the_mean_of_its_chi_square() -> None:
    """Of gaps alike, the plain ratio lies above its degrees of freedom on average, this one not."""
    rng = np.random.default_rng(7)
    plain, corrected = [], []
    for _ in range(800):
        found = compare_gaps([rng.exponential(1.0, 2).tolist() for _ in range(4)])
        plain.append(found.means.statistic)
        corrected.append(found.corrected.statistic)
    error = np.sqrt(2 * 3 / len(plain))
    assert np.mean(plain) > 3 + 2 * error
    assert abs(np.mean(corrected) - 3) < 2 * error


def test_a_fleet_with_nothing_to_compare() -> None:
    found = compare_units([0, 0], [10.0, 20.0])
    assert (found.ratio_test.p, found.dispersion.p, found.oddest) == (None, None, None)
    with pytest.raises(ValueError, match="two units"):
        compare_units([1], [10.0])
    with pytest.raises(ValueError, match="0 or more"):
        compare_units([1, 2], [10.0, 0.0])


@pytest.mark.parametrize("draw", DRAWS)
def test_gaps_of_a_fleet(draw: int) -> None:
    """Means by scipy's chi-square of the counts against their totals; ranks by their own sums."""
    rng = random.Random(draw)
    samples = [
        [float(rng.randint(1, 40)) for _ in range(rng.randint(2, 12))]
        for _ in range(rng.randint(2, 6))
    ]
    found = compare_gaps(samples)
    sizes, totals = list(map(len, samples)), np.array([sum(sample) for sample in samples])
    means = stats.power_divergence(sizes, totals / totals.sum() * sum(sizes), lambda_=0)
    assert found.means.statistic == pytest.approx(means.statistic, rel=1e-9)
    assert found.means.p == pytest.approx(means.pvalue, rel=1e-9)
    assert found.corrected.statistic < found.means.statistic
    assert "Bartlett" in found.corrected.convention
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        table = stats.anderson_ksamp(samples, variant="midrank")
    assert found.anderson_darling.statistic == pytest.approx(table.statistic)


def test_equal_gaps_and_slips() -> None:
    found = compare_gaps([[5.0, 5.0], [5.0, 5.0, 5.0]]).anderson_darling
    assert found.p is None
    assert found.too_few
    for samples in ([[1.0]], [[1.0], []], [[1.0], [0.0]]):
        with pytest.raises(ValueError, match="two units or more"):
            compare_gaps(samples)
