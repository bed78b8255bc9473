"""Survival and Weibull fits with suspensions and late entry, against lifelines and statsmodels."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from faults_room.draws import draw_lives
from lifelines import KaplanMeierFitter, WeibullFitter  # type: ignore[import-untyped]
from statsmodels.duration.survfunc import SurvfuncRight  # type: ignore[import-untyped]
from statsmodels.tools.numdiff import approx_hess  # type: ignore[import-untyped]

from register.faults.lives import Life, estimate_failed_at, estimate_survival, make_life
from register.faults.weibull import estimate_failed_by, fit_weibull

DRAWS = range(20)


def columns(lives: list[Life]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Ages, failures and entries, as the libraries want them."""
    return (
        np.array([life.age for life in lives]),
        np.array([life.failed for life in lives]),
        np.array([life.entry for life in lives]),
    )


@pytest.mark.parametrize("draw", DRAWS)
def test_survival_and_limits_by_lifelines(draw: int) -> None:
    """To nine figures, without late entry: tied ages, suspensions at the age of a failure."""
    lives = draw_lives(random.Random(draw), 30, late=False)
    ages, failed, _ = columns(lives)
    fitter = KaplanMeierFitter().fit(ages, failed)
    table = fitter.confidence_interval_survival_function_
    curve = estimate_survival(lives)
    assert len(curve.steps) == len({life.age for life in lives if life.failed})
    for step in curve.steps:
        assert step.value == pytest.approx(fitter.predict(step.at), rel=1e-9)
        if 0 < step.value < 1:
            assert step.low == pytest.approx(table.loc[step.at].min(), rel=1e-6)
            assert step.high == pytest.approx(table.loc[step.at].max(), rel=1e-6)


@pytest.mark.parametrize("draw", DRAWS)
def test_survival_with_late_entry_by_statsmodels(draw: int) -> None:
    lives = draw_lives(random.Random(draw), 40)
    ages, failed, entries = columns(lives)
    by_other = SurvfuncRight(ages, failed.astype(int), entry=entries)
    places = list(by_other.surv_times)
    curve = estimate_survival(lives)
    for step in curve.steps:
        place = places.index(step.at)
        assert step.at_risk == by_other.n_risk[place]
        assert step.events == by_other.n_events[place]
        assert step.value == pytest.approx(by_other.surv_prob[place], abs=1e-12)
        if step.value > 0:
            assert step.error == pytest.approx(by_other.surv_prob_se[place], rel=1e-9)


def test_a_part_that_enters_at_the_age_of_a_failure_was_not_at_risk() -> None:
    lives = [make_life(10, True), make_life(20, False), make_life(30, False, entry=10)]
    assert estimate_survival(lives).steps[0].at_risk == 2


def test_late_entries_are_not_taken_as_new() -> None:
    """Ten parts first seen at 90 say nothing of 50, where taken as new they would."""
    known = [make_life(50, True), make_life(60, False)]
    late = [make_life(100, False, entry=90) for _ in range(10)]
    right = estimate_failed_at([*known, *late], 50)
    wrong = estimate_failed_at([*known, *(make_life(life.age, False) for life in late)], 50)
    assert right.value == pytest.approx(1 / 2)
    assert wrong.value == pytest.approx(1 / 12)


def test_a_curve_that_runs_empty_before_late_entries_says_so() -> None:
    lives = [make_life(5, True), *(make_life(90, False, entry=20) for _ in range(9))]
    curve = estimate_survival(lives)
    assert curve.too_few
    assert "entered later" in curve.convention
    assert "entered later" in estimate_failed_at(lives, 50).convention
    whole = estimate_survival([make_life(age, True) for age in range(1, 9)])
    assert whole.steps[-1].value == 0
    assert "entered later" not in whole.convention
    assert not whole.too_few


def test_the_share_failed_is_the_curve_turned_over() -> None:
    lives = draw_lives(random.Random(4), 30)
    step = estimate_survival(lives).step_at(60)
    assert step is not None
    figure = estimate_failed_at(lives, 60)
    assert figure.value == pytest.approx(1 - step.value)
    assert step.low is not None
    assert step.high is not None
    assert (figure.low, figure.high) == pytest.approx((1 - step.high, 1 - step.low))
    assert "log-log" in figure.convention


@pytest.mark.parametrize("draw", DRAWS)
def test_the_share_failed_by_lifelines(draw: int) -> None:
    """Value and both limits at ages between and at failures."""
    lives = draw_lives(random.Random(draw), 30, late=False)
    ages, failed, _ = columns(lives)
    fitter = KaplanMeierFitter().fit(ages, failed)
    table = fitter.confidence_interval_survival_function_
    first = min(life.age for life in lives if life.failed)
    for at in (first, 50.5, 80.0, 101.0):
        figure = estimate_failed_at(lives, at)
        if at < first or at > ages.max() or not 0 < (left := fitter.predict(at)) < 1:
            continue
        row = table.loc[:at].iloc[-1]
        assert figure.value == pytest.approx(1 - left, rel=1e-9)
        assert figure.low == pytest.approx(1 - row.max(), rel=1e-6)
        assert figure.high == pytest.approx(1 - row.min(), rel=1e-6)


