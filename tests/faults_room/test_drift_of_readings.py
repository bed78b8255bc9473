"""Slope, test and crossing of uneven readings, against scipy."""

from __future__ import annotations

import random
from itertools import combinations
from statistics import median

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from register.faults.drift import Reading, estimate_drift, project_crossing

DRAWS = range(30)


def draw_readings(draw: int, tied: bool) -> list[Reading]:
    """A creeping value at uneven places; rounded to its last digit where ties are wanted."""
    rng = random.Random(draw)
    at = 0.0
    readings = []
    for _ in range(rng.randint(5, 25)):
        at += rng.choice((0, 1, 1, 2, 9)) if tied else rng.expovariate(0.2)
        value = 0.05 * at + rng.gauss(0, 1)
        readings.append(Reading(at, round(value) if tied else value))
    return readings


@pytest.mark.parametrize("draw", DRAWS)
def test_slope_and_exact_test_by_scipy(draw: int) -> None:
    readings = draw_readings(draw, tied=False)
    places, values = [one.at for one in readings], [one.value for one in readings]
    drift = estimate_drift(readings)
    assert drift.slope.value == pytest.approx(stats.theilslopes(values, places).slope)
    tau = stats.kendalltau(places, values, method="exact")
    pairs = len(readings) * (len(readings) - 1) / 2
    assert drift.test.statistic == pytest.approx(tau.statistic * pairs)
    assert drift.test.p == pytest.approx(tau.pvalue, rel=1e-9)
    assert "exact" in drift.test.method


@pytest.mark.parametrize("draw", DRAWS)
def test_limits_hold_what_the_exact_test_does_not_refuse(draw: int) -> None:
    """Slopes just outside are refused by scipy's test of what they leave; two ranks in are not."""
    readings = draw_readings(draw, tied=False)
    slope = estimate_drift(readings).slope
    if slope.low is None or slope.high is None:
        assert len(readings) < 7
        return

    def chance(wanted: float) -> float:
        rest = [one.value - wanted * one.at for one in readings]
        found = stats.kendalltau([one.at for one in readings], rest, method="exact")
        return float(found.pvalue)

    between = sorted(
        (later.value - earlier.value) / (later.at - earlier.at)
        for earlier, later in combinations(readings, 2)
    )
    rank = between.index(slope.low)
    assert between[-rank - 1] == slope.high
    # Just outside is refused, two ranks in is not: Sen keeps one slope more than is needed.
    assert chance(slope.low - 1e-9) <= 0.05
    assert chance(slope.high + 1e-9) <= 0.05
    assert chance((between[rank + 1] + between[rank + 2]) / 2) > 0.05


@pytest.mark.parametrize("draw", DRAWS)
def test_ties_by_scipy(draw: int) -> None:
    """Tied values and places: the slope, the variance of the score, the limits to one rank."""
    readings = draw_readings(draw, tied=True)
    places, values = [one.at for one in readings], [one.value for one in readings]
    drift = estimate_drift(readings)
    by_scipy = stats.theilslopes(values, places)
    assert drift.slope.value == pytest.approx(by_scipy.slope)
    assert drift.slope.behind.ties > 0
    assert "ties" in drift.test.method
    # scipy's score, without the correction for continuity, tells its variance.
    asymptotic = stats.kendalltau(places, values, method="asymptotic")
    score = drift.test.statistic
    if abs(score) > 1:
        z = stats.norm.isf(asymptotic.pvalue / 2)
        expected = 2 * stats.norm.sf(z * (abs(score) - 1) / abs(score))
        assert drift.test.p == pytest.approx(expected, rel=1e-6)
    slopes = sorted(
        (later.value - earlier.value) / (later.at - earlier.at)
        for earlier, later in combinations(sorted(readings, key=lambda one: one.at), 2)
        if later.at > earlier.at
    )
    if drift.slope.low is not None:
        nearest = np.searchsorted(slopes, [by_scipy.low_slope, by_scipy.high_slope])
        allowed = slopes[max(0, nearest[0] - 2) : nearest[0] + 2]
        assert min(allowed) <= drift.slope.low <= by_scipy.low_slope


def test_equal_readings_show_no_drift() -> None:
    drift = estimate_drift([Reading(at, 2.0) for at in (1, 5, 6, 20)])
    assert (drift.slope.value, drift.test.statistic, drift.test.p) == (0, 0, 1)


