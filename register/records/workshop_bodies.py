"""What the workshop's events say: weighings, throws, departures, jobs, cures, notice answers."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from msgspec import Struct

from register.records.values import Basis, Moment, Ref

if TYPE_CHECKING:
    from register.records.bodies import Measured

#: What is meant by a throw: a straight line between the two places of the trailing edge, the
#: height over the neutral line, the way along the arc, or the angle itself.
MEASURES = ("chordal", "perpendicular", "arc", "degrees")
TANKS = ("empty", "full", "part-full", "not-stated")
WORK_STATES = ("trial", "curing", "fixed", "undone")
JOB_STATES = ("open", "done", "dropped")
HANDS = ("left", "right", "both", "none")
ANSWERS = ("clear", "found", "repaired", "not-applicable")
#: Where the rest of a broken screw is.
RESTS = ("out", "in-hole", "loose-inside", "not-known")
#: How a broken or stripped screw was mended; never a longer screw in the same hole.
MENDINGS = ("extracted", "new-hole", "insert", "larger-thread", "same-again", "other")


class Weight(Struct, frozen=True):
    """One scale reading, in kilograms: the point it stands under, and what to take off.

    `as_read` is what the scale showed where it was in another unit.
    """

    point: str
    reading: Decimal | None
    tare: Decimal
    as_read: str = ""


class Weighing(Struct, frozen=True):
    """An aircraft on scales. `fuel` in kilograms, `attitude` in degrees nose up."""

    aircraft: Ref | None
    weights: tuple[Weight, ...]
    tanks: str
    fuel: Decimal | None
    attitude: Decimal | None


class Throw(Struct, frozen=True):
    """How far one way (up, down, left, right, open): millimetres, or degrees by the measure."""

    way: str
    value: Decimal


class ThrowSheet(Struct, frozen=True):
    """Throws measured on a surface. `sets_up` makes it the figure that drift counts from.

    `station` is the chord in millimetres at which they were measured, if not the surface's
    own. `readings` are what else was measured there: play, stiffness; never computed.
    """

    aircraft: Ref | None
    surface: str
    rate: str
    measure: str
    throws: tuple[Throw, ...]
    station: Decimal | None
    sets_up: bool
    readings: tuple[Measured, ...] = ()


class FastenerChange(Struct, frozen=True):
    """So many fasteners of a joint are of another size or head from now on. Length in mm.

    What is None stays as it was.
    """

    joint: str
    count: int
    thread: str | None
    length: Decimal | None
    head: str | None


class Modification(Struct, frozen=True):
    """A departure from the manual. `follows` names the departure whose state it brings on.

    `fastener` is set where it changes screws of a joint: the joint is told by it from then on.
    """

    aircraft: Ref | None
    part: Ref | None
    at: str | None
    text: str
    manual: str | None
    why: str | None
    tried: tuple[str, ...]
    mass: Decimal | None
    throws: str | None
    strength: str | None
    state: str
    before: tuple[Measured, ...]
    after: tuple[Measured, ...]
    follows: str | None
    fastener: FastenerChange | None = None


class CureWanted(Struct, frozen=True):
    """Work that will need a cure: the maker's times in minutes from the mixing."""

    adhesive: str
    handling_minutes: Decimal | None
    full_minutes: Decimal | None
    basis: Basis


class Job(Struct, frozen=True):
    """A piece of work to do; with `job` it says what became of an earlier one.

    `waits_for` names other jobs, snags, cures or modifications by id. `minutes` is the labour,
    `cure` what will have to cure when it is done.
    """

    aircraft: Ref | None
    text: str
    at: str | None
    hand: str
    waits_for: tuple[str, ...]
    minutes: Decimal | None
    state: str
    job: str | None
    other_hand_of: str | None
    cure: CureWanted | None = None


class Cure(Struct, frozen=True):
    """Something is curing. Times in minutes from the mixing, as the maker's table gives them.

    `holds` names the jobs, fixes and modifications that rest on it. Temperature in Celsius.
    """

    aircraft: Ref | None
    part: Ref | None
    at: str | None
    text: str
    adhesive: str
    mixed: Moment | None
    handling_minutes: Decimal | None
    full_minutes: Decimal | None
    temperature: Decimal | None
    basis: Basis
    holds: tuple[str, ...]


class NoticeAnswer(Struct, frozen=True):
    """What was found when a notice was looked into, on one physical part or aircraft.

    `lot` is the lot it had then by its file: an answer given on another lot is seen as such.
    """

    notice: str
    subject: Ref | None
    result: str
    text: str
    lot: str | None = None


class Spot(Struct, frozen=True):
    """A place on a zone: millimetres along two stated directions."""

    along: Decimal | None
    along_from: str
    across: Decimal | None
    across_from: str


class Draw(Struct, frozen=True):
    """So many of an item taken off the shelf."""

    item: str
    count: Decimal
