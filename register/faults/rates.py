"""Counts over exposure: the exact Poisson interval, and the time between with chi-square limits."""

from __future__ import annotations

from register.faults.chances import poisson_mean_for
from register.faults.enough import RATE_EVENTS
from register.faults.results import LEVEL, Behind, Figure, check_level
from register.faults.watches import Ended

GARWOOD = "exact Poisson limits (Garwood 1936)"
CENTRAL = "central: half of what is left over on each side"
ONE_SIDED = "no event seen: the upper limit keeps its two-sided chance"


def estimate_count(count: int, level: float = LEVEL) -> Figure:
    """The mean behind a count, with Garwood's limits.

    Half a chi-square with 2n degrees of freedom below and 2n + 2 above; Garwood 1936.

    Raises:
        ValueError: a negative count.
    """
    return estimate_rate(count, 1.0, level)


def estimate_rate(count: int, exposure: float, level: float = LEVEL, per: float = 1.0) -> Figure:
    """Events per `per` units of exposure, with Garwood's limits. The watch ended by time.

    Without exposure there is no rate: value and limits are None. Too few: the exact 95 % limits
    reach beyond a factor of three of the rate.

    Raises:
        ValueError: a negative count or exposure.
    """
    check_level(level)
    _check(count, exposure)
    behind = Behind(count, exposure)
    if exposure == 0:
        return Figure(None, None, None, level, GARWOOD, "no exposure", behind, too_few=True)
    scale = per / exposure
    alpha = (1 - level) / 2
    low = poisson_mean_for(count, alpha) * scale if count else 0.0
    high = poisson_mean_for(count + 1, 1 - alpha) * scale
    convention = CENTRAL if count else f"{CENTRAL}; {ONE_SIDED}"
    few = count < RATE_EVENTS
    return Figure(count * scale, low, high, level, GARWOOD, convention, behind, few)


def estimate_time_between(
    count: int, exposure: float, ended_by: Ended = "time", level: float = LEVEL
) -> Figure:
    """Exposure between events, with chi-square limits, for a steady rate.

    Ended by time: twice the exposure over chi-square quantiles with 2n + 2 degrees of freedom for
    the lower limit and 2n for the upper (NIST/SEMATECH e-Handbook 8.4.5.1). Ended by its last
    event: 2n for both (Epstein & Sobel 1953). Without an event there is no value, and the lower
    limit stands alone.

    Raises:
        ValueError: a negative count or exposure, or no event where an event ended the watch.
    """
    check_level(level)
    _check(count, exposure)
    if ended_by == "failure" and not count:
        raise ValueError("a watch ended by an event has one")
    method = "chi-square limits of a steady rate"
    convention = (
        f"ended by time, 2n + 2 degrees below and 2n above; {CENTRAL}"
        if ended_by == "time"
        else f"ended by its last event, 2n degrees on both sides; {CENTRAL}"
    )
    behind = Behind(count, exposure)
    if exposure == 0:
        return Figure(None, None, None, level, method, "no exposure", behind, too_few=True)
    alpha = (1 - level) / 2
    most = poisson_mean_for(count + (ended_by == "time"), 1 - alpha)
    value = exposure / count if count else None
    high = exposure / poisson_mean_for(count, alpha) if count else None
    few = count < RATE_EVENTS
    return Figure(value, exposure / most, high, level, method, convention, behind, few)


def lower_time_between(
    count: int, exposure: float, ended_by: Ended = "time", level: float = LEVEL
) -> float:
    """The one-sided lower limit of the exposure between events; for none it is T / -ln(1 - level).

    Raises:
        ValueError: as `estimate_time_between`.
    """
    both = estimate_time_between(count, exposure, ended_by, 2 * level - 1)
    return both.low if both.low is not None else 0.0


def _check(count: int, exposure: float) -> None:
    if count < 0 or exposure < 0:
        raise ValueError(f"{count} events in {exposure}: neither can be negative")
