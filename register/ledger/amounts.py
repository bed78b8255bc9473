"""What the flights of one event add to a counter, when only some of them count.

Given minutes flight by flight the answer is exact; a day's total given as one
figure is shared over its flights only as a span.
"""

from __future__ import annotations

from decimal import Decimal

from register.records.bodies import EngineRun, Flights
from register.records.standing_files import PerFlight
from register.records.values import MINUTE_COUNTERS, NOTHING, ZERO, Known, Span

Ranges = list[tuple[int, int]]
"""Flight numbers `low` to `high`, from 1, both included."""

#: A flight is a landing and a gear cycle unless said otherwise (common practice, no source).
DEFAULT_PER_FLIGHT = {"landings": Decimal(1), "gear-cycles": Decimal(1)}


def flights_amount(
    body: Flights,
    counter: str,
    per_flight: dict[str, PerFlight],
    sure: Ranges,
    maybe: Ranges,
    filled: Decimal | None,
) -> Span:
    """Gain of a counter from the flights surely (`sure`) and perhaps (`maybe`) counted.

    `filled` is a total from a meter where the event states none.
    """
    least, most = _size(sure), _size(maybe)
    if most == 0:
        return NOTHING
    if counter == "flights":
        return Span(Decimal(least), Decimal(most))
    if counter == "minutes" and body.each:
        return Span(_sum(body.each, sure), _sum(body.each, maybe))
    if counter == "minutes":
        return _share(body.minutes, body.count, least, most)
    stated = _stated(body, counter)
    if stated is not None:
        if stated == body.count:
            return Span(Decimal(least), Decimal(most))
        return _share(stated, body.count, least, most)
    if filled is not None:
        span = _share(filled, body.count, least, most)
        return Span(span.low, span.high, "estimated")
    return _allowed(counter, per_flight.get(counter), least, most)


def engine_run_amount(body: EngineRun, counter: str) -> Span:
    """Gain of a counter from a run on the ground or the bench."""
    if counter == "engine-minutes":
        return Span(ZERO, None, "unknown") if body.minutes is None else Span.exact(body.minutes)
    if counter == "engine-starts":
        return Span.exact(1 if body.starts is None else body.starts)
    return NOTHING


def _allowed(counter: str, allowance: PerFlight | None, least: int, most: int) -> Span:
    """What a flight adds by itself: a stated allowance, the usual one, or not known."""
    if allowance is not None:
        # An allowance for running time is never more than an estimate.
        known: Known = "estimated" if counter in MINUTE_COUNTERS else "known"
        return Span(allowance.amount * least, allowance.amount * most, known)
    default = DEFAULT_PER_FLIGHT.get(counter)
    if default is not None:
        return Span(default * least, default * most)
    if counter in ("engine-minutes", "engine-starts"):
        return Span(ZERO, None, "unknown")
    return NOTHING


def _stated(body: Flights, counter: str) -> Decimal | None:
    if counter == "engine-minutes":
        return body.engine_minutes
    return next((amount for name, amount in body.gained if name == counter), None)


def _share(total: Decimal | None, count: int, least: int, most: int) -> Span:
    if total is None:
        return Span(ZERO, None, "unknown")
    return Span(total if least >= count else ZERO, total)


def _size(ranges: Ranges) -> int:
    return sum(high - low + 1 for low, high in ranges)


def _sum(each: tuple[Decimal, ...], ranges: Ranges) -> Decimal:
    return sum((sum(each[low - 1 : high], ZERO) for low, high in ranges), ZERO)
