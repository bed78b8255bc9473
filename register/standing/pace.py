"""What one more flight adds, and how the fleet's own flying runs through a year."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal
from itertools import accumulate
from weakref import WeakKeyDictionary

from msgspec import Struct

from register.ledger.amounts import DEFAULT_PER_FLIGHT
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Flights
from register.records.values import MINUTE_COUNTERS, ZERO, format_amount
from register.tasks.calendar import month_end

#: The next flight, for minute counters, is the longest of so many last ones.
LOOK_BACK = 10
#: Fewer flying days than this give no forecast.
LEAST_DAYS = 5
LONGEST_FORECAST_DAYS = 3 * 366


class NextFlight(Struct, frozen=True):
    """What the next flight adds to a counter, and how that is known."""

    amount: Decimal
    says: str


def next_flight(ledger: Ledger, aircraft: str, subject: Subject, counter: str) -> NextFlight:
    """The gain to reckon with from one more flight of an aircraft."""
    if not ledger.counters.gains(subject, counter) or counter == "charges":
        return NextFlight(ZERO, "a flight adds nothing")
    if counter == "flights":
        return NextFlight(Decimal(1), "one flight")
    if counter in MINUTE_COUNTERS:
        return _longest(ledger, aircraft, counter)
    per_flight = ledger.per_flight(aircraft).get(counter)
    if per_flight is not None:
        return NextFlight(per_flight.amount, f"{format_amount(per_flight.amount)} a flight")
    default = DEFAULT_PER_FLIGHT.get(counter)
    if default is not None:
        return NextFlight(default, f"{format_amount(default)} a flight")
    return _most_recent(ledger, aircraft, counter)


def _longest(ledger: Ledger, aircraft: str, counter: str) -> NextFlight:
    """The longest of the last ten flights; a total is shared evenly for this."""
    single: list[Decimal] = []
    for event in reversed(ledger.flights(aircraft)):
        body = event.body
        if not isinstance(body, Flights):
            continue
        single.extend(_minutes_each(body, counter))
        if len(single) >= LOOK_BACK:
            break
    per_flight = ledger.per_flight(aircraft).get(counter)
    if not single and per_flight is not None:
        single = [per_flight.amount]
    if not single and counter == "engine-minutes":
        airborne = _longest(ledger, aircraft, "minutes")
        return NextFlight(airborne.amount, f"{airborne.says}, airborne")
    if not single:
        return NextFlight(ZERO, "no flight with minutes is recorded")
    longest = max(single[:LOOK_BACK])
    return NextFlight(
        longest,
        f"{format_amount(longest)} min, the longest of the last {min(len(single), LOOK_BACK)}",
    )


def _minutes_each(body: Flights, counter: str) -> list[Decimal]:
    if counter == "minutes" and body.each:
        return list(reversed(body.each))
    total = body.minutes if counter == "minutes" else body.engine_minutes
    if total is None:
        return []
    return [(total / body.count).quantize(Decimal("0.1"))] * body.count


def _most_recent(ledger: Ledger, aircraft: str, counter: str) -> NextFlight:
    for event in reversed(ledger.flights(aircraft)):
        body = event.body
        if isinstance(body, Flights):
            for name, amount in body.gained:
                if name == counter:
                    share = (amount / body.count).quantize(Decimal("0.1"))
                    return NextFlight(share, f"{format_amount(share)} a flight, as last recorded")
    return NextFlight(ZERO, "not recorded by flight")


class Forecast(Struct, frozen=True):
    """When a counter limit will be reached, from the aircraft's own pattern of flying."""

    likely: date | None
    earliest: date | None
    latest: date | None
    flying_days: int
    says: str


def forecast(
    ledger: Ledger, aircraft: str, counter: str, left: Decimal, day: date
) -> Forecast | None:
    """The day `left` more of a counter will have been flown, with a range.

    Flying days a month are those of the aircraft's own past years (season and weather
    in them), not a flat average; what a flying day adds is its median, with its lower
    and upper tenth for the range. None when too few days are recorded or nothing is left.
    """
    if left <= 0:
        return None
    paces = _PACES.setdefault(ledger, {})
    found = paces.get((aircraft, counter, day))
    if found is None:
        found = paces[aircraft, counter, day] = _find_pace(ledger, aircraft, counter, day)
    return _forecast(found, left)


def _forecast(pace: _Pace, left: Decimal) -> Forecast | None:
    sizes = pace.sizes
    if len(sizes) < LEAST_DAYS:
        return None
    middle = sizes[len(sizes) // 2]
    small, large = sizes[len(sizes) // 10], sizes[-1 - len(sizes) // 10]
    if middle <= 0 or small <= 0:
        return None
    # Decimal // rounds towards nought, so not -(-left // middle).
    needed = int((left / middle).to_integral_value(ROUND_CEILING))
    return Forecast(
        pace.reach(float(left / middle)),
        pace.reach(float(left / large)),
        pace.reach(float(left / small)),
        needed,
        f"{needed} flying day{'' if needed == 1 else 's'} at {format_amount(middle)} a day "
        f"(median of {len(sizes)})",
    )


class _Pace(Struct, frozen=True):
    """How an aircraft flies: what its flying days added, smallest first, and the flying
    days to expect by the end of each day after `start`."""

    start: date
    sizes: tuple[Decimal, ...]
    expected: tuple[float, ...]

    def reach(self, needed: float) -> date | None:
        """The day by which so many flying days are to be expected."""
        days = bisect_left(self.expected, needed)
        return self.start + timedelta(days=days + 1) if days < len(self.expected) else None


#: One pace serves every limit of an aircraft; as long as anything holds the ledger.
_PACES: WeakKeyDictionary[Ledger, dict[tuple[str, str, date], _Pace]] = WeakKeyDictionary()


def _find_pace(ledger: Ledger, aircraft: str, counter: str, day: date) -> _Pace:
    gains = _day_gains(ledger, aircraft, counter)
    if len(gains) < LEAST_DAYS:
        return _Pace(day, (), ())
    rates = _monthly_rates(sorted(gains), day)
    return _Pace(day, tuple(sorted(gains.values())), tuple(_expected(rates, day)))


def _day_gains(ledger: Ledger, aircraft: str, counter: str) -> dict[date, Decimal]:
    gains: dict[date, Decimal] = defaultdict(lambda: ZERO)
    subject: Subject = ("aircraft", aircraft)
    for contribution in ledger.counters.contributions(subject):
        span = ledger.counters.amount(contribution.event, counter, contribution.pieces)
        if span.high is not None:
            gains[contribution.event.moment.day] += span.high
    return {day: gain for day, gain in gains.items() if gain > 0}


def _monthly_rates(days: list[date], until: date) -> dict[int, float]:
    """Flying days per calendar day, by month, over the months that were observed."""
    flown: dict[int, int] = defaultdict(int)
    for day in days:
        flown[day.month] += 1
    observed: dict[int, int] = defaultdict(int)
    first = days[0]
    while first <= until:
        last = min(month_end(first), until)
        observed[first.month] += last.day - first.day + 1
        first = last + timedelta(days=1)
    overall = len(days) / max(sum(observed.values()), 1)
    return {
        month: flown[month] / observed[month] if observed[month] else overall
        for month in range(1, 13)
    }


def _expected(rates: dict[int, float], start: date) -> Iterator[float]:
    """Flying days to expect by the end of each day after `start`."""
    first = start.toordinal() + 1
    days = range(first, min(first + LONGEST_FORECAST_DAYS, date.max.toordinal() + 1))
    return accumulate(rates[date.fromordinal(number).month] for number in days)
