"""The few distributions that are finite sums: Poisson, chi-square with even degrees, normal.

A chi-square variable with 2n degrees of freedom is below x exactly when a Poisson variable of mean
x/2 is at least n (the n-th event of a steady stream has come). So the limits of counts, times and
trends need no incomplete gamma function, and no library of it, as long as the degrees are even.
All others come from scipy: see `extra`.
"""

from __future__ import annotations

import math
from statistics import NormalDist

NORMAL = NormalDist()
NEGLIGIBLE = 1e-17


def poisson_at_most(count: int, mean: float) -> float:
    """The chance that a Poisson variable is no more than a count."""
    if count < 0:
        return 0.0
    if mean <= 0:
        return 1.0
    return _sum_down(count, mean) if count < mean else 1.0 - _sum_up(count + 1, mean)


def poisson_at_least(count: int, mean: float) -> float:
    """The chance that a Poisson variable is no less than a count."""
    if count <= 0:
        return 1.0
    if mean <= 0:
        return 0.0
    return _sum_up(count, mean) if count > mean else 1.0 - _sum_down(count - 1, mean)


def poisson_mean_for(count: int, chance: float) -> float:
    """The mean at which a Poisson variable is at least `count` (1 or more) with a given chance.

    It is also the quantile at `chance` of a gamma variable with shape `count`, and half the
    quantile of a chi-square with twice as many degrees of freedom. Found by halving, to twelve
    figures; the chance rises with the mean, so there is exactly one.
    """
    low, high = 0.0, count + 10.0
    while poisson_at_least(count, high) < chance:
        low, high = high, high * 2
    while high - low > 1e-13 * high:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if poisson_at_least(count, middle) < chance:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def chi_square_below(value: float, pairs: int) -> float:
    """The chance that a chi-square of `2 * pairs` degrees of freedom is below a value."""
    return poisson_at_least(pairs, value / 2)


def chi_square_above(value: float, pairs: int) -> float:
    """The chance that a chi-square of `2 * pairs` degrees of freedom is above a value."""
    return poisson_at_most(pairs - 1, value / 2)


def chi_square_quantile(chance: float, pairs: int) -> float:
    """The value that a chi-square of `2 * pairs` degrees of freedom stays below with a chance."""
    return 2 * poisson_mean_for(pairs, chance)


def binomial_chances(trials: int, chance: float) -> list[float]:
    """The chance of each count from 0 to `trials`, through logarithms; `chance` inside 0 to 1."""
    yes, no = math.log(chance), math.log1p(-chance)
    whole = math.lgamma(trials + 1)
    return [
        math.exp(
            whole
            - math.lgamma(count + 1)
            - math.lgamma(trials - count + 1)
            + count * yes
            + (trials - count) * no
        )
        for count in range(trials + 1)
    ]


def normal_quantile(chance: float) -> float:
    """The value that a standard normal variable stays below with a chance."""
    return NORMAL.inv_cdf(chance)


def normal_two_sided(z: float) -> float:
    """The chance that a standard normal variable lies at least so far from zero, either way."""
    return math.erfc(abs(z) / math.sqrt(2))


def two_sided_z(level: float) -> float:
    """How many standard errors either way hold a level."""
    return normal_quantile((1 + level) / 2)


def _term(count: int, mean: float) -> float:
    """The chance of exactly one count; through logarithms, for the power alone would overflow."""
    return math.exp(count * math.log(mean) - mean - math.lgamma(count + 1))


def _sum_down(count: int, mean: float) -> float:
    """Terms from a count below the mean down to nothing: each smaller than the one before."""
    total = term = _term(count, mean)
    while count > 0 and term > NEGLIGIBLE * total:
        term *= count / mean
        count -= 1
        total += term
    return total


def _sum_up(count: int, mean: float) -> float:
    """Terms from a count above the mean upwards: each smaller than the one before."""
    total = term = _term(count, mean)
    while term > NEGLIGIBLE * total:
        count += 1
        term *= mean / count
        total += term
    return total
