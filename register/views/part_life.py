"""How long parts of a kind last, and what that says about the intervals they are held to."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.faults.concluding import figure_words
from register.faults.enough import RATE_EVENTS, TREND_EVENTS
from register.faults.lives import estimate_failed_at, estimate_survival
from register.faults.part_life import PartLife, gather_lives
from register.faults.results import Curve, Figure
from register.faults.weibull import Fit, estimate_failed_by, fit_weibull
from register.ledger.ledger import Ledger
from register.records.programmes import CounterInterval
from register.records.values import MINUTE_COUNTERS, Basis, format_amount
from register.trouble import RegisterError


class LifeInterval(Struct, frozen=True):
    """An interval or life limit that parts of the kind are held to, and who failed by then.

    `share` is by Kaplan-Meier, `fitted` by the Weibull fit; one of them is told.
    """

    what: str
    amount: Decimal
    basis: Basis
    share: Figure
    fitted: Figure | None
    says: str


class PartLifeView(Struct, frozen=True):
    """The answer to `faults --life`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    kind: str
    counter: str
    parts: tuple[PartLife, ...]
    curve: Curve
    fit: Fit | None
    #: The line to type where the fit needs what is not installed.
    missing: str
    intervals: tuple[LifeInterval, ...]
    says: str

    @property
    def failed(self) -> int:
        """Parts that failed."""
        return self.curve.behind.events

    def left_out(self, why: str) -> tuple[str, ...]:
        """Parts that are in none of the figures, for a reason."""
        return tuple(one.part for one in self.parts if one.left_out == why)


def view_part_life(
    ledger: Ledger, day: date, unread: tuple[str, ...], kind: str, counter: str
) -> PartLifeView:
    """The lives of all parts of a kind in a counter."""
    parts = gather_lives(ledger, kind, counter)
    lives = [one.life for one in parts if one.life is not None]
    curve = estimate_survival(lives)
    fit, missing = None, ""
    try:
        fit = fit_weibull(lives) if curve.behind.events >= RATE_EVENTS else None
    except RegisterError as error:
        missing = error.mend
    intervals = []
    for what, amount, basis in _limits_of(ledger, day, kind, counter):
        share = estimate_failed_at(lives, float(amount))
        fitted = estimate_failed_by(fit, float(amount)) if fit is not None else None
        says = _interval_words(amount, counter, share, fitted)
        intervals.append(LifeInterval(what, amount, basis, share, fitted, says))
    says = _conclude(curve, fit, kind)
    return PartLifeView(
        day,
        not unread,
        unread,
        kind,
        counter,
        parts,
        curve,
        fit,
        missing,
        tuple(intervals),
        says,
    )


def _limits_of(
    ledger: Ledger, day: date, kind: str, counter: str
) -> Iterator[tuple[str, Decimal, Basis]]:
    """Intervals of tasks on the kind, and life limits of its parts, each once."""
    seen: set[tuple[str, Decimal]] = set()
    for programme in ledger.records.programmes.values():
        for task in programme.tasks:
            if task.on != "part_kind" or task.on_name != kind:
                continue
            for side in task.in_force(day).every:
                if not isinstance(side, CounterInterval) or side.counter != counter:
                    continue
                if side.amount and (task.id, side.amount) not in seen:
                    seen.add((task.id, side.amount))
                    yield f"task {task.id}", side.amount, task.basis
    for name, part in sorted(ledger.records.parts.items()):
        for limit in part.life if part.kind == kind else ():
            if limit.counter == counter and limit.limit and ("life", limit.limit) not in seen:
                seen.add(("life", limit.limit))
                yield f"life limit (of {name})", limit.limit, limit.basis


def amount_words(amount: Decimal | float, counter: str) -> str:
    """An amount of a counter: 50 flights, 25 hours."""
    if counter in MINUTE_COUNTERS:
        return f"{float(amount) / 60:.3g} hours"
    value = amount if isinstance(amount, Decimal) else Decimal(round(amount, 1))
    return f"{format_amount(value)} {counter.replace('-', ' ')}"


def _interval_words(amount: Decimal, counter: str, share: Figure, fitted: Figure | None) -> str:
    """At 50 flights, about 1 in 9 would have failed (3-27 %)."""
    at = f"at {amount_words(amount, counter)}"
    chosen = fitted if fitted is not None and not fitted.too_few else share
    if chosen.value is None:
        return f"{at}: no part was seen so long, so nothing can be said"
    if chosen.low is None or chosen.high is None:
        return f"{at}: none had failed, of too few to give limits"
    ends = f"{chosen.low:.0%}-{chosen.high:.0%}".replace("%-", "-").replace("%", " %")
    if chosen.too_few:
        return f"{at}: too few to tell; between {ends.replace('-', ' and ')} would have failed"
    return f"{at}, about {_one_in(chosen.value)} would have failed ({ends})"


def _one_in(share: float) -> str:
    if share <= 0:
        return "none"
    if share < 0.55:
        return f"1 in {round(1 / share)}"
    return f"{share:.0%}".replace("%", " %")


def _conclude(curve: Curve, fit: Fit | None, kind: str) -> str:
    """What may be said of how they fail."""
    failed, watched = curve.behind.events, curve.behind.units
    if not watched:
        return f"No {kind} has an age that is known: nothing can be said."
    if failed < RATE_EVENTS:
        return (
            f"Too few to tell: {failed} of {watched} failed, and it takes {RATE_EVENTS} for a "
            f"share and {TREND_EVENTS} to tell wear-out from chance."
        )
    if fit is None or fit.shape.low is None or fit.shape.high is None:
        return f"{failed} of {watched} failed; no Weibull fit, so only the shares seen are shown."
    ends = f"{figure_words(fit.shape.low)} to {figure_words(fit.shape.high)}"
    if fit.shape.too_few:
        return (
            f"{failed} of {watched} failed: enough for a share, too few to tell wear-out from "
            f"chance (shape between {ends}; it takes {TREND_EVENTS})."
        )
    if fit.shape.low > 1:
        return f"They wear out: shape {ends}, above 1. An interval by use can help."
    if fit.shape.high < 1:
        return (
            f"They fail early: shape {ends}, below 1. Changing them by use would bring in new "
            "early failures."
        )
    return (
        f"Wear-out is not told from chance: shape {ends} holds 1. An interval by use may not help."
    )
