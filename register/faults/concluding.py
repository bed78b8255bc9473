"""What may be concluded of a group of faults, in one plain sentence.

Two questions are put: does it come more often with use (both trend tests, shown together), and has
it stopped since a fix. Below the number of faults at which a threefold growth would be found more
often than missed, nothing is said of growth (see `enough`). The second question needs no such
number: under steady rates, n occasions of one aircraft all lie in the share s of its use that came
before the last of the group with chance s to the power n, for several aircraft the product of
these; and it is put only where a fix closed the last of them.

Faults of one group on one aircraft on one day are one occasion for all of this: several screws of
one evening are no series. Counts and rates count every fault.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from register.faults.enough import RATE_EVENTS, TREND_EVENTS
from register.faults.grouping import PER, Group
from register.faults.rates import estimate_rate, estimate_time_between
from register.faults.results import Evidence, Figure, p_words
from register.faults.trend import Trend, assess_trend
from register.records.events import Event

Verdict = Literal[
    "rising",
    "ended",
    "falling",
    "unsettled",
    "looks-rising",
    "steady",
    "rate-only",
    "too-few",
    "no-rate",
    "unsaid",
]
FOUND = 0.05
#: So many occasions at least before a quiet time is asked about; three in the first third at most.
LEAST_QUIET = 3
#: A last season with so many times the rate of the first looks like a rise to the eye.
LOOKS = 1.5
#: A fix is young until as many flights have followed it as a repeat is looked for.
#: Back after an interval that reaches beyond it: it may not have held.
HELD, BACK, YOUNG, OPEN = "held", "back", "young", "open"


class FixTold(Struct, frozen=True):
    """One fix of the group, and how it went."""

    event: Event
    outcome: str


class Conclusion(Struct, frozen=True):
    """What is computed of a group, and what may be said of it."""

    rate: Figure
    between: Figure
    trend: Trend
    #: The chance of so long a quiet since the last fault if nothing had changed; None: not asked.
    quiet: float | None
    verdict: Verdict
    says: str


def conclude(group: Group) -> Conclusion:
    """Rates, trend and the sentence for one group."""
    per, _, _ = PER[group.counter]
    count = len(group.faults)
    rate = estimate_rate(count, group.exposure, per=per)
    between = estimate_time_between(count, group.exposure)
    if group.occasions < RATE_EVENTS:
        rate, between = replace(rate, too_few=True), replace(between, too_few=True)
    trend = assess_trend(group.watches)
    quiet = _quiet(group)
    verdict, says = _judge(group, rate, trend, quiet, _last_fix(group))
    return Conclusion(rate, between, trend, quiet, verdict, says)


def _quiet(group: Group) -> float | None:
    """How likely so long a quiet is; asked only of one fault, and with all of it closed."""
    if group.likeness != "one" or group.occasions < LEAST_QUIET:
        return None
    if any(fault.state.is_open for fault in group.faults):
        return None
    if group.exposure <= 0:
        return None
    if not group.since_last:
        return 1.0
    return math.prod(one.before_last**one.occasions for one in group.exposed)


def _last_fix(group: Group) -> Event | None:
    """The fix that closed the last fault."""
    return group.faults[-1].state.closed_by if group.faults else None


def _judge(
    group: Group,
    rate: Figure,
    trend: Trend,
    quiet: float | None,
    last_fix: Event | None,
) -> tuple[Verdict, str]:
    count = len(group.faults)
    if group.exposure <= 0 or not count:
        none = "none found in service" if not count else "no use is recorded to count it against"
        return "no-rate", f"{none}: no rate."
    if group.likeness == "unsaid":
        return "unsaid", (
            "It is not said what these are, so unlike faults may stand together here: counted, "
            "and nothing is concluded."
        )
    if quiet is not None and quiet < FOUND and last_fix is not None:
        return "ended", _ended(group, quiet, last_fix)
    few = trend.laplace.too_few
    if not few:
        return _judge_trend(trend, count_words(group))
    looks = _looks(group)
    if looks:
        return "looks-rising", (
            f"{looks}: it looks like more, and may be chance. Too few to tell: "
            f"{group.occasions} of the {TREND_EVENTS} {_unit(group)} it takes."
        )
    if rate.too_few:
        told = count if group.occasions == count else count_words(group)
        return "too-few", f"Too few to tell ({told}): {range_words(rate, group.counter)}."
    return "rate-only", (
        f"The rate is known within a factor of three ({RATE_EVENTS} {_unit(group)} or more); "
        f"whether it grows is not: {group.occasions} of the {TREND_EVENTS} it takes."
    )


def _unit(group: Group) -> str:
    return "faults" if group.occasions == len(group.faults) else "occasions"


def count_words(group: Group) -> str:
    """How many faults, and on how many occasions where several were found at once."""
    count, occasions = len(group.faults), group.occasions
    words = f"{count} fault{'' if count == 1 else 's'}"
    if occasions == count:
        return words
    return f"{words} on {occasions} occasion{'' if occasions == 1 else 's'}"


def _judge_trend(trend: Trend, counted: str) -> tuple[Verdict, str]:
    found = [test for test in (trend.laplace, trend.handbook) if test.p is not None]
    sure = [test for test in found if test.p is not None and test.p < FOUND]
    words = " and ".join(f"{name} p {p_words(test.p)}" for name, test in _named(trend))
    if len(sure) == len(found) and len({test.direction for test in sure}) == 1:
        if sure[0].direction > 0:
            return "rising", (
                f"It comes more often with use: both trend tests say so ({words}, {counted})."
            )
        return "falling", (
            f"It comes less often with use: both trend tests say so ({words}, {counted})."
        )
    if sure:
        return "unsettled", (
            f"One trend test sees a change, the other does not ({words}, {counted}): not settled."
        )
    return "steady", (
        f"No trend is seen ({words}, {counted}); a threefold growth would more often "
        "have been seen than missed."
    )


def _named(trend: Trend) -> tuple[tuple[str, Evidence], ...]:
    return (("Laplace", trend.laplace), ("handbook", trend.handbook))


def _ended(group: Group, quiet: float, fix: Event) -> str:
    _, _, unit = PER[group.counter]
    since = group.since_last
    amount = since / 60 if group.counter == "engine-minutes" else since
    action = getattr(fix.body, "action", "")
    names = sorted(one.aircraft for one in group.exposed if one.count)
    whose = f" of {names[0]}" if len(names) == 1 else " of the aircraft that had it"
    return (
        f"None for {amount:.0f} {unit}{whose} since the last, which was fixed on "
        f'{fix.moment.day.isoformat()} ("{action}"): so long a quiet would be chance '
        f"{chance_words(quiet)}. The fix seems to have ended it."
    )


def chance_words(p: float) -> str:
    """A chance in a hundred, for reading."""
    if p < 0.001:
        return "less than once in 1000"
    return f"{p * 100:.0f} times in 100" if p >= 0.015 else "about once in 100"


def _looks(group: Group) -> str:
    """How many by season, where they look like more and more."""
    flown = [(year, count, used) for year, count, used in group.seasons if used > 0]
    if len(flown) < 2 or group.occasions < 3:
        return ""
    rates = [count / used for _, count, used in flown]
    growing = all(later >= earlier for earlier, later in pairwise(rates))
    if not growing or rates[-1] < LOOKS * rates[0] or flown[-1][1] <= flown[0][1]:
        return ""
    listed = ", ".join(str(count) for _, count, _ in flown)
    return f"{listed} in the seasons {flown[0][0]} to {flown[-1][0]}"


def range_words(rate: Figure, counter: str) -> str:
    """The interval alone: "between 0.3 and 7.2 in 100 flights"."""
    per = PER[counter][1]
    if rate.low is None or rate.high is None:
        return "no rate"
    return f"between {figure_words(rate.low)} and {figure_words(rate.high)} in {per}"


def figure_words(value: float) -> str:
    """Two figures that mean something: 0.31, 3.1, 31."""
    if value == 0:
        return "0"
    return f"{value:.2g}" if value < 10 else f"{value:.0f}"
