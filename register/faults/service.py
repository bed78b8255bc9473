"""Faults found in service, and the use of the aircraft they were found on.

Only what was found in service counts in a rate: a snag found at the kit check or in the build, or
before the aircraft came into service, had no flights to come from. Use is what the register saw
happen; opening counters are left out, for the snags of that time were not written down.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from itertools import accumulate

from msgspec import Struct

from register.findings.repeats import mode_of
from register.findings.snags import SnagState, fold_snags
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Snag, Stage
from register.tasks.calendar import season_of

NOT_IN_SERVICE = ("kit-check", "build")
SERVED = ("in-service", "laid-up")
COUNTERS = ("flights", "landings", "engine-minutes")


class Fault(Struct, frozen=True):
    """One snag as a fault: what it is counted under, and whether it was found in service."""

    state: SnagState
    day: date
    aircraft: str | None
    kit: str | None
    chapter: str | None
    system: str | None
    mode: str | None
    kind: str | None
    season: int
    serves: bool

    @property
    def position(self) -> str | None:
        """Where on the aircraft."""
        return self.state.position


class Usage:
    """What one aircraft gained, by counter and day."""

    def __init__(self, ledger: Ledger, aircraft: str):
        self.ledger = ledger
        self.aircraft = aircraft
        self.subject: Subject = ("aircraft", aircraft)
        items = ledger.counters.contributions(self.subject)
        self.days = [item.event.moment.day for item in items]
        self._sums: dict[str, list[Decimal]] = {}
        self._vague: dict[str, list[int]] = {}
        self._open: dict[str, list[Decimal]] = {}
        flights = [ledger.counters.amount(item.event, "flights", item.pieces) for item in items]
        for counter in COUNTERS:
            spans = [ledger.counters.amount(item.event, counter, item.pieces) for item in items]
            self._sums[counter] = [Decimal(0), *accumulate(span.low for span in spans)]
            self._vague[counter] = [0, *accumulate(int(not span.is_exact) for span in spans)]
            unknown = (
                flown.low if span.is_open else Decimal(0)
                for flown, span in zip(flights, spans, strict=True)
            )
            self._open[counter] = [Decimal(0), *accumulate(unknown)]

    def _ends(self, since: date | None, until: date | None) -> tuple[int, int]:
        low = bisect_left(self.days, since) if since is not None else 0
        high = bisect_right(self.days, until) if until is not None else len(self.days)
        return low, max(low, high)

    def gained(self, counter: str, since: date | None, until: date | None = None) -> float:
        """What was gained for certain from a day to a day, both counted."""
        low, high = self._ends(since, until)
        return float(self._sums[counter][high] - self._sums[counter][low])

    def is_vague(self, counter: str, since: date | None, until: date | None = None) -> bool:
        """Is that a range, of which the lower end was given?"""
        low, high = self._ends(since, until)
        return self._vague[counter][high] > self._vague[counter][low]

    def unsaid(self, counter: str, since: date | None, until: date | None = None) -> float:
        """Of how many flights it was never said how much."""
        low, high = self._ends(since, until)
        return float(self._open[counter][high] - self._open[counter][low])

    def place(self, counter: str, fault: Fault, since: date | None) -> float:
        """Where on the scale of a counter a fault was found, from `since` on.

        The middle of what the order of its day leaves open; half a flight back from the end of
        the flight it was found on, for a flight is a stretch and not a point.
        """
        low, high = self._ends_of(counter, fault, since)
        at = (low + high) / 2
        return at - 0.5 if counter != "engine-minutes" else at

    def latest(self, counter: str, fault: Fault, since: date | None) -> float:
        """The most that may have been gained when a fault was found, from `since` on."""
        return self._ends_of(counter, fault, since)[1]

    def _ends_of(self, counter: str, fault: Fault, since: date | None) -> tuple[float, float]:
        point = self.ledger.orders.last_point(fault.state.id)
        span = self.ledger.gained(self.subject, counter, None, point)
        high = span.low if span.high is None else span.high
        earlier = self.gained(counter, None, since - timedelta(days=1)) if since else 0.0
        return float(span.low) - earlier, float(high) - earlier


def gather_faults(ledger: Ledger) -> tuple[Fault, ...]:
    """Every snag as a fault, in order of finding."""
    service = {name: service_days(ledger, name) for name in ledger.records.aircraft}
    kits = {name: _kit_of(ledger, name) for name in ledger.records.aircraft}
    return tuple(_fault(ledger, state, kits, service) for state in fold_snags(ledger).values())


def _fault(
    ledger: Ledger,
    state: SnagState,
    kits: dict[str, str | None],
    service: dict[str, list[tuple[date, str]]],
) -> Fault:
    rules = ledger.records.fleet.faults
    day, aircraft = state.first_day, state.found_on
    body = state.event.body
    found = body.found if isinstance(body, Snag) else None
    stage = stage_on(service[aircraft], day) if aircraft is not None else None
    kind = ledger.records.parts[state.part].kind if state.part is not None else None
    if kind is None and aircraft is not None and state.position is not None:
        place = ledger.positions(aircraft).get(state.position)
        kind = place.kind if place else None
    return Fault(
        state,
        day,
        aircraft,
        kits[aircraft] if aircraft is not None else None,
        rules.chapter_of(state.system),
        state.system,
        mode_of(state),
        kind,
        season_of(day, ledger.records.fleet.season_start).year,
        found not in NOT_IN_SERVICE and stage in SERVED,
    )


def _kit_of(ledger: Ledger, aircraft: str) -> str | None:
    kit = ledger.records.find_kit(ledger.records.aircraft[aircraft].kit)
    return kit.name if kit else None


def service_days(ledger: Ledger, aircraft: str) -> list[tuple[date, str]]:
    """The stage from each day on."""
    found = [(date.min, ledger.records.aircraft[aircraft].stage)]
    for event in ledger.about(("aircraft", aircraft)):
        if isinstance(event.body, Stage):
            found.append((event.moment.day, event.body.stage))
    first = next((event.moment.day for event in ledger.flights(aircraft)), None)
    if first is not None and found[0][1] not in SERVED:
        # Flown before anybody recorded the stage: it was in service.
        found.append((first, "in-service"))
    return sorted(found, key=lambda pair: pair[0])


def stage_on(stages: Iterable[tuple[date, str]], day: date) -> str:
    return [stage for since, stage in stages if since <= day][-1]
