"""Trend tests and growth, against scipy's distributions, brute force and what must hold."""

from __future__ import annotations

import random
from itertools import combinations, permutations

import numpy as np
import pytest
from faults_room.draws import draw_steady
from scipy import optimize, stats  # type: ignore[import-untyped]

from register.faults.orders import chance_of_inversions
from register.faults.trend import assess_reversals, assess_trend, estimate_growth
from register.faults.watches import Watch, make_gapped_watch, make_watch

DRAWS = range(30)


def draw_some(draw: int) -> list[Watch]:
    """One to four watches with events, some ended by the last of them, none at their start."""
    rng = random.Random(draw)
    watches = []
    for _ in range(rng.randint(1, 4)):
        start, length = rng.uniform(0, 50), rng.uniform(50, 200)
        times = [start + time for time in draw_steady(rng, 0.08, length)] or [start + length / 2]
        if rng.random() < 0.4:
            watches.append(make_watch(times, times[-1], start, "failure"))
        else:
            watches.append(make_watch(times, start + length, start))
    return watches


@pytest.mark.parametrize("draw", DRAWS)
def test_both_tests_by_scipy(draw: int) -> None:
    """Places as parts of their watch are uniform: their weighted sum, and their logarithms."""
    watches = draw_some(draw)
    trend = assess_trend(watches)
    parts, lengths = [], []
    for watch in watches:
        kept = watch.times[:-1] if watch.ended_by == "failure" else watch.times
        parts += [(time - watch.start) / (watch.end - watch.start) for time in kept]
        lengths += [watch.end - watch.start] * len(kept)
    uniform = stats.uniform
    z = np.dot(lengths, np.subtract(parts, uniform.mean())) / np.sqrt(
        uniform.var() * np.dot(lengths, lengths)
    )
    assert trend.laplace.statistic == pytest.approx(z, rel=1e-9)
    assert trend.laplace.p == pytest.approx(2 * stats.norm.sf(abs(z)), rel=1e-9)
    statistic = -2 * np.log(parts).sum()
    assert trend.handbook.statistic == pytest.approx(statistic, rel=1e-12)
    law = stats.chi2(2 * len(parts))
    expected = 2 * min(law.cdf(statistic), law.sf(statistic))
    assert trend.handbook.p == pytest.approx(expected, rel=1e-9)
    assert trend.laplace.behind.events == trend.handbook.behind.events == len(parts)


@pytest.mark.parametrize("draw", DRAWS)
def test_both_tests_know_no_unit_and_no_start(draw: int) -> None:
    watches = draw_some(draw)
    moved = [
        make_watch(
            [7 + 3 * time for time in watch.times],
            7 + 3 * watch.times[-1] if watch.ended_by == "failure" else 7 + 3 * watch.end,
            7 + 3 * watch.start,
            watch.ended_by,
        )
        for watch in watches
    ]
    here, there = assess_trend(watches), assess_trend(moved)
    assert here.laplace.statistic == pytest.approx(there.laplace.statistic)
    assert here.handbook.statistic == pytest.approx(there.handbook.statistic)


def test_direction_says_which_way() -> None:
    worse = assess_trend([make_watch([60, 70, 80, 85, 90, 92, 95], 100)])
    better = assess_trend([make_watch([1, 3, 6, 10, 20, 30, 50], 100)])
    assert (worse.laplace.direction, worse.handbook.direction) == (1, 1)
    assert (better.laplace.direction, better.handbook.direction) == (-1, -1)


@pytest.mark.parametrize(
    "watches", [[], [make_watch([], 100)], [make_watch([40], 40, ended_by="failure")]]
)
def test_nothing_to_test(watches: list[Watch]) -> None:
    trend = assess_trend(watches)
    assert (trend.laplace.p, trend.handbook.p) == (None, None)
    assert trend.laplace.too_few
    assert trend.handbook.too_few


def test_how_the_watches_ended_is_named() -> None:
    open_end, closed = make_watch([1, 2], 5), make_watch([1, 2], 2, ended_by="failure")
    assert "ended by time" in assess_trend([open_end]).laplace.convention
    assert "left out" in assess_trend([closed]).handbook.convention
    mixed = assess_trend([open_end, closed]).laplace
    assert "where they ended" in mixed.convention
    assert mixed.behind.events == 3


def test_ties_are_counted_and_change_nothing_else() -> None:
    tied = assess_trend([make_watch([10, 10, 30], 50)])
    apart = assess_trend([make_watch([10, 10.000001, 30], 50)])
    assert tied.laplace.behind.ties == 2
    assert tied.laplace.statistic == pytest.approx(apart.laplace.statistic, abs=1e-6)
    assert tied.handbook.statistic == pytest.approx(apart.handbook.statistic, abs=1e-6)


def test_inversions_by_trying_every_order() -> None:
    counts = [0] * 16
    for order in permutations(range(6)):
        counts[sum(later > earlier for earlier, later in combinations(order, 2))] += 1
    assert chance_of_inversions((6,)) == pytest.approx([count / 720 for count in counts])
    two = np.convolve(chance_of_inversions((4,)), chance_of_inversions((3,)))
    assert chance_of_inversions((4, 3)) == pytest.approx(two.tolist())
    assert chance_of_inversions(()) == (1.0,)


