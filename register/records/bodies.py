"""What each kind of event says: one frozen body per kind."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TypeAlias

from msgspec import Struct

from register.records.owner_bodies import ChangeOfOwner, UsageElsewhere
from register.records.values import Ref
from register.records.workshop_bodies import (
    Cure,
    CureWanted,
    Draw,
    Job,
    Modification,
    NoticeAnswer,
    Spot,
    ThrowSheet,
    Weighing,
)

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


class Flights(Struct, frozen=True):
    """Flights of one aircraft. Minutes are airborne; `each` gives them flight by flight."""

    aircraft: Ref | None
    count: int
    minutes: Decimal | None
    each: tuple[Decimal, ...]
    landings: int | None
    engine_minutes: Decimal | None
    gained: tuple[tuple[str, Decimal], ...]
    uses: tuple[Ref, ...] | None


class EngineRun(Struct, frozen=True):
    """An engine run on the ground or the bench; minutes of running."""

    part: Ref | None
    minutes: Decimal | None
    starts: int | None


class Charge(Struct, frozen=True):
    """Each part named was charged `count` times."""

    parts: tuple[Ref, ...]
    count: int


class MeterReading(Struct, frozen=True):
    """What an engine computer or other meter showed; never believed over the events."""

    part: Ref | None
    counter: str
    value: Decimal | None
    replaced: bool


class Measured(Struct, frozen=True):
    """One reading taken: name, value, unit."""

    name: str
    value: Decimal | None
    unit: str


class TaskDone(Struct, frozen=True):
    """A task was carried out on its subject."""

    task: str
    subject: Ref | None
    position: str | None
    result: str
    readings: tuple[Measured, ...]


class Reading(Struct, frozen=True):
    """A measurement outside any task. With `snag`, of that snag: how large it is by now.

    Of an air system: its temperature (Celsius), the ambient pressure (bar), and whether a
    leak-down begins with it.
    """

    subject: Ref | None
    measured: Measured
    snag: str | None = None
    temperature: Decimal | None = None
    ambient: Decimal | None = None
    begins: bool = False


class Snag(Struct, frozen=True):
    """Something found wrong with an aircraft or part.

    `joint` and `broken` say which fasteners failed and how many, `rest` where the rest of one
    is. `spot` and `size` (millimetres) place damage on a zone; `finish` is its paint or colour.
    `mode`, `mechanism` and `circumstance` say how it failed, and when. `cure` is what will have
    to cure when it is mended.
    """

    aircraft: Ref | None
    part: Ref | None
    position: str | None
    text: str
    severity: str
    found: str | None
    zone: str | None
    system: str | None
    joint: str | None = None
    broken: int | None = None
    rest: str | None = None
    spot: Spot | None = None
    size: Decimal | None = None
    finish: str | None = None
    mode: str | None = None
    mechanism: str | None = None
    circumstance: str | None = None
    cure: CureWanted | None = None


class Severity(Struct, frozen=True):
    """A decision how bad a snag is."""

    snag: str
    severity: str
    seen: tuple[str, ...]


class Deferral(Struct, frozen=True):
    """The decision to fly on with a snag, until a day and/or for a number of flights."""

    snag: str
    reason: str
    limit: str | None
    until: date | None
    flights: int | None
    extends: str | None
    seen: tuple[str, ...]


class Fix(Struct, frozen=True):
    """Work on snags; `closes` false means they stay open.

    `mending` says how a broken fastener was dealt with, `draws` what came off the shelf,
    `rest` where the rest of a broken one turned out to be.
    """

    snags: tuple[str, ...]
    action: str
    closes: bool
    cause: str | None
    seen: tuple[str, ...]
    mending: str | None = None
    draws: tuple[Draw, ...] = ()
    rest: str | None = None
    minutes: Decimal | None = None


class Install(Struct, frozen=True):
    """A part goes to a position of an aircraft, or into another part."""

    part: Ref | None
    aircraft: Ref | None
    into: Ref | None
    position: str | None


class Remove(Struct, frozen=True):
    """A part comes off; for an assigned part, off the named aircraft only."""

    part: Ref | None
    aircraft: Ref | None
    reason: str | None


class Condition(Struct, frozen=True):
    """The condition of a part from now on."""

    part: Ref | None
    condition: str
    reason: str | None


class Incident(Struct, frozen=True):
    """Something that opens a list of inspections: a hard landing, a tip strike."""

    aircraft: Ref | None
    what: str


class Layup(Struct, frozen=True):
    """An aircraft or part is laid up, or brought back."""

    subject: Ref | None
    state: str


class Stage(Struct, frozen=True):
    """The stage of an aircraft from now on."""

    aircraft: Ref | None
    stage: str


class Amendment(Struct, frozen=True):
    """Mends fields of an earlier event; `set` is read from the node itself."""

    amends: str
    seen: tuple[str, ...]


class Withdrawal(Struct, frozen=True):
    """Takes an earlier event out of all counting; the file stays."""

    withdraws: str
    reason: str | None
    duplicate_of: str | None


class Other(Struct, frozen=True):
    """Kinds that are kept and shown, and not computed from.

    A note may carry `attachment`, the fleet-relative path of a file kept with it, and say
    with `about` which event it is of.
    """

    aircraft: Ref | None
    part: Ref | None
    position: str | None
    text: str
    about: str | None = None
    attachment: str | None = None


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
    | Weighing
    | ThrowSheet
    | Modification
    | Job
    | Cure
    | NoticeAnswer
    | ChangeOfOwner
    | UsageElsewhere
    | Other
)
