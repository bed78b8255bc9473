"""Wear-out or chance, and what an interval would let through: a Weibull fit with suspensions."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from msgspec import Struct

from register.faults.chances import two_sided_z
from register.faults.enough import RATE_EVENTS, TREND_EVENTS
from register.faults.extra import load_optimize
from register.faults.lives import Life, stand_behind
from register.faults.results import LEVEL, Behind, Figure, check_level

METHOD = "Weibull, maximum likelihood"
CONVENTION = "two-sided normal limits on the log scale, observed information"
LEAST_SHAPE, MOST_SHAPE = 0.01, 200.0


class Fit(Struct, frozen=True):
    """A Weibull life: the share failed by an age is 1 - exp(-(age / scale) ** shape).

    A shape above 1 is wear-out, 1 is chance, below 1 early failures. `scale` is the age by which
    63 % have failed. `covariance` is that of ln(scale) and ln(shape): variances and covariance.
    """

    shape: Figure
    scale: Figure
    log_likelihood: float
    covariance: tuple[float, float, float]
    level: float
    behind: Behind


def fit_weibull(lives: Sequence[Life], level: float = LEVEL) -> Fit | None:
    """Fit by maximum likelihood; None where the likelihood has no highest point.

    A suspension says it lasted longer; a late entry counts from its entry age only (the hazard
    before it is taken off). None with fewer than two failures, or where the shape runs away
    (all failures at the highest age, or late entries that tell nothing of it).

    Raises:
        RegisterError: scipy is not installed.
    """
    check_level(level)
    failures = [life.age for life in lives if life.failed]
    if len(failures) < 2:
        return None
    unit = max(life.age for life in lives)
    small = [Life(life.age / unit, life.failed, life.entry / unit) for life in lives]
    slope = _slope_of_profile(small)
    low, high = math.log(LEAST_SHAPE), math.log(MOST_SHAPE)
    if not slope(low) > 0 > slope(high):
        return None
    shape = math.exp(load_optimize().brentq(slope, low, high, xtol=1e-13, rtol=1e-13))
    total = math.fsum(life.age**shape - life.entry**shape for life in small)
    scale = (total / len(failures)) ** (1 / shape)
    covariance = _covariance(small, math.log(scale), shape)
    if covariance is None:
        return None
    return _build_fit(lives, (scale * unit, shape), covariance, level)


def _slope_of_profile(lives: Sequence[Life]) -> Callable[[float], float]:
    """How the likelihood, at the best scale for each shape, climbs with the shape's logarithm."""
    failures = [life.age for life in lives if life.failed]
    logs = math.fsum(map(math.log, failures))

    def slope(log_shape: float) -> float:
        shape = math.exp(log_shape)
        weights = [(_power(life.age, shape), _power(life.entry, shape), life) for life in lives]
        total = math.fsum(age - entry for age, entry, _ in weights)
        tilted = math.fsum(
            age * math.log(life.age) - (entry * math.log(life.entry) if life.entry else 0.0)
            for age, entry, life in weights
        )
        return len(failures) + shape * (logs - len(failures) * tilted / total)

    return slope


def _power(base: float, shape: float) -> float:
    return float(base**shape) if base > 0 else 0.0


def _covariance(
    lives: Sequence[Life], log_scale: float, shape: float
) -> tuple[float, float, float] | None:
    """The inverse of the observed information of ln(scale) and ln(shape)."""

    def hazard(age: float) -> tuple[float, float]:
        if age <= 0:
            return 0.0, 0.0
        off = shape * (math.log(age) - log_scale)
        return off, math.exp(off)

    scale_scale = both = shape_shape = 0.0
    for life in lives:
        off, height = hazard(life.age)
        off_in, height_in = hazard(life.entry)
        scale_scale += shape * shape * (height - height_in)
        both -= shape * ((1 + off) * height - (1 + off_in) * height_in)
        shape_shape += (off + off * off) * height - (off_in + off_in * off_in) * height_in
        if life.failed:
            both += shape
            shape_shape -= off
    determinant = scale_scale * shape_shape - both * both
    if not (determinant > 0 and scale_scale > 0):
        return None
    return shape_shape / determinant, scale_scale / determinant, -both / determinant


def _build_fit(
    lives: Sequence[Life],
    found: tuple[float, float],
    covariance: tuple[float, float, float],
    level: float,
) -> Fit:
    scale, shape = found
    behind = stand_behind(lives)
    few = behind.events < TREND_EVENTS
    z = two_sided_z(level)

    def around(value: float, variance: float) -> Figure:
        reach = math.exp(z * math.sqrt(variance))
        return Figure(value, value / reach, value * reach, level, METHOD, CONVENTION, behind, few)

    likelihood = math.fsum(
        (math.log(shape / scale) + (shape - 1) * math.log(life.age / scale) if life.failed else 0)
        - (life.age / scale) ** shape
        + (life.entry / scale) ** shape
        for life in lives
    )
    return Fit(
        around(shape, covariance[1]),
        around(scale, covariance[0]),
        likelihood,
        covariance,
        level,
        behind,
    )


def estimate_failed_by(fit: Fit, age: float) -> Figure:
    """The share failed by an age, for one part new at 0, with limits.

    Delta method on ln(-ln(1 - share)), so that limits stay between 0 and 1.

    Raises:
        ValueError: the age is not above 0.
    """
    if age <= 0:
        raise ValueError("an age above 0")
    scale, shape = fit.scale.value or 1.0, fit.shape.value or 1.0
    distance = math.log(age / scale)
    of_scale, of_shape, both = fit.covariance
    middle = shape * distance
    variance = shape * shape * (of_scale + distance * distance * of_shape - 2 * distance * both)
    reach = two_sided_z(fit.level) * math.sqrt(max(0.0, variance))

    def failed(place: float) -> float:
        return -math.expm1(-math.exp(place))

    convention = "two-sided normal limits on the log-log scale, delta method"
    few = fit.behind.events < RATE_EVENTS
    return Figure(
        failed(middle),
        failed(middle - reach),
        failed(middle + reach),
        fit.level,
        METHOD,
        convention,
        fit.behind,
        few,
    )