@pytest.mark.parametrize("draw", DRAWS)
def test_reversals_by_kendalls_tau(draw: int) -> None:
    """Reversals of unequal gaps are the rising pairs of Kendall's tau with the order."""
    rng = random.Random(draw)
    gaps = [rng.expovariate(1) for _ in range(rng.randint(3, 20))]
    found = assess_reversals(gaps)
    side = "greater" if found.direction < 0 else "less"
    expected = stats.kendalltau(range(len(gaps)), gaps, method="exact", alternative=side)
    pairs = len(gaps) * (len(gaps) - 1) / 2
    assert found.statistic == pytest.approx(pairs * (1 + expected.statistic) / 2)
    if found.direction:
        assert found.p == pytest.approx(expected.pvalue, rel=1e-9)


@pytest.mark.parametrize("draw", DRAWS)
def test_growth_by_the_highest_likelihood(draw: int) -> None:
    """Power and scale maximise the likelihood of a power-law stream, by scipy's search."""
    rng = random.Random(draw)
    times = sorted(100 * rng.random() ** 0.6 for _ in range(rng.randint(4, 40)))
    growth = estimate_growth(make_watch(times, 100), corrected=False)
    assert growth is not None

    def negative(log: np.ndarray) -> float:
        scale, power = np.exp(log)
        rates = np.log(scale * power) + (power - 1) * np.log(times)
        return float(scale * 100**power - rates.sum())

    best = optimize.minimize(
        negative, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-11}
    )
    assert growth.power.value == pytest.approx(np.exp(best.x[1]), rel=1e-5)
    assert growth.scale == pytest.approx(np.exp(best.x[0]), rel=1e-4)
    law = stats.chi2(2 * len(times))
    low = growth.power.value * law.ppf(0.025) / (2 * len(times))
    assert growth.power.low == pytest.approx(low, rel=1e-9)


@pytest.mark.parametrize("draw", DRAWS)
def test_growth_ended_by_an_event_and_its_time_between(draw: int) -> None:
    """The last event gives no place of its own, but counts; limits by scipy, as NIST has them."""
    rng = random.Random(draw)
    times = sorted(100 * rng.random() ** rng.choice((0.5, 1.0, 1.8)) for _ in range(12))
    level = rng.choice((0.8, 0.95))
    growth = estimate_growth(make_watch(times, times[-1], ended_by="failure"), level)
    assert growth is not None
    # ln(end / place) of the others are exponential with the power as rate: scipy fits its mean.
    _, mean = stats.expon.fit(np.log(times[-1] / np.array(times[:-1])), floc=0)
    count, free = len(times), len(times) - 1
    assert growth.power.value == pytest.approx(count / (free * mean), rel=1e-9)
    assert growth.corrected == pytest.approx((free - 1) / (free * mean), rel=1e-9)
    law = stats.chi2(2 * free)
    ends = [
        growth.power.value * law.ppf(tail) / (2 * count)
        for tail in ((1 - level) / 2, (1 + level) / 2)
    ]
    assert (growth.power.low, growth.power.high) == pytest.approx(ends, rel=1e-9)
    z = stats.norm.ppf((1 + level) / 2)
    between = times[-1] / (count * growth.corrected)
    assert growth.time_between.value == pytest.approx(between, rel=1e-9)
    wide = (count + z**2 / 4 + np.sqrt(count * z**2 / 2 + z**4 / 16)) ** 2
    narrow = (count - z * np.sqrt(count / 2)) ** 2
    ends = [between * count * (count - 1) / square for square in (wide, narrow)]
    assert (growth.time_between.low, growth.time_between.high) == pytest.approx(ends, rel=1e-9)


@pytest.mark.parametrize("way", [1, -1])
def test_many_reversals_by_the_normal_law(way: int) -> None:
    """Beyond sixty gaps; at sixty the exact chance and the normal one are within a hundredth."""
    rng = random.Random(3)
    for size in (60, 61, 200):
        gaps = [rng.expovariate(1) + way * 0.01 * place for place in range(size)]
        found = assess_reversals(gaps)
        side = "greater" if found.direction < 0 else "less"
        expected = stats.kendalltau(range(size), gaps, method="asymptotic", alternative=side)
        assert found.p == pytest.approx(expected.pvalue, abs=0.01)
        assert ("normal" in found.convention) == (size > 60)


def test_growth_needs_three_events_that_are_free() -> None:
    assert estimate_growth(make_watch([1, 2], 5)) is None
    assert estimate_growth(make_gapped_watch([1, 2, 3])) is None
    assert estimate_growth(make_gapped_watch([1, 2, 3, 4])) is not None
    assert estimate_growth(make_watch([5, 5, 5], 5)) is None


@pytest.mark.parametrize(
    ("times", "end", "start", "ended", "says"),
    [
        ([1.0], 0.0, 0.0, "time", "no length"),
        ([0.0], 5.0, 0.0, "time", "above"),
        ([6.0], 5.0, 0.0, "time", "above"),
        ([], 5.0, 0.0, "failure", "last event"),
        ([4.0], 5.0, 0.0, "failure", "last event"),
    ],
)
def test_a_watch_that_cannot_be(
    times: list[float], end: float, start: float, ended: str, says: str
) -> None:
    with pytest.raises(ValueError, match=says):
        make_watch(times, end, start, "failure" if ended == "failure" else "time")
