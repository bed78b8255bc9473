"""What is curing: from when it may be handled and loaded, and what rests on it.

Times run from the mixing by the clock, across changes of summer time. A mixing without a time
of day takes the end of its day, the cautious end. A *day* is judged by the date on which the
cure ends: through that whole day it is not complete, and the reason names the hour; `cure`
itself knows the hour it is asked.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from weakref import WeakKeyDictionary

from msgspec import Struct

from register.findings.snags import host_aircraft
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.workshop_bodies import Cure
from register.trouble import Place

#: Shown with every cure clock.
CAUTION = (
    "Loading before cure can let go in the air. Cold, damp, a thick joint or a wrong mix cure "
    "slower than the table; this clock is a reminder. Follow the maker's leaflet."
)


class CureState(Struct, frozen=True):
    """One cure. Moments are in home time; None where the maker's time is not recorded."""

    event: Event
    body: Cure
    hosts: tuple[str, ...]
    part: str | None
    mixed: datetime
    is_exact: bool
    handling_at: datetime | None
    full_at: datetime | None

    @property
    def what(self) -> str:
        """What cures, in words: as typed, else the place, else the adhesive."""
        return self.body.text or self.body.at or self.body.adhesive

    @property
    def place(self) -> Place:
        """The figure that holds it back."""
        return self.event.place("full_minutes")

    def is_open_at(self, moment: datetime) -> bool:
        """Not at full load yet; without a recorded time that cannot be told, so it counts."""
        return self.full_at is None or moment < self.full_at

    def is_open_on(self, day: date) -> bool:
        """Not complete on a day: through the whole day on which it ends."""
        if self.full_at is None:
            return True
        midnight = self.full_at.time() == time()
        end = self.full_at.date() - timedelta(days=1) if midnight else self.full_at.date()
        return day <= end


#: Folded once for a ledger, which never changes; as long as anything holds the ledger.
_FOLDED: WeakKeyDictionary[Ledger, tuple[CureState, ...]] = WeakKeyDictionary()


def fold_cures(ledger: Ledger) -> tuple[CureState, ...]:
    """Every cure, in order."""
    found = _FOLDED.get(ledger)
    if found is None:
        found = tuple(
            _fold(ledger, event, event.body)
            for event in ledger.events
            if isinstance(event.body, Cure)
        )
        _FOLDED[ledger] = found
    return found


def _fold(ledger: Ledger, event: Event, body: Cure) -> CureState:
    mixed, is_exact = _mixed_at(ledger, event, body)
    part = ledger.names.part_name(body.part)
    named = ledger.names.aircraft_name(body.aircraft)
    # What is glued to a part goes where the part goes.
    if part is not None and ledger.records.parts[part].use != "assigned":
        hosts = host_aircraft(ledger, part)
    else:
        hosts = ledger.places.assigned_to(part) if part is not None else ()
    if part is None and named is not None:
        hosts = (named,)
    return CureState(
        event,
        body,
        hosts,
        part,
        mixed,
        is_exact,
        _after(ledger, mixed, body.handling_minutes),
        _after(ledger, mixed, body.full_minutes),
    )


def _mixed_at(ledger: Ledger, event: Event, body: Cure) -> tuple[datetime, bool]:
    """When it was mixed, in home time, and whether the time of day is known."""
    zone = ledger.records.zone
    moment = body.mixed or event.moment
    if moment.instant is not None:
        return moment.instant.astimezone(zone), True
    day = moment.day
    if day == event.moment.day and event.moment.instant is not None:
        return event.moment.instant.astimezone(zone), True
    return datetime.combine(day + timedelta(days=1), time(), zone), False


def _after(ledger: Ledger, mixed: datetime, minutes: Decimal | None) -> datetime | None:
    if minutes is None:
        return None
    end = mixed.astimezone(UTC) + timedelta(minutes=float(minutes))
    return end.astimezone(ledger.records.zone)


def cures_of(ledger: Ledger, aircraft: str) -> tuple[CureState, ...]:
    """Cures on an aircraft, or on a part that is in it."""
    return tuple(cure for cure in fold_cures(ledger) if aircraft in cure.hosts)


def cures_holding(ledger: Ledger, id_: str) -> tuple[CureState, ...]:
    """Cures that a job, fix, modification or snag rests on, by its id."""
    return tuple(
        cure
        for cure in fold_cures(ledger)
        if any(len(held) >= _SHORTEST and id_.startswith(held) for held in cure.body.holds)
    )


#: Ids are named by at least so many characters.
_SHORTEST = 4


def open_cures(
    ledger: Ledger, moment: datetime, ids: tuple[str, ...], aircraft: str | None, at: str | None
) -> tuple[CureState, ...]:
    """What is still curing under some work at a moment: held by its ids, or at its place."""
    held = {cure.event.id for id_ in ids for cure in cures_holding(ledger, id_)}
    return tuple(
        cure
        for cure in fold_cures(ledger)
        if cure.is_open_at(moment)
        and (
            cure.event.id in held
            or (at is not None and cure.body.at == at and aircraft in cure.hosts)
        )
    )


def is_before_full(
    cure: CureState, day: date, instant: datetime | None, typed: datetime | None
) -> bool:
    """Whether something surely happened before full load, or that cannot be told.

    What was typed before full load happened before it, whatever its time of day.
    """
    if cure.full_at is None:
        return True
    if instant is not None:
        return instant < cure.full_at
    end = cure.full_at.date()
    return day < end or (day == end and typed is not None and typed < cure.full_at)


def is_after_mixing(ledger: Ledger, cure: CureState, event: Event) -> bool:
    """Whether an event surely followed the mixing."""
    moment = cure.body.mixed or cure.event.moment
    if event.moment.day != moment.day:
        return event.moment.day > moment.day
    if event.moment.instant is not None and cure.is_exact:
        return event.moment.instant >= cure.mixed
    points = ledger.orders.last_point(cure.event.id), ledger.orders.segments(event.id)[0]
    return ledger.orders.compare(*points) == "before"


def moment_words(moment: datetime) -> str:
    """A day and time for the eye: 2026-05-16 14:20."""
    return moment.strftime("%Y-%m-%d %H:%M")


def until_words(cure: CureState) -> str:
    """Until when it is not complete, or that this cannot be told."""
    if cure.full_at is None:
        return "no full-load time is recorded, so when it is complete cannot be told"
    about = "" if cure.is_exact else " at the latest (the time of mixing is not recorded)"
    return f"until {moment_words(cure.full_at)}{about}"
