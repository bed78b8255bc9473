"""How long parts last: Kaplan-Meier with suspensions and late entry."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from register.faults.chances import two_sided_z
from register.faults.enough import RATE_EVENTS
from register.faults.results import LEVEL, Behind, Curve, Figure, Step, check_level

METHOD = "Kaplan-Meier, Greenwood's variance"
CONVENTION = (
    "failures before suspensions at the same age, entries after; two-sided log-log limits, "
    "each step by itself"
)


class Life(Struct, frozen=True):
    """One part's time under observation, in its own counter.

    `failed` is False for a suspension: still installed, or removed for another reason. `entry` is
    the age at which the register first saw it; what failed before that age was never seen, so the
    part counts from there on only. A part of unknown age is no life and is left out beforehand.
    """

    age: float
    failed: bool
    entry: float = 0.0


def make_life(age: float, failed: bool, entry: float = 0.0) -> Life:
    """A life that has some length.

    Raises:
        ValueError: the entry is below 0, or the age not above it.
    """
    if not 0 <= entry < age:
        raise ValueError(f"a life from {entry} to {age} has no length")
    return Life(float(age), failed, float(entry))


def stand_behind(lives: Sequence[Life]) -> Behind:
    """What a result about these lives was computed from."""
    failures = [life.age for life in lives if life.failed]
    return Behind(
        len(failures),
        math.fsum(life.age - life.entry for life in lives),
        units=len(lives),
        ties=sum(failures.count(age) > 1 for age in failures),
    )


def estimate_survival(lives: Sequence[Life], level: float = LEVEL) -> Curve:
    """The share of parts still working after each age at which one failed.

    At risk at an age are the parts that entered below it and were seen up to it at least. After
    late entries, the curve holds for parts that reached the earliest entry. Limits are open where
    nothing is left or nothing was lost.
    """
    check_level(level)
    z = two_sided_z(level)
    share, summed = 1.0, 0.0
    steps = []
    for at in sorted({life.age for life in lives if life.failed}):
        at_risk = sum(life.entry < at <= life.age for life in lives)
        lost = sum(life.failed and life.age == at for life in lives)
        share *= 1 - lost / at_risk
        # Once all at risk are lost, nothing is left to have a variance.
        summed += lost / (at_risk * (at_risk - lost)) if share > 0 else 0.0
        low, high = _log_log_limits(share, summed, z)
        steps.append(Step(at, at_risk, lost, share, share * math.sqrt(summed), low, high))
    behind = stand_behind(lives)
    few, convention = behind.events < RATE_EVENTS, CONVENTION
    if steps and steps[-1].value == 0 and any(life.age > _first_empty(steps) for life in lives):
        few = True
        convention += (
            f"; all that were watched at {_first_empty(steps):g} were lost there, and parts that "
            "entered later are not in the curve"
        )
    return Curve(tuple(steps), level, METHOD, convention, behind, few)


def _first_empty(steps: Sequence[Step]) -> float:
    """The age at which nothing was left."""
    return next(step.at for step in steps if step.value == 0)


def _log_log_limits(share: float, summed: float, z: float) -> tuple[float | None, float | None]:
    """Limits that stay between 0 and 1 (Kalbfleisch & Prentice); None where all are lost."""
    if not 0 < share < 1:
        return (0.0, None) if share <= 0 else (None, 1.0)
    reach = z * math.sqrt(summed) / abs(math.log(share))
    return float(share ** math.exp(reach)), float(share ** math.exp(-reach))


def estimate_failed_at(lives: Sequence[Life], at: float, level: float = LEVEL) -> Figure:
    """The share that has failed by an age, read off the survival curve.

    Beyond the last age anybody was seen at, there is no value: the curve says nothing there.
    """
    curve = estimate_survival(lives, level)
    behind, few = curve.behind, curve.too_few
    reached = max((life.age for life in lives), default=0.0)
    if at > reached:
        says = f"nothing was seen beyond {reached:g}"
        return Figure(None, None, None, level, METHOD, says, behind, too_few=True)
    step = curve.step_at(at)
    if step is None:
        says = "nothing failed up to here: no limits by this method"
        return Figure(0.0, None, None, level, METHOD, says, behind, too_few=True)
    low = None if step.high is None else 1 - step.high
    high = None if step.low is None else 1 - step.low
    return Figure(1 - step.value, low, high, level, METHOD, curve.convention, behind, few)
