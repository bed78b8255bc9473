"""The mean cumulative function, against lifelines where it can, and by matrices."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from faults_room.draws import draw_watches
from lifelines import NelsonAalenFitter  # type: ignore[import-untyped]
from scipy import stats  # type: ignore[import-untyped]

from register.faults.cumulative import estimate_cumulative
from register.faults.watches import Watch, make_watch


@pytest.mark.parametrize("draw", range(15))
def test_at_most_one_event_each_is_nelson_aalen(draw: int) -> None:
    """Units whose first event ends their watch: the cumulative hazard of lifelines, with ties."""
    rng = random.Random(draw)
    watches = []
    for _ in range(25):
        end, failed = float(rng.randint(2, 40)), rng.random() < 0.6
        watches.append(make_watch([end] if failed else [], end))
    fitter = NelsonAalenFitter(nelson_aalen_smoothing=False).fit(
        [watch.end for watch in watches], [bool(watch.times) for watch in watches]
    )
    for step in estimate_cumulative(watches).steps:
        assert step.value == pytest.approx(fitter.predict(step.at), rel=1e-9)


def second_form(watches: list[Watch], at: float) -> tuple[float, float]:
    """Mean and variance by whole matrices: units in rows, event times in columns."""
    times = np.array(sorted({time for watch in watches for time in watch.times if time <= at}))
    risk = np.array([[watch.start < time <= watch.end for time in times] for watch in watches])
    counts = np.array([[watch.times.count(time) for time in times] for watch in watches])
    rise = counts.sum(0) / risk.sum(0)
    residual = np.where(risk, counts - rise, 0) / risk.sum(0)
    covariance = residual.T @ residual
    return float(rise.sum()), float(covariance.sum())


@pytest.mark.parametrize("rounded", [False, True])
@pytest.mark.parametrize("draw", range(10))
def test_mean_and_robust_variance_by_matrices(draw: int, rounded: bool) -> None:
    """Late starts, differing ends, ties and bunches, to nine figures."""
    watches = draw_watches(random.Random(draw), 6, rounded)
    for step in estimate_cumulative(watches).steps:
        mean, variance = second_form(watches, step.at)
        assert step.value == pytest.approx(mean, rel=1e-9)
        assert step.error == pytest.approx(math.sqrt(variance), rel=1e-9, abs=1e-12)


def test_limits_by_students_t() -> None:
    watches = [make_watch([10, 20], 50), make_watch([15], 40), make_watch([5, 6, 30], 35)]
    curve = estimate_cumulative(watches, level=0.9)
    step = curve.steps[2]
    factor = stats.t.ppf(0.95, 2) * math.sqrt(3 / 2) * step.error / step.value
    assert step.low == pytest.approx(step.value * math.exp(-factor))
    assert step.high == pytest.approx(step.value * math.exp(factor))
    assert "log scale" in curve.convention
    assert "robust" in curve.method


def test_limits_know_only_the_aircraft_still_watched() -> None:
    """Five begin, two are left: from there on it is Student's t with one degree."""
    watches = [make_watch([4 + place], 10) for place in range(3)]
    watches += [make_watch([12], 40), make_watch([3, 30], 40)]
    steps = estimate_cumulative(watches).steps
    for step, units in ((steps[0], 5), (steps[-1], 2)):
        factor = stats.t.ppf(0.975, units - 1) * math.sqrt(units / (units - 1))
        reach = math.exp(factor * step.error / step.value)
        assert step.at_risk == units
        assert step.high == pytest.approx(step.value * reach)


def test_one_aircraft_has_a_curve_and_no_limits() -> None:
    curve = estimate_cumulative([make_watch([1, 2, 3], 10)])
    assert [step.value for step in curve.steps] == [1, 2, 3]
    assert {(step.low, step.high) for step in curve.steps} == {(None, None)}
    assert curve.too_few


def test_a_unit_counts_only_while_it_is_watched() -> None:
    watches = [make_watch([5, 25], 30), make_watch([], 20), make_watch([], 30, start=10)]
    assert [(step.at, step.at_risk, step.value) for step in estimate_cumulative(watches).steps] == [
        (5, 2, 0.5),
        (25, 2, 1.0),
    ]


def test_no_events_no_steps() -> None:
    curve = estimate_cumulative([make_watch([], 10), make_watch([], 20)])
    assert curve.steps == ()
    assert curve.step_at(5) is None
    assert curve.too_few