def test_where_a_curve_says_nothing() -> None:
    lives = [make_life(10, True), make_life(30, False)]
    assert estimate_failed_at(lives, 31).value is None
    before = estimate_failed_at(lives, 5)
    assert (before.value, before.low, before.high, before.too_few) == (0, None, None, True)
    assert estimate_failed_at([], 5).value is None
    lost = estimate_survival([make_life(10, True), make_life(20, True)]).steps[-1]
    assert (lost.value, lost.low, lost.high) == (0, 0, None)


@pytest.mark.parametrize(("age", "entry"), [(5.0, 5.0), (5.0, -1.0), (0.0, 0.0)])
def test_a_life_that_cannot_be(age: float, entry: float) -> None:
    with pytest.raises(ValueError, match="no length"):
        make_life(age, failed=True, entry=entry)


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize("draw", range(10))
def test_weibull_by_lifelines(draw: int, late: bool) -> None:
    """Shape and scale to four figures, the likelihood to six: their search stops earlier."""
    rng = random.Random(draw)
    lives = draw_lives(rng, 60, shape=rng.choice((0.8, 1.0, 2.5)), late=late)
    ages, failed, entries = columns(lives)
    fitter = WeibullFitter().fit(ages, failed, entry=entries if late else None)
    fit = fit_weibull(lives)
    assert fit is not None
    assert fit.shape.value == pytest.approx(fitter.rho_, rel=1e-4)
    assert fit.scale.value == pytest.approx(fitter.lambda_, rel=1e-4)
    assert fit.log_likelihood == pytest.approx(fitter.log_likelihood_, rel=1e-6)
    assert fit.log_likelihood >= fitter.log_likelihood_ - 1e-9 * abs(fit.log_likelihood)


@pytest.mark.parametrize("draw", DRAWS)
def test_weibull_limits_by_a_numerical_information(draw: int) -> None:
    """The covariance, by differences of the likelihood (statsmodels), to three figures."""
    lives = draw_lives(random.Random(draw), 50)
    ages, failed, entries = columns(lives)
    fit = fit_weibull(lives)
    assert fit is not None
    assert fit.scale.value is not None
    assert fit.shape.value is not None

    def likelihood(log: np.ndarray) -> float:
        scale, shape = np.exp(log)
        at_failure = np.log(shape / scale) + (shape - 1) * np.log(ages[failed] / scale)
        return float(
            at_failure.sum() - ((ages / scale) ** shape - (entries / scale) ** shape).sum()
        )

    best = np.log([fit.scale.value, fit.shape.value])
    inverse = np.linalg.inv(-approx_hess(best, likelihood))
    expected = (inverse[0, 0], inverse[1, 1], inverse[0, 1])
    assert fit.covariance == pytest.approx(expected, rel=1e-3, abs=1e-5)
    gradient = [fit.shape.value, fit.shape.value * math.log(50 / fit.scale.value)]
    # Of ln(-ln(1 - share)): minus the shape with ln(scale), the whole with ln(shape).
    gradient = [-gradient[0], gradient[1]]
    error = math.sqrt(np.dot(gradient, inverse @ gradient))
    share = estimate_failed_by(fit, 50)
    assert share.value is not None
    middle = math.log(-math.log1p(-share.value))
    expected_low = -math.expm1(-math.exp(middle - 1.959964 * error))
    assert share.low == pytest.approx(expected_low, rel=2e-3)
    expected_high = -math.expm1(-math.exp(middle + 1.959964 * error))
    assert share.high == pytest.approx(expected_high, rel=2e-3)


def test_installed_parts_are_suspensions() -> None:
    """As failures they would shorten the life; left out as well."""
    lives = draw_lives(random.Random(8), 40)
    right = fit_weibull(lives)
    as_failures = fit_weibull([make_life(life.age, True, life.entry) for life in lives])
    left_out = fit_weibull([life for life in lives if life.failed])
    assert right is not None
    assert right.scale.value is not None
    for wrong in (as_failures, left_out):
        assert wrong is not None
        assert wrong.scale.value is not None
        assert wrong.scale.value < right.scale.value


def test_no_fit_where_there_is_none() -> None:
    assert fit_weibull([]) is None
    assert fit_weibull([make_life(10, True), make_life(20, False)]) is None
    assert fit_weibull([make_life(10, True), make_life(10, True), make_life(5, False)]) is None


def test_share_failed_stays_a_share() -> None:
    fit = fit_weibull(draw_lives(random.Random(2), 15))
    assert fit is not None
    for age in (1e-6, 1.0, 50.0, 1e4):
        share = estimate_failed_by(fit, age)
        assert share.low is not None
        assert share.value is not None
        assert share.high is not None
        assert 0 <= share.low <= share.value <= share.high <= 1
    with pytest.raises(ValueError, match="above 0"):
        estimate_failed_by(fit, 0)
