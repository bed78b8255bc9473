"""What each kind of event says: one frozen body per kind."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeAlias

from register.records.values import Ref, Stored

SEVERITIES = ("not-yet-rated", "grounding", "limiting", "deferrable", "monitor", "cosmetic")
CONDITIONS = ("serviceable", "quarantined", "rejected", "scrapped")
STAGES = (
    "on-order",
    "being-built",
    "ready-for-first-flight",
    "in-service",
    "laid-up",
    "sold",
    "written-off",
)
FOUND = ("kit-check", "build", "before-flight", "in-flight", "after-flight", "workshop")


@dataclass(frozen=True, slots=True)
class Flights(Stored):
    """Flights of one aircraft. Minutes are airborne; `each` gives them flight by flight."""

    aircraft: Ref | None
    count: int
    minutes: Decimal | None
    each: tuple[Decimal, ...]
    landings: int | None
    engine_minutes: Decimal | None
    gained: tuple[tuple[str, Decimal], ...]
    uses: tuple[Ref, ...] | None


@dataclass(frozen=True, slots=True)
class EngineRun(Stored):
    """An engine run on the ground or the bench; minutes of running."""

    part: Ref | None
    minutes: Decimal | None
    starts: int | None


@dataclass(frozen=True, slots=True)
class Charge(Stored):
    """Each part named was charged `count` times."""

    parts: tuple[Ref, ...]
    count: int


@dataclass(frozen=True, slots=True)
class MeterReading(Stored):
    """What an engine computer or other meter showed; never believed over the events."""

    part: Ref | None
    counter: str
    value: Decimal | None
    replaced: bool


@dataclass(frozen=True, slots=True)
class Measured(Stored):
    """One reading taken: name, value, unit."""

    name: str
    value: Decimal | None
    unit: str


@dataclass(frozen=True, slots=True)
class TaskDone(Stored):
    """A task was carried out on its subject."""

    task: str
    subject: Ref | None
    position: str | None
    result: str
    readings: tuple[Measured, ...]


@dataclass(frozen=True, slots=True)
class Reading(Stored):
    """A measurement outside any task."""

    subject: Ref | None
    measured: Measured


@dataclass(frozen=True, slots=True)
class Snag(Stored):
    """Something found wrong with an aircraft or part."""

    aircraft: Ref | None
    part: Ref | None
    position: str | None
    text: str
    severity: str
    found: str | None
    zone: str | None
    system: str | None


@dataclass(frozen=True, slots=True)
class Severity(Stored):
    """A decision how bad a snag is."""

    snag: str
    severity: str
    seen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Deferral(Stored):
    """The decision to fly on with a snag, until a day and/or for a number of flights."""

    snag: str
    reason: str
    limit: str | None
    until: date | None
    flights: int | None
    extends: str | None
    seen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fix(Stored):
    """Work on snags; `closes` false means they stay open."""

    snags: tuple[str, ...]
    action: str
    closes: bool
    cause: str | None
    seen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Install(Stored):
    """A part goes to a position of an aircraft, or into another part."""

    part: Ref | None
    aircraft: Ref | None
    into: Ref | None
    position: str | None


@dataclass(frozen=True, slots=True)
class Remove(Stored):
    """A part comes off; for an assigned part, off the named aircraft only."""

    part: Ref | None
    aircraft: Ref | None
    reason: str | None


@dataclass(frozen=True, slots=True)
class Condition(Stored):
    """The condition of a part from now on."""

    part: Ref | None
    condition: str
    reason: str | None


@dataclass(frozen=True, slots=True)
class Incident(Stored):
    """Something that opens a list of inspections: a hard landing, a tip strike."""

    aircraft: Ref | None
    what: str


@dataclass(frozen=True, slots=True)
class Layup(Stored):
    """An aircraft or part is laid up, or brought back."""

    subject: Ref | None
    state: str


@dataclass(frozen=True, slots=True)
class Stage(Stored):
    """The stage of an aircraft from now on."""

    aircraft: Ref | None
    stage: str


@dataclass(frozen=True, slots=True)
class Amendment(Stored):
    """Mends fields of an earlier event; `set` is read from the node itself."""

    amends: str
    seen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Withdrawal(Stored):
    """Takes an earlier event out of all counting; the file stays."""

    withdraws: str
    reason: str | None
    duplicate_of: str | None


@dataclass(frozen=True, slots=True)
class Other(Stored):
    """Kinds that are kept and shown, and not yet computed from."""

    aircraft: Ref | None
    part: Ref | None
    position: str | None
    text: str


Body: TypeAlias = (
    Flights
    | EngineRun
    | Charge
    | MeterReading
    | TaskDone
    | Reading
    | Snag
    | Severity
    | Deferral
    | Fix
    | Install
    | Remove
    | Condition
    | Incident
    | Layup
    | Stage
    | Amendment
    | Withdrawal
    | Other
)
