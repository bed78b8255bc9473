"""Where nothing changes, the sentences claim a change no more often than they say.

Hundreds of aircraft with faults at a steady rate, each fixed at once, all in one fleet; every
aircraft is a group of its own. Nothing here gets worse and no fix ends anything.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from datetime import date, timedelta

import pytest
from laws.sheets import Sheets

from register.faults.concluding import FOUND, LEAST_QUIET
from register.faults.enough import TREND_EVENTS
from register.views.faults import FaultLine, FaultsAsked, view_faults

FIRST = date(2025, 4, 5)
DAYS, FLIGHTS = 40, 2


def draw_fleet(rng: random.Random, aircraft: int, mean: float) -> Sheets:
    """Flying days a week apart; each flight brings faults at one rate, placed on that flight."""
    sheets = Sheets()
    for number in range(aircraft):
        name = f"jet-{number}"
        sheets.aircraft(name)
        for week in range(DAYS):
            when = (FIRST + timedelta(weeks=week)).isoformat()
            flown = sheets.fly(when, FLIGHTS, aircraft=name)
            for flight in range(1, FLIGHTS + 1):
                for _ in range(count_of(rng, mean / (DAYS * FLIGHTS))):
                    after = f"{flown}:{flight}"
                    snag = sheets.add(
                        "snag",
                        when,
                        aircraft=name,
                        text="loose",
                        mode="loose",
                        severity="deferrable",
                        after=after,
                    )
                    sheets.add(
                        "fix", when, snags=[snag], action="tightened", closes=True, seen=[snag],
                        after=snag,
                    )  # fmt: skip
    return sheets


def count_of(rng: random.Random, mean: float) -> int:
    """A Poisson count, by its gaps."""
    count, at = 0, rng.expovariate(1.0)
    while at <= mean:
        count, at = count + 1, at + rng.expovariate(1.0)
    return count


def conclude_all(sheets: Sheets) -> tuple[FaultLine, ...]:
    """What `faults --by aircraft` concludes of each."""
    ledger = sheets.ledger()
    return view_faults(
        ledger, FIRST + timedelta(weeks=DAYS), (), FaultsAsked(by=("aircraft",))
    ).lines


@pytest.mark.parametrize(
    "aircraft",
    [pytest.param(120, id="short"), pytest.param(1000, id="long", marks=pytest.mark.heavy)],
)
def test_a_steady_rate_is_seldom_said_to_change(aircraft: int) -> None:
    lines = conclude_all(draw_fleet(random.Random(4), aircraft, 20.0))
    told = Counter(line.conclusion.verdict for line in lines)
    tested = [line for line in lines if line.group.occasions >= TREND_EVENTS]
    assert len(tested) > 0.75 * aircraft

    def most(level: float, among: int) -> float:
        return level + 4 * math.sqrt(level * (1 - level) / among)

    # Both tests must agree on the way, so each way is rarer than the half of their 5 %.
    for verdict in ("rising", "falling"):
        assert told[verdict] / len(tested) <= most(FOUND / 2, len(tested))
    assert told["ended"] / aircraft <= most(FOUND, aircraft)
    # Nearly all else is steady: the tests did run.
    assert told["steady"] > 0.7 * len(tested)


def test_so_long_a_quiet_is_as_rare_as_is_said() -> None:
    """Of few faults each: the chance of a quiet is itself evenly spread, as a p must be."""
    lines = conclude_all(draw_fleet(random.Random(9), 150, 5.0))
    told = sorted(line.conclusion.quiet for line in lines if line.conclusion.quiet is not None)
    assert len(told) > 100
    for level in (FOUND, 0.2, 0.5):
        share = sum(p <= level for p in told) / len(told)
        assert share <= level + 4 * math.sqrt(level * (1 - level) / len(told))
    # And it is no more cautious than whole flights make it.
    assert sum(p <= 0.5 for p in told) / len(told) > 0.3


def test_three_faults_must_lie_in_the_first_third_to_be_called_ended() -> None:
    """The least number asked of, from the chance itself: one or two could never be told."""
    share = FOUND ** (1 / LEAST_QUIET)
    assert 1 / 3 < share < 0.37
    for early, ended in ((0.36, True), (0.38, False)):
        sheets = Sheets()
        for flight in range(1, 101):
            when = (FIRST + timedelta(days=flight)).isoformat()
            flown = sheets.fly(when)
            if flight not in (10, 20, round(100 * early)):
                continue
            snag = sheets.add(
                "snag",
                when,
                aircraft="heron",
                text="loose",
                mode="loose",
                severity="deferrable",
                after=flown,
            )
            sheets.add(
                "fix", when, snags=[snag], action="glued", closes=True, seen=[snag], after=snag
            )
        [line] = conclude_all(sheets)
        assert (line.conclusion.verdict == "ended") is ended
        assert line.conclusion.quiet == pytest.approx((early - 0.005) ** 3)
