"""Flights that are recorded and pointed out: too long, too many, entered twice, too early."""

from __future__ import annotations

from decimal import Decimal

from register.entry.carried import LONG_FLIGHT, MANY_FLIGHTS
from register.entry.clerk import Written
from register.entry.drafting import Draft
from register.findings.cures import cures_of, is_before_full, until_words
from register.records.bodies import Flights
from register.records.values import format_amount


def warn_unlikely_flights(
    draft: Draft,
    aircraft: str,
    written: Written,
    count: int,
    total: Decimal | None,
    each: tuple[Decimal, ...],
) -> None:
    """Warn of what an entry of flights says that is seldom so, with the line that mends it."""
    short = draft.clerk.short(written.id)
    average = total / count if total is not None else Decimal(0)
    longest = max(each, default=average)
    if longest > LONG_FLIGHT:
        draft.warn(
            f"{format_amount(longest.quantize(Decimal('0.1')))} minutes for one flight is long; "
            "minutes and seconds are written 7m30s; "
            f"to mend: tailsheaf amend {short} {'each' if each else 'minutes'}=…"
        )
    if count > MANY_FLIGHTS:
        draft.warn(
            f"{count} flights in one entry of one day is a lot; "
            f"to mend: tailsheaf amend {short} count=…"
        )
    _warn_twin(draft, aircraft, count, total, each)
    _warn_before_opening(draft, aircraft, short)
    _warn_curing(draft, aircraft)


def _warn_twin(
    draft: Draft, aircraft: str, count: int, total: Decimal | None, each: tuple[Decimal, ...]
) -> None:
    """The same flights of the same day, without a time or an order to tell them apart."""
    if draft.when.instant is not None or draft.stamp.after:
        return
    for event in draft.clerk.ledger.flights(aircraft):
        body = event.body
        if (
            isinstance(body, Flights)
            and event.moment.day == draft.when.day
            and event.moment.instant is None
            and (body.count, body.minutes, body.each) == (count, total, each)
        ):
            short = draft.clerk.short(event.id)
            draft.warn(
                f"the same entry stands already: {short}; withdraw one if it is the same: "
                f"tailsheaf withdraw {short}"
            )
            return


def _warn_before_opening(draft: Draft, aircraft: str, short: str) -> None:
    as_of = draft.clerk.ledger.records.aircraft[aircraft].opening.as_of
    if as_of is not None and draft.when.day < as_of:
        draft.warn(
            f"before the opening of {as_of.isoformat()}, whose figures may already hold it: "
            f"if so tailsheaf withdraw {short}"
        )


def _warn_curing(draft: Draft, aircraft: str) -> None:
    """Flown before something had cured, for certain."""
    when, clerk = draft.when, draft.clerk
    for cure in cures_of(clerk.ledger, aircraft):
        first = (cure.body.mixed or cure.event.moment).day
        same_day = when.instant is not None and cure.is_exact and when.instant >= cure.mixed
        follows = same_day if when.day == first else when.day > first
        if follows and is_before_full(cure, when.day, when.instant, clerk.now):
            draft.warn(
                f"{cure.what} is not cured {until_words(cure)}: recorded, and check points it out"
            )
