"""The ledger of a fleet as known on a day."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from decimal import Decimal
from functools import cached_property
from itertools import pairwise

from register.ledger.counters import Counters, Subject
from register.ledger.order import Orders, Point
from register.ledger.places import Names, Spell, Whereabouts
from register.ledger.settling import Settled, settle_events
from register.records.bodies import Fix, Flights, Incident, Layup, MeterReading, Stage, TaskDone
from register.records.events import Event
from register.records.gathering import Records
from register.records.owner_bodies import ChangeOfOwner
from register.records.programmes import ProgrammeFile, Task
from register.records.standing_files import AircraftFile, PartFile, PerFlight, Position
from register.records.values import Ref, Span, format_amount
from register.trouble import Problem


class Ledger:
    """All records, settled, ordered and counted; facts dated up to `day` (None: all)."""

    def __init__(self, records: Records, day: date | None = None):
        self.records = records
        self.day = day
        self.names = Names(records.aircraft, records.parts)
        self.settled: Settled = settle_events(records.events, records.zone, records.lost_ids)
        dated = [event for event in self.settled.events if day is None or event.moment.day <= day]
        self.orders = Orders(dated)
        self.places = Whereabouts(self.orders, self.names)
        self.counters = Counters(
            self.orders,
            self.names,
            self.places,
            self.per_flight,
            records.fleet.part_kinds,
            self.settled.originals,
        )
        self._happenings: dict[str, list[Event]] = {}
        self.meter_problems: list[Problem] = []
        self._fill_from_meters()

    def at(self, day: date) -> Ledger:
        """The same records, with facts dated up to `day` as known now."""
        return Ledger(self.records, day)

    # --- standing files -----------------------------------------------------

    def per_flight(self, aircraft: str) -> dict[str, PerFlight]:
        """What a flight adds by itself: the kit's figures, then the aircraft's own."""
        file = self.records.aircraft.get(aircraft)
        if file is None:
            return {}
        kit = self.records.find_kit(file.kit)
        return {**(kit.per_flight if kit else {}), **file.per_flight}

    def positions(self, aircraft: str) -> dict[str, Position]:
        """Positions of the kit, then the aircraft's own."""
        file = self.records.aircraft[aircraft]
        kit = self.records.find_kit(file.kit)
        return {**(kit.positions if kit else {}), **file.positions}

    def is_lost(self, aircraft: str) -> bool:
        """Can the file of an aircraft, or that of its kit, not be read?"""
        file = self.records.aircraft[aircraft]
        kit = self.records.find_kit(file.kit)
        return file.path in self.records.lost or (kit is not None and kit.path in self.records.lost)

    def programme(self, ref: Ref) -> ProgrammeFile | None:
        """A programme by id, else by name."""
        for programme in self.records.programmes.values():
            if ref.id and programme.id == ref.id:
                return programme
        return self.records.programmes.get(ref.name)

    def tasks(self, aircraft: str) -> tuple[Task, ...]:
        """The tasks an aircraft follows; the first of two with one id counts."""
        found: dict[str, Task] = {}
        for use in self.records.aircraft[aircraft].programmes:
            programme = self.programme(use.ref)
            if programme is None:
                continue
            for task in programme.tasks:
                if use.group is None or task.group == use.group:
                    found.setdefault(task.id, task)
        return tuple(found.values())

    @cached_property
    def events(self) -> list[Event]:
        """Events that count, in order."""
        return self.orders.sequence

    def happenings(self, aircraft: str) -> list[Event]:
        """The few events that open tasks of an aircraft, in order: its incidents, that it came
        from another owner, what was installed in it and taken off it, and every fix."""
        found = self._happenings.get(aircraft)
        if found is None:
            listed = [*self._incidents[aircraft], *self._fixes, *self.places.moves(aircraft)]
            found = sorted(listed, key=lambda event: self.rank[event.id])
            self._happenings[aircraft] = found
        return found

    @cached_property
    def _incidents(self) -> dict[str, list[Event]]:
        found: dict[str, list[Event]] = defaultdict(list)
        for event in self.events:
            came = isinstance(event.body, ChangeOfOwner) and event.body.way == "in"
            if isinstance(event.body, Incident) or came:
                found[self.names.aircraft_name(getattr(event.body, "aircraft", None)) or ""].append(
                    event
                )
        return found

    @cached_property
    def _fixes(self) -> list[Event]:
        return [event for event in self.events if isinstance(event.body, Fix)]

    @cached_property
    def dones(self) -> dict[str, dict[Subject | None, list[Event]]]:
        """Every done by task and by what it names, in order."""
        found: dict[str, dict[Subject | None, list[Event]]] = {}
        for event in self.events:
            body = event.body
            if isinstance(body, TaskDone):
                named = found.setdefault(body.task, {})
                named.setdefault(self.subject_of(body.subject), []).append(event)
        return found

    @property
    def rank(self) -> dict[str, int]:
        """Place of each event in the deterministic order."""
        return self.orders.rank

    def file_of(self, subject: Subject) -> AircraftFile | PartFile:
        """The standing file of a subject."""
        kind, name = subject
        return self.records.aircraft[name] if kind == "aircraft" else self.records.parts[name]

    def subject_of(self, ref: Ref | None) -> Subject | None:
        """The aircraft or part that a reference means; an aircraft wins over a part."""
        name = self.names.aircraft_name(ref)
        if name is not None and not (ref and ref.id and self.names.part_name(ref) != ref.name):
            return ("aircraft", name)
        part = self.names.part_name(ref)
        if part is not None:
            return ("part", part)
        return None if name is None else ("aircraft", name)

    # --- counters -----------------------------------------------------------

    def value(self, subject: Subject, counter: str, until: Point | None = None) -> Span:
        """Counter since new: opening value plus all gains."""
        opening = self.file_of(subject).opening.value(counter)
        return opening + self.counters.gained(subject, counter, None, until)

    def gained(
        self, subject: Subject, counter: str, since: Point | None, until: Point | None = None
    ) -> Span:
        """Gain between two points."""
        return self.counters.gained(subject, counter, since, until)

    def last_overhaul(self, part: str) -> Event | None:
        """The last done task marked as an overhaul of this part."""
        overhauls = {
            task.id
            for programme in self.records.programmes.values()
            for task in programme.tasks
            if task.overhaul
        }
        for event in reversed(self.events):
            body = event.body
            if (
                isinstance(body, TaskDone)
                and body.task in overhauls
                and body.result != "fail"
                and self.subject_of(body.subject) == ("part", part)
            ):
                return event
        return None

    def since_overhaul(self, part: str, counter: str) -> Span:
        """Counter since the last overhaul; since new if there was none."""
        last = self.last_overhaul(part)
        if last is not None:
            return self.gained(("part", part), counter, self.orders.last_point(last.id))
        opening = self.records.parts[part].opening.overhaul.get(counter)
        if opening is not None:
            return opening + self.gained(("part", part), counter, None)
        return self.value(("part", part), counter)

    def since_installed(self, spell: Spell, counter: str) -> Span:
        """Counter since a stay began."""
        return self.gained(("part", spell.part), counter, spell.start.latest)

    def listed_counters(self, subject: Subject) -> tuple[str, ...]:
        """Counters worth showing for a subject, in the fleet's order."""
        return tuple(
            counter
            for counter in self.records.fleet.counters
            if self.counters.gains(subject, counter)
        )

    # --- days ---------------------------------------------------------------

    def flights(self, aircraft: str) -> list[Event]:
        """Flights events of an aircraft, in order."""
        return self.counters.flights_of(aircraft)

    def last_use(self, subject: Subject) -> date | None:
        """Last day an aircraft flew, or a part flew, ran or was charged for certain."""
        kind, name = subject
        if kind == "aircraft":
            flown = self.flights(name)
            return flown[-1].moment.day if flown else None
        sure = [
            item.event.moment.day
            for item in self.counters.contributions(subject)
            if any(piece.sure for piece in item.pieces)
        ]
        return max(sure, default=None)

    def first_day(self, subject: Subject) -> date | None:
        """The first day anything is recorded of a subject."""
        opening = self.file_of(subject).opening.as_of
        days = [opening] if opening else []
        days.extend(event.moment.day for event in self._about[subject][:1])
        return min(days, default=None)

    def about(self, subject: Subject) -> list[Event]:
        """Every event about a subject itself, in order."""
        return self._about[subject]

    @cached_property
    def _about(self) -> dict[Subject, list[Event]]:
        found: dict[Subject, list[Event]] = defaultdict(list)
        for event in self.events:
            for subject in self.subjects_of(event):
                found[subject].append(event)
        return found

    def subjects_of(self, event: Event) -> tuple[Subject, ...]:
        """The aircraft and parts an event names."""
        body = event.body
        found: list[Subject] = []
        aircraft = self.names.aircraft_name(getattr(body, "aircraft", None))
        if aircraft:
            found.append(("aircraft", aircraft))
        for ref in (getattr(body, "part", None), getattr(body, "into", None)):
            part = self.names.part_name(ref)
            if part:
                found.append(("part", part))
        subject = self.subject_of(getattr(body, "subject", None))
        if subject:
            found.append(subject)
        for ref in getattr(body, "parts", ()) or ():
            part = self.names.part_name(ref)
            if part:
                found.append(("part", part))
        for ref in getattr(body, "uses", ()) or ():
            part = self.names.part_name(ref)
            if part:
                found.append(("part", part))
        return tuple(dict.fromkeys(found))

    def stage(self, aircraft: str) -> tuple[str, Event | None]:
        """The stage of an aircraft now, and the record that says so."""
        return self.stages(aircraft)[-1]

    def stages(self, aircraft: str) -> list[tuple[str, Event | None]]:
        """Every stage an aircraft was in, in order, each with the record that says so."""
        stage: str = self.records.aircraft[aircraft].stage
        before_layup = before_sale = stage
        found: list[tuple[str, Event | None]] = [(stage, None)]
        for event in self.about(("aircraft", aircraft)):
            body = event.body
            if isinstance(body, Stage):
                stage = body.stage
            elif isinstance(body, Layup) and body.state == "begin":
                before_layup = stage if stage != "laid-up" else before_layup
                stage = "laid-up"
            elif isinstance(body, Layup) and stage == "laid-up":
                stage = before_layup if before_layup != "laid-up" else "in-service"
            elif isinstance(body, ChangeOfOwner) and body.way == "out":
                before_sale = stage if stage != "sold" else before_sale
                stage = "sold"
            elif isinstance(body, ChangeOfOwner) and stage == "sold":
                stage = before_sale
            else:
                continue
            found.append((stage, event))
        return found

    def gone(self, subject: Subject) -> Event | None:
        """The record by which an aircraft or part went to another owner, unless it came back."""
        found: Event | None = None
        for event in self.about(subject):
            if isinstance(event.body, ChangeOfOwner):
                found = event if event.body.way == "out" else None
        return found

    # --- meters -------------------------------------------------------------

    def _fill_from_meters(self) -> None:
        readings: dict[tuple[str, str], list[Event]] = defaultdict(list)
        for event in self.events:
            body = event.body
            if isinstance(body, MeterReading) and body.value is not None:
                part = self.names.part_name(body.part)
                if part is not None:
                    readings[(part, body.counter)].append(event)
        for (part, counter), events in sorted(readings.items()):
            for one, two in pairwise(events):
                self._fill_gap(part, counter, one, two)

    def _fill_gap(self, part: str, counter: str, one: Event, two: Event) -> None:
        """Between two readings of one meter: fill what no event states; show a disagreement."""
        first, second = one.body, two.body
        if not isinstance(first, MeterReading) or not isinstance(second, MeterReading):
            return
        if second.replaced or first.value is None or second.value is None:
            return
        subject: Subject = ("part", part)
        since, until = self.orders.last_point(one.id), self.orders.segments(two.id)[0]
        gained = self.gained(subject, counter, since, until)
        missing = second.value - first.value - gained.low
        silent = [
            item.event
            for item in self.counters.contributions(subject)
            if isinstance(item.event.body, Flights)
            and self.counters.amount(item.event, counter, item.pieces).is_open
            # A meter says nothing of flights that its part was not, or perhaps not, in.
            and len(item.pieces) == len(self.orders.segments(item.event.id))
            and all(piece.sure for piece in item.pieces)
            and all(self.orders.compare(since, piece.point) == "before" for piece in item.pieces)
            and all(self.orders.compare(piece.point, until) == "before" for piece in item.pieces)
        ]
        if silent and missing >= 0:
            flights = sum(event.body.count for event in silent if isinstance(event.body, Flights))
            left = missing
            for event in silent[:-1]:
                if isinstance(event.body, Flights):
                    share = (missing * event.body.count / Decimal(flights)).quantize(Decimal("0.1"))
                    self.counters.fill(counter, event.id, share)
                    left -= share
            # The last takes what is left, so that the sum is the meter's own figure.
            self.counters.fill(counter, silent[-1].id, left)
            return
        if missing < 0 or (gained.high is not None and missing > gained.high - gained.low):
            self.meter_problems.append(
                Problem(
                    two.place("value"),
                    "meter-disagrees",
                    f"the meter of {part} moved by {format_amount(second.value - first.value)}, "
                    f"the records by {format_amount(gained.low)}; the records count",
                    f"tailsheaf engine-run {part} MINUTES, or amend the flights in between",
                    "warning",
                    related=(one.place("value"),),
                )
            )

    @cached_property
    def uncounted(self) -> tuple[str, ...]:
        """Files whose facts count for nothing: not read, an id twice, or about nobody known."""
        paths = set(self.records.unread)
        paths |= {p.place.file for p in self.settled.problems if p.level == "error"}
        for event in self.events:
            body = event.body
            refs = [getattr(body, key, None) for key in ("aircraft", "part", "subject")]
            home = event.path.split("/events/")[0]
            # Where the aircraft's own file was not read, naming that file is enough.
            named = {f"{home}/aircraft.yaml", f"{home}/part.yaml"}
            lost = any(ref is not None for ref in refs) and not self.subjects_of(event)
            if lost and not named & paths:
                paths.add(event.path)
        return tuple(sorted(paths))

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Problems found while settling, ordering and placing."""
        return (
            *self.settled.problems,
            *self.orders.problems,
            *self.places.problems,
            *self.meter_problems,
        )
