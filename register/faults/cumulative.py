"""Events per aircraft up to an age: the mean cumulative function with its robust variance."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from register.faults.enough import MCF_UNITS, RATE_EVENTS
from register.faults.extra import load_special
from register.faults.results import LEVEL, Behind, Curve, Step, check_level
from register.faults.watches import Watch

METHOD = "mean cumulative function (Nelson), robust variance (Lawless & Nadeau 1995)"
CONVENTION = (
    "events before ends of watch at the same age; two-sided limits on the log scale by Student's "
    "t with one degree less than the fewest units watched so far, each step by itself"
)


def estimate_cumulative(watches: Sequence[Watch], level: float = LEVEL) -> Curve:
    """The mean number of events of a unit up to each age at which one happened.

    At each age the events are shared over the units then watched; a unit whose watch ends at that
    very age still counts. Units may begin late and end anywhere. The variance takes each unit's
    events together, as they come in bunches; the formula that takes them apart is too narrow.
    `error` is its root. A handful of units knows its own spread badly, so the limits take it
    sqrt(k / (k - 1)) times wider and by Student's t: with normal limits, three aircraft would hold
    95 % only seven times of ten (drawn; this way nineteen of twenty).

    Raises:
        RegisterError: scipy is not installed.
    """
    check_level(level)
    # What each unit has so far drawn away from the mean; the variance is the sum of its squares.
    drawn = [0.0] * len(watches)
    mean = 0.0
    fewest = len(watches)
    counts = [Counter(watch.times) for watch in watches]
    steps = []
    for at in sorted({time for watch in watches for time in watch.times}):
        watched = [watch.start < at <= watch.end for watch in watches]
        at_risk = sum(watched)
        own = [count[at] for count in counts]
        rise = sum(own) / at_risk
        mean += rise
        drawn = [
            sofar + (count - rise) / at_risk if here else sofar
            for sofar, count, here in zip(drawn, own, watched, strict=True)
        ]
        error = math.sqrt(math.fsum(part * part for part in drawn))
        fewest = min(fewest, at_risk)
        limits = _limits(mean, error, fewest, level)
        steps.append(Step(at, at_risk, sum(own), mean, error, *limits))
    events = sum(len(watch.times) for watch in watches)
    behind = Behind(
        events,
        math.fsum(watch.length for watch in watches),
        units=len(watches),
        ties=sum(step.events for step in steps if step.events > 1),
    )
    few = events < RATE_EVENTS or len(watches) < MCF_UNITS
    return Curve(tuple(steps), level, METHOD, CONVENTION, behind, few)


def _limits(
    mean: float, error: float, units: int, level: float
) -> tuple[float | None, float | None]:
    """Limits of one step; none from one unit, or where units that are all alike show no spread."""
    if units < 2 or error <= 0:
        return None, None
    t = float(load_special().stdtrit(units - 1, (1 + level) / 2))
    # Two units with little between them may reach beyond what a float holds: an open limit.
    reach = t * math.sqrt(units / (units - 1)) * error / mean
    return (mean * math.exp(-reach), mean * math.exp(reach)) if reach < 500 else (0.0, None)
