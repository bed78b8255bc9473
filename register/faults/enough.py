"""How many events it takes before silence means anything: "too few to tell", from power.

One effect is asked of everything: *three times as much*. A trend: a rate that grows in proportion
to use, so that three faults of four fall in the second half of the watch. Two rates: one three
times the other. A fleet: one aircraft with three times the rate of its sisters. Readings: a drift
over the watch of three times their scatter. A rate or fraction: known within a factor of three
either way.

Below the least number at which the test at its 5 % level finds that effect more often than it
misses it, "nothing found" would usually be wrong, and what is found is much exaggerated. So only
the interval is shown. The usual 80 % would ask for about twenty events, and the register would be
silent through most of an aircraft's life; half is the least that can be defended.
"""

from __future__ import annotations

from register.faults.chances import (
    binomial_chances,
    chi_square_above,
    chi_square_below,
    chi_square_quantile,
)

EFFECT = 3.0
"""The effect that must not be missed more often than found: a threefold rate."""

GROWTH = 2.0
"""The power of use that puts three of four events in the second half: 1/2 to the power 2 is 1/4."""

ENOUGH_POWER = 0.5

TREND_EVENTS = 12
"""Laplace finds the effect with 0.53 (drawn), the handbook's with 0.58; with 11 Laplace 0.49."""

RATE_EVENTS = 6
"""Exact 95 % limits within a factor of three of the rate: with 5 the lower one is not."""

READINGS = 9
"""Mann-Kendall, exact, evenly spaced normal readings: 0.62 (drawn); with 8 it is 0.47."""

MCF_UNITS = 3
"""Aircraft behind a mean cumulative function: two give limits more than tenfold either way."""


def power_of_trend(events: int, growth: float = GROWTH, level: float = 0.95) -> float:
    """How often the military-handbook test finds a trend, exact.

    Under a rate that grows as use to the power `growth` - 1, the test's statistic is a chi-square
    divided by `growth`.
    """
    low = chi_square_quantile((1 - level) / 2, events)
    high = chi_square_quantile((1 + level) / 2, events)
    return chi_square_below(growth * low, events) + chi_square_above(growth * high, events)


def power_of_two_rates(
    events: int, share: float, ratio: float = EFFECT, level: float = 0.95
) -> float:
    """How often the exact conditional test finds one rate to be `ratio` times the other.

    `share` is the first one's part of the whole exposure. The higher rate may be either; the
    smaller of the two chances is given. Central two-sided test.
    """
    return min(
        _power_given(events, share, share * ratio / (share * ratio + 1 - share), level),
        _power_given(events, share, share / (share + (1 - share) * ratio), level),
    )


def _power_given(events: int, share: float, real: float, level: float) -> float:
    """The chance of a count that the test refuses, when the real share of events is `real`."""
    alpha = (1 - level) / 2
    null = binomial_chances(events, share)
    truth = binomial_chances(events, real)
    below = 0.0
    power = 0.0
    for count in range(events + 1):
        above = 1.0 - below
        below += null[count]
        if below <= alpha or above <= alpha:
            power += truth[count]
    return power


def enough_for_two_rates(events: int, share: float) -> bool:
    """Whether a threefold rate would be found more often than missed, by this many and by any more.

    The test's power falls and leaps as counts grow, so the next two numbers must do as well.
    """
    return all(
        power_of_two_rates(more, share) >= ENOUGH_POWER for more in range(events, events + 3)
    )


def power_of_unlike(events: int, units: int, ratio: float = EFFECT, level: float = 0.95) -> float:
    """How often one of equally used units, at `ratio` times its sisters, is found as the odd one.

    By its conditional test against all others together, at a level parted among the units, since
    any of them might have been the odd one.
    """
    real = ratio / (ratio + units - 1)
    return _power_given(events, 1 / units, real, 1 - (1 - level) / units)


def enough_for_unlike(events: int, units: int) -> bool:
    """Whether one unit at three times its sisters' rate would be found more often than missed."""
    return all(power_of_unlike(more, units) >= ENOUGH_POWER for more in range(events, events + 3))
