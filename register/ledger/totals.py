"""Sums of a counter by day with running totals: any stretch of days is one subtraction."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.records.values import ZERO, Span


class Days(Struct):
    """Daily sums of one counter of one subject, with running totals."""

    days: list[date]
    lows: list[Decimal]
    highs: list[Decimal]
    opens: list[int]
    guesses: list[int]


def running_totals(sums: dict[date, Span]) -> Days:
    """Running totals of what each day adds."""
    days = sorted(sums)
    found = Days(days, [ZERO], [ZERO], [0], [0])
    for day in days:
        span = sums[day]
        found.lows.append(found.lows[-1] + span.low)
        found.highs.append(found.highs[-1] + (span.low if span.high is None else span.high))
        found.opens.append(found.opens[-1] + (span.high is None))
        found.guesses.append(found.guesses[-1] + (span.known != "known"))
    return found


def sum_between(daily: Days, low: int, high: int) -> Span:
    """Sum of the days numbered `low` up to `high`, from running totals."""
    least = daily.lows[high] - daily.lows[low]
    open_days = daily.opens[high] - daily.opens[low]
    if open_days:
        return Span(least, None, "unknown")
    guessed = daily.guesses[high] - daily.guesses[low]
    most = daily.highs[high] - daily.highs[low]
    return Span(least, most, "estimated" if guessed else "known")