@pytest.mark.parametrize("readings", [[], [Reading(1, 2)], [Reading(1, 2), Reading(1, 3)]])
def test_too_little_for_a_slope(readings: list[Reading]) -> None:
    drift = estimate_drift(readings)
    assert (drift.slope.value, drift.slope.low, drift.slope.high) == (None, None, None)
    assert drift.test.p is None
    assert drift.slope.too_few


def test_the_order_of_typing_does_not_matter() -> None:
    readings = draw_readings(3, tied=False)
    assert estimate_drift(readings) == estimate_drift(readings[::-1])


def test_a_step_at_a_fix_is_no_drift() -> None:
    """Falling within each spell, lifted by each swap: as one row it would look as if it rose."""
    readings = [
        Reading(10 * spell + place, 5 * spell - 0.1 * place, spell)
        for spell in range(4)
        for place in range(5)
    ]
    apart = estimate_drift(readings)
    together = estimate_drift([Reading(one.at, one.value) for one in readings])
    assert apart.slope.value == pytest.approx(-0.1)
    assert apart.test.direction == -1
    assert apart.slope.behind.units == 4
    woven = sorted(readings, key=lambda one: (one.at % 10, one.spell))
    assert estimate_drift(woven) == apart
    abreast = [Reading(one.at % 10, one.value, one.spell) for one in readings]
    assert estimate_drift(abreast).slope.value == pytest.approx(-0.1)
    assert estimate_drift(abreast).slope.behind.units == 4
    assert together.slope.value is not None
    assert together.slope.value > 0


def test_short_spells_have_too_few_pairs() -> None:
    """Ten readings in five spells are five pairs; in one spell they are forty-five."""
    readings = [Reading(at, 0.1 * at, at // 2) for at in range(10)]
    assert estimate_drift(readings).test.too_few
    assert not estimate_drift([Reading(one.at, one.value) for one in readings]).test.too_few


def test_a_last_spell_of_two_readings_has_no_height_of_its_own() -> None:
    old = [Reading(at, 0.1 * at, 0) for at in range(10)]
    new = [Reading(at, 0.1 * at - 1, 1) for at in range(10, 13)]
    assert project_crossing([*old, *new[:2]], 3, "most").at.too_few
    assert not project_crossing([*old, *new], 3, "most").at.too_few


def test_crossing_of_a_straight_creep() -> None:
    readings = [Reading(at, 1 + 0.1 * at) for at in (0, 1, 4, 6, 13, 20, 21, 30)]
    found = project_crossing(readings, 6, "most")
    assert found.at.value == pytest.approx(50)
    assert (found.at.low, found.at.high) == pytest.approx((50, 50))
    assert not found.past
    assert "goes on as it was" in found.at.convention


def test_crossing_downwards_mirrors_upwards() -> None:
    readings = draw_readings(11, tied=False)
    mirrored = [Reading(one.at, -one.value) for one in readings]
    up, down = project_crossing(readings, 4, "most"), project_crossing(mirrored, -4, "least")
    assert up == down


@pytest.mark.parametrize("draw", DRAWS)
def test_the_range_holds_the_crossing(draw: int) -> None:
    readings = draw_readings(draw, tied=False)
    found = project_crossing(readings, 50, "most")
    slope = estimate_drift(readings).slope
    if slope.value is not None and slope.value > 0:
        assert found.at.value is not None
        heights = [one.value - slope.value * one.at for one in readings]
        assert found.at.value == pytest.approx((50 - median(heights)) / slope.value)
        for end, steep in ((found.at.low, slope.high), (found.at.high, slope.low)):
            if steep is None or steep <= 0:
                assert end is None
                continue
            lifted = np.median([one.value - steep * one.at for one in readings])
            assert end == pytest.approx((50 - lifted) / steep)
    else:
        assert found.at.value is None
    if slope.low is None or slope.low <= 0:
        assert found.at.high is None


def test_a_limit_already_passed() -> None:
    readings = [Reading(at, float(at)) for at in range(10)]
    found = project_crossing(readings, 5, "most")
    assert found.past
    assert found.at.value == pytest.approx(5)
    assert not project_crossing(readings, 9, "most").past
    falling = [Reading(at, 20.0 - at) for at in range(10)]
    away = project_crossing(falling, 5, "most")
    assert (away.past, away.at.value) == (True, None)
    with pytest.raises(ValueError, match="needs a reading"):
        project_crossing([], 5, "most")


def test_the_line_stands_in_the_last_spell() -> None:
    old = [Reading(at, 10 + at, 0) for at in range(6)]
    new = [Reading(at, at - 6.0, 1) for at in range(6, 12)]
    assert project_crossing([*old, *new], 20, "most").at.value == pytest.approx(26)
