"""Counters of aircraft and parts, exact where the order is known, a span where not.

A part's counter = opening value + what its hosts gained while it was there + uses
that named it + its own events off any aircraft. The two ends of a span are each
reached by some admissible order.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.ledger.admissible import Walks
from register.ledger.amounts import engine_run_amount, flights_amount
from register.ledger.order import Orders, Point
from register.ledger.places import Names, Spell, Whereabouts
from register.ledger.stand_ins import WHOLE, StandIns, Weight
from register.ledger.totals import Days, running_totals, sum_between
from register.ledger.ways import Ways
from register.records.bodies import Charge, EngineRun, Flights
from register.records.events import Event
from register.records.kinds import gains_counter
from register.records.owner_bodies import UsageElsewhere
from register.records.standing_files import PerFlight
from register.records.values import NOTHING, Span

Subject = tuple[str, str]
"""("aircraft", name) or ("part", name)."""


class Piece(Struct, frozen=True):
    """One segment of an event that counts for a subject; `sure` false means perhaps."""

    point: Point
    sure: bool


class Contribution(Struct, frozen=True):
    """One event that counts for a subject."""

    event: Event
    pieces: tuple[Piece, ...]


Filler = Callable[[Event], Decimal | None]


class Counters:
    """Answers how much a subject gained between two points."""

    def __init__(
        self,
        orders: Orders,
        names: Names,
        places: Whereabouts,
        per_flight: Callable[[str], dict[str, PerFlight]],
        part_kinds: dict[str, tuple[str, ...]],
        originals: Mapping[str, Event],
    ):
        self.orders = orders
        self.names = names
        self.places = places
        self.per_flight = per_flight
        self.part_kinds = part_kinds
        self._contributions: dict[Subject, tuple[Contribution, ...]] = {}
        self._by_day: dict[Subject, dict[date, list[Contribution]]] = {}
        self._days: dict[tuple[Subject, str], Days] = {}
        self._whole: dict[tuple[str, str], Span] = {}
        self._allowed: dict[str, dict[str, PerFlight]] = {}
        self._filled: dict[str, dict[str, Decimal]] = defaultdict(dict)
        self._walks = Walks(orders)
        self._stand_ins = StandIns(originals, orders.events, names, places)
        self._flights: dict[str, list[Event]] = defaultdict(list)
        #: Flights that name no pack, by aircraft, and flights that name one, by part.
        self._silent: dict[str, list[Event]] = defaultdict(list)
        self._naming: dict[str, list[Event]] = defaultdict(list)
        self._own: dict[str, list[Event]] = defaultdict(list)
        self._ways = Ways(names, places, self._own)
        for event in orders.sequence:
            self._sort_event(event)

    def _sort_event(self, event: Event) -> None:
        body = event.body
        if isinstance(body, Flights):
            name = self.names.aircraft_name(body.aircraft)
            if name is not None:
                self._flights[name].append(event)
                if body.uses is None:
                    self._silent[name].append(event)
                for part in {self.names.part_name(ref) for ref in body.uses or ()} - {None}:
                    self._naming[part or ""].append(event)
        elif isinstance(body, (EngineRun, UsageElsewhere)):
            name = self.names.part_name(body.part)
            if name is not None:
                self._own[name].append(event)
        elif isinstance(body, Charge):
            for ref in dict.fromkeys(body.parts):
                name = self.names.part_name(ref)
                if name is not None:
                    self._own[name].append(event)

    def fill(self, counter: str, event_id: str, amount: Decimal) -> None:
        """Give an event an amount it did not state, from a meter."""
        self._filled[counter][event_id] = amount
        self._whole.pop((event_id, counter), None)
        self._days = {key: value for key, value in self._days.items() if key[1] != counter}

    def flights_of(self, aircraft: str) -> list[Event]:
        """Flights events of an aircraft, in order."""
        return self._flights.get(aircraft, [])

    def own_events(self, part: str) -> list[Event]:
        """Engine runs, charges and use elsewhere of a part, in order."""
        return self._own.get(part, [])

    def gains(self, subject: Subject, counter: str) -> bool:
        """Does this subject have this counter at all?"""
        kind, name = subject
        if kind == "aircraft":
            return counter != "charges"
        part = self.names.parts[name]
        own = part.counters if part.counters is not None else self.part_kinds.get(part.kind)
        return gains_counter(part.kind, counter, own) or counter in part.opening.counters

    # --- contributions ----------------------------------------------------

    def contributions(self, subject: Subject) -> tuple[Contribution, ...]:
        """Every event that counts for the subject, in order."""
        found = self._contributions.get(subject)
        if found is None:
            found = self._find_contributions(subject, ())
            if subject[0] == "part" and (usages := self._usages(subject[1], found)):
                rank = self.orders.rank
                found = tuple(sorted((*found, *usages), key=lambda item: rank[item.event.id]))
            self._contributions[subject] = found
        return found

    def weight(self, usage: Event) -> Weight:
        """How much of a usage elsewhere counts beside what other records tell."""
        body = usage.body
        part = self.names.part_name(body.part) if isinstance(body, UsageElsewhere) else None
        if part is not None:
            self.contributions(("part", part))
        return self._stand_ins.weights.get(usage.id, WHOLE)

    def _usages(self, part: str, others: tuple[Contribution, ...]) -> list[Contribution]:
        """Use elsewhere: of this part alone, whatever sits in it, and counted once."""
        own = [event for event in self._own.get(part, ()) if isinstance(event.body, UsageElsewhere)]
        counted = self._stand_ins.weigh(part, own, {item.event.id for item in others})
        return [
            Contribution(event, tuple(Piece(p, True) for p in self.orders.segments(event.id)))
            for event in counted
        ]

    def _find_contributions(
        self, subject: Subject, path: tuple[str, ...]
    ) -> tuple[Contribution, ...]:
        kind, name = subject
        if kind == "aircraft":
            return tuple(
                Contribution(event, tuple(Piece(p, True) for p in self.orders.segments(event.id)))
                for event in self._flights.get(name, ())
            )
        if name in path:
            return ()
        pieces: dict[str, dict[Point, bool]] = defaultdict(dict)
        for spell in self.places.spells.get(name, ()):
            if not spell.assigned:
                self._add_spell(spell, pieces, (*path, name))
        if self.names.parts[name].use == "assigned":
            self._add_uses(name, pieces)
        for event in self._own.get(name, ()):
            if not isinstance(event.body, UsageElsewhere):
                pieces[event.id] = {point: True for point in self.orders.segments(event.id)}
        return tuple(
            Contribution(
                self.orders.events[id_],
                tuple(Piece(point, sure) for point, sure in pieces[id_].items()),
            )
            for id_ in sorted(pieces, key=self.orders.rank.__getitem__)
        )

    def _add_spell(
        self, spell: Spell, pieces: dict[str, dict[Point, bool]], path: tuple[str, ...]
    ) -> None:
        host: tuple[Contribution, ...]
        if spell.into is not None:
            host = self._find_contributions(("part", spell.into), path)
        else:
            host = self.contributions(("aircraft", spell.aircraft or ""))
        for contribution in host:
            for piece in contribution.pieces:
                inside = self._inside(piece.point, spell)
                if inside is None:
                    continue
                held = pieces[contribution.event.id]
                held[piece.point] = held.get(piece.point, False) or (inside and piece.sure)
            if not pieces[contribution.event.id]:
                del pieces[contribution.event.id]

    def _inside(self, point: Point, spell: Spell) -> bool | None:
        """True surely inside the spell, False perhaps, None surely not."""
        started = self.orders.compare(spell.start.latest, point)
        if started != "before" and self.orders.compare(spell.start.earliest, point) == "after":
            return None
        sure = started == "before"
        if spell.end is not None:
            if self.orders.compare(point, spell.end.latest) == "after":
                return None
            sure = sure and self.orders.compare(point, spell.end.earliest) == "before"
        return sure

    def _add_uses(self, name: str, pieces: dict[str, dict[Point, bool]]) -> None:
        for event in self._naming.get(name, ()):
            pieces[event.id] = {point: True for point in self.orders.segments(event.id)}
        spells = [spell for spell in self.places.spells.get(name, ()) if spell.assigned]
        for aircraft, since in self.places.used_since(name).items():
            here = [spell for spell in spells if spell.aircraft == aircraft]
            events = self._silent.get(aircraft, [])
            first = bisect_left(events, since, key=lambda event: event.moment.day)
            for event in events[first:]:
                # The pack was not named: it may have been this one.
                perhaps = {
                    point: False
                    for point in self.orders.segments(event.id)
                    if any(self._inside(point, spell) is not None for spell in here)
                    or self.places.may_be_used(name, aircraft, point)
                }
                if perhaps:
                    pieces[event.id] = perhaps

    # --- amounts ----------------------------------------------------------

    def amount(self, event: Event, counter: str, pieces: tuple[Piece, ...]) -> Span:
        """What these pieces of an event add to a counter."""
        if len(pieces) < len(self.orders.segments(event.id)) or not all(p.sure for p in pieces):
            return self._amount(event, counter, pieces)
        # Most events count whole, and for many subjects at once.
        found = self._whole.get((event.id, counter))
        if found is None:
            found = self._whole[event.id, counter] = self._amount(event, counter, pieces)
        return found

    def _amount(self, event: Event, counter: str, pieces: tuple[Piece, ...]) -> Span:
        body = event.body
        if isinstance(body, EngineRun):
            return engine_run_amount(body, counter)
        if isinstance(body, Charge):
            return Span.exact(body.count) if counter == "charges" else NOTHING
        if isinstance(body, UsageElsewhere):
            return self.weight(event).of(body.amount(counter))
        if not isinstance(body, Flights):
            return NOTHING
        aircraft = self.names.aircraft_name(body.aircraft) or ""
        sure = [(p.point.low, p.point.high) for p in pieces if p.sure]
        maybe = [(p.point.low, p.point.high) for p in pieces]
        filled = self._filled.get(counter, {}).get(event.id)
        allowed = self._allowed.get(aircraft)
        if allowed is None:
            allowed = self._allowed[aircraft] = self.per_flight(aircraft)
        return flights_amount(body, counter, allowed, sure, maybe, filled)

    def _day_items(self, subject: Subject) -> dict[date, list[Contribution]]:
        """What counts for a subject, by day."""
        found = self._by_day.get(subject)
        if found is None:
            found = defaultdict(list)
            for contribution in self.contributions(subject):
                found[contribution.event.moment.day].append(contribution)
            self._by_day[subject] = found = dict(found)
        return found

    def _daily(self, subject: Subject, counter: str) -> Days:
        key = (subject, counter)
        found = self._days.get(key)
        if found is None:
            sums = {
                day: span
                for day, items in self._day_items(subject).items()
                if (span := self._day_span(subject, counter, items, None, None)) != NOTHING
            }
            found = running_totals(sums)
            self._days[key] = found
        return found

    def _day_span(
        self,
        subject: Subject,
        counter: str,
        items: list[Contribution],
        since: Point | None,
        until: Point | None,
    ) -> Span:
        """What the contributions of one day add: both ends are reached by some order."""
        total = NOTHING
        doubtful = False
        for item in items:
            span = self.amount(item.event, counter, item.pieces)
            doubtful = doubtful or not span.is_exact
            total = total + span
        if not doubtful or all(piece.sure for item in items for piece in item.pieces):
            return total
        doubts = tuple(
            self._ways.doubt(subject, item.event, piece.point)
            for item in items
            for piece in item.pieces
            if not piece.sure
        )
        found = self._walks.find(subject, doubts, since, until)
        if found is None:
            return total
        lowest, highest = found
        low = min(self._weigh(counter, items, counted).low for counted in lowest)
        tops = [self._weigh(counter, items, counted).high for counted in highest]
        high = None if None in tops else max(top for top in tops if top is not None)
        return Span(low, high, total.known)

    def _weigh(self, counter: str, items: list[Contribution], counted: frozenset[Point]) -> Span:
        total = NOTHING
        for item in items:
            kept = tuple(
                Piece(piece.point, True)
                for piece in item.pieces
                if piece.sure or piece.point in counted
            )
            total = total + self.amount(item.event, counter, kept)
        return total

    def gained(
        self, subject: Subject, counter: str, since: Point | None, until: Point | None = None
    ) -> Span:
        """Gain after `since` (None: from the beginning) and before `until` (None: to the end)."""
        if not self.gains(subject, counter):
            return NOTHING
        daily = self._daily(subject, counter)
        first = self.orders.events[since.event].moment.day if since else None
        last = self.orders.events[until.event].moment.day if until else None
        low = bisect_right(daily.days, first) if first else 0
        high = bisect_left(daily.days, last) if last else len(daily.days)
        total = sum_between(daily, low, high) if high > low else NOTHING
        for day in {day for day in (first, last) if day is not None}:
            total = total + self._partial(subject, counter, day, since, until)
        return total

    def _partial(
        self,
        subject: Subject,
        counter: str,
        day: date,
        since: Point | None,
        until: Point | None,
    ) -> Span:
        kept: list[Contribution] = []
        for contribution in self._day_items(subject).get(day, ()):
            pieces = []
            for piece in contribution.pieces:
                after = self.orders.compare(since, piece.point) if since else "before"
                before = self.orders.compare(piece.point, until) if until else "before"
                if after in ("after", "same") or before in ("after", "same"):
                    continue
                sure = piece.sure and after == "before" and before == "before"
                pieces.append(Piece(piece.point, sure))
            if pieces:
                kept.append(Contribution(contribution.event, tuple(pieces)))
        return self._day_span(subject, counter, kept, since, until) if kept else NOTHING

    def sum_of(self, subject: Subject, counter: str, items: Sequence[Contribution]) -> Span:
        """What some of a subject's contributions add together; both ends are reached."""
        days: dict[date, list[Contribution]] = defaultdict(list)
        for item in items:
            days[item.event.moment.day].append(item)
        found = (self._day_span(subject, counter, listed, None, None) for listed in days.values())
        return sum(found, NOTHING)

    def of_days(self, subject: Subject, counter: str, first: date, last: date) -> Span:
        """What whole days add, from the first to the last, both counted."""
        daily = self._daily(subject, counter)
        low, high = bisect_left(daily.days, first), bisect_right(daily.days, last)
        return sum_between(daily, low, high) if high > low else NOTHING

    def flights_after(self, aircraft: str, since: Point) -> Span:
        """Flights of an aircraft after a point."""
        return self.gained(("aircraft", aircraft), "flights", since)
