"""The standing files: fleet, aircraft, kit, part, paper. They say how things are now."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from msgspec import Struct, field

from register.records.bodies import CONDITIONS, STAGES
from register.records.fault_rules import read_fault_rules
from register.records.fault_words import FaultRules
from register.records.fields import Fields
from register.records.home import read_home_zone, read_season_start
from register.records.opening import NEW, Opening, read_opening
from register.records.values import COUNTERS, UNSTATED, Basis, Ref, counter_name
from register.text.nodes import Mapping, Scalar
from register.trouble import Place, Problem

if TYPE_CHECKING:
    from register.records.notices import Notice

SCHEMA = 1


class Soon(Struct, frozen=True):
    """How near counts as soon: days, flights and minutes, or 10 % of the interval if smaller."""

    days: int = 14
    flights: Decimal = Decimal(5)
    minutes: Decimal = Decimal(60)


class FleetFile(Struct, frozen=True):
    """fleet.yaml."""

    name: str = "fleet"
    schema: int = SCHEMA
    home_zone: str = "UTC"
    season_start: tuple[int, int] = (3, 1)
    season_gap_days: int | None = None
    soon: Soon = Soon()
    counters: tuple[str, ...] = COUNTERS
    part_kinds: dict[str, tuple[str, ...]] = field(default_factory=dict)
    machines: dict[str, str] = field(default_factory=dict)
    place: Place = Place("fleet.yaml")
    faults: FaultRules = FaultRules()


class Position(Struct, frozen=True):
    """Where a part can be installed."""

    name: str
    kind: str | None
    required: bool
    system: str | None
    place: Place


class PerFlight(Struct, frozen=True):
    """What one flight adds to a counter, and where that figure comes from."""

    amount: Decimal
    basis: Basis
    place: Place


class ProgrammeUse(Struct, frozen=True):
    """A programme an aircraft follows, whole or one group of it."""

    ref: Ref
    group: str | None


class KitFile(Struct, frozen=True):
    """kits/<name>.yaml: what aircraft of one type share."""

    name: str
    id: str | None
    title: str
    positions: dict[str, Position]
    per_flight: dict[str, PerFlight]
    path: str
    node: Mapping | None = None
    notices: dict[str, Notice] = field(default_factory=dict)


class AircraftFile(Struct, frozen=True):
    """aircraft/<name>/aircraft.yaml."""

    name: str
    id: str | None
    title: str
    kit: Ref | None
    programmes: tuple[ProgrammeUse, ...]
    stage: str
    opening: Opening
    positions: dict[str, Position]
    per_flight: dict[str, PerFlight]
    path: str
    node: Mapping | None = None
    #: Notices of its own, and names of those of its kit that its file takes away.
    notices: dict[str, Notice] = field(default_factory=dict)
    notices_off: tuple[str, ...] = ()
    lot: str | None = None
    #: Names it had with owners before: they still resolve where nothing else bears them.
    aliases: tuple[str, ...] = ()


class LifeLimit(Struct, frozen=True):
    """A life: a counter limit, months, or a date. It takes no window."""

    counter: str | None
    limit: Decimal | None
    months: int | None
    until: date | None
    start: date | None
    basis: Basis
    place: Place


class PartFile(Struct, frozen=True):
    """parts/<name>/part.yaml."""

    name: str
    id: str | None
    kind: str
    title: str
    serial: str | None
    lot: str | None
    side: str | None
    use: str
    condition: str
    opening: Opening
    made: date | None
    life: tuple[LifeLimit, ...]
    counters: tuple[str, ...] | None
    basis: Basis
    path: str
    #: The kit it was made for, where the file says so; else the aircraft it was in tell.
    kit: Ref | None = None
    #: Names it had with owners before; whether it stayed with the one before.
    aliases: tuple[str, ...] = ()
    stayed: bool = False


class PaperFile(Struct, frozen=True):
    """papers/<name>.yaml: a document with an expiry, and whom or what it covers."""

    name: str
    id: str | None
    title: str
    kind: str
    covers: tuple[Ref, ...]
    whole_fleet: bool
    spells: tuple[tuple[date | None, date | None], ...]
    warn_days: int
    grounds: bool
    basis: Basis
    path: str
    place: Place


def build_fleet(path: str, node: Mapping) -> tuple[FleetFile, tuple[Problem, ...]]:
    """fleet.yaml; every part of it has a default."""
    problems: list[Problem] = []
    fields = Fields(node, problems)
    schema = fields.count("schema", least=1) or SCHEMA
    soon = fields.mapping("soon")
    extra = tuple(counter_name(word) for word in fields.texts("counters"))
    fleet = FleetFile(
        fields.text("name") or "fleet",
        schema,
        read_home_zone(fields),
        read_season_start(fields),
        fields.count("season_gap_days", least=1),
        _read_soon(soon) if soon else Soon(),
        tuple(dict.fromkeys((*COUNTERS, *extra))),
        _read_kinds(fields),
        fields.named_texts("machines"),
        Place(path),
        read_fault_rules(fields),
    )
    fields.odd_keys(("id", "machine", "carriers"))
    return fleet, tuple(problems)


def _read_soon(fields: Fields) -> Soon:
    days = fields.count("days")
    flights, minutes = fields.amount("flights"), fields.amount("minutes")
    return Soon(
        14 if days is None else days,
        Decimal(5) if flights is None else flights,
        Decimal(60) if minutes is None else minutes,
    )


def _read_kinds(fields: Fields) -> dict[str, tuple[str, ...]]:
    inner = fields.mapping("part_kinds")
    if inner is None:
        return {}
    return {
        entry.key: tuple(counter_name(word) for word in inner.texts(entry.key))
        for entry in inner.node.entries
    }


def _read_positions(fields: Fields) -> dict[str, Position]:
    inner = fields.mapping("positions")
    if inner is None:
        return {}
    found: dict[str, Position] = {}
    for entry in inner.node.entries:
        name = entry.key.lower()
        if isinstance(entry.value, Scalar):
            found[name] = Position(name, entry.value.text or None, False, None, entry.key_place)
            continue
        item = inner.mapping(entry.key)
        if item is not None:
            found[name] = Position(
                name, item.text("kind"), item.flag("required"), item.text("system"), entry.key_place
            )
    return found


def _read_per_flight(fields: Fields) -> dict[str, PerFlight]:
    inner = fields.mapping("per_flight")
    if inner is None:
        return {}
    found: dict[str, PerFlight] = {}
    for entry in inner.node.entries:
        counter = counter_name(entry.key)
        if isinstance(entry.value, Scalar):
            amount = inner.amount(entry.key)
            basis = UNSTATED
        else:
            item = inner.mapping(entry.key)
            if item is None:
                continue
            amount, basis = item.amount("value"), item.basis()
        if amount is not None:
            found[counter] = PerFlight(amount, basis, entry.key_place)
    return found


def build_kit(path: str, name: str, node: Mapping) -> tuple[KitFile, tuple[Problem, ...]]:
    """kits/<name>.yaml. Geometry is kept, and read by the rooms that need it."""
    problems: list[Problem] = []
    fields = Fields(node, problems)
    kit = KitFile(
        name,
        fields.text("id"),
        fields.text("title") or name,
        _read_positions(fields),
        _read_per_flight(fields),
        path,
        node,
        _read_notices(fields, name),
    )
    return kit, tuple(problems)


def _read_notices(fields: Fields, owner: str) -> dict[str, Notice]:
    """Standing needs them, so they are read with the file; most files have none."""
    if not fields.has("notices"):
        return {}
    from register.records.notices import read_notices

    return read_notices(fields, owner)


def _read_notices_off(fields: Fields) -> tuple[str, ...]:
    if not fields.has("notices"):
        return ()
    from register.records.notices import read_taken_away

    return read_taken_away(fields)


def build_aircraft(path: str, name: str, node: Mapping) -> tuple[AircraftFile, tuple[Problem, ...]]:
    """aircraft/<name>/aircraft.yaml."""
    problems: list[Problem] = []
    fields = Fields(node, problems)
    uses = []
    for ref_node in fields.scalars("programmes"):
        programme, _, group = ref_node.text.partition("/")
        inner = Fields(node, problems)
        ref = _programme_ref(inner, Scalar(ref_node.place, programme, False))
        if ref is not None:
            uses.append(ProgrammeUse(ref, group or None))
    aircraft = AircraftFile(
        name,
        fields.text("id"),
        fields.text("title") or name,
        fields.ref("kit"),
        tuple(uses),
        fields.choice("stage", STAGES, "in-service") or "in-service",
        read_opening(fields),
        _read_positions(fields),
        _read_per_flight(fields),
        path,
        node,
        _read_notices(fields, name),
        _read_notices_off(fields),
        fields.text("lot"),
        _read_aliases(fields),
    )
    return aircraft, tuple(problems)


def _programme_ref(fields: Fields, node: Scalar) -> Ref | None:
    from register.records.scalars import read_ref

    return read_ref(fields, "programmes", node)


def build_part(path: str, name: str, node: Mapping) -> tuple[PartFile, tuple[Problem, ...]]:
    """parts/<name>/part.yaml."""
    problems: list[Problem] = []
    fields = Fields(node, problems)
    basis = fields.basis()
    part = PartFile(
        name,
        fields.text("id"),
        (fields.text("kind") or "other").strip().lower(),
        fields.text("title") or name,
        fields.text("serial"),
        fields.text("lot"),
        fields.text("side"),
        fields.choice("use", ("installed", "assigned"), "installed") or "installed",
        fields.choice("condition", CONDITIONS, "serviceable") or "serviceable",
        read_opening(fields) if fields.has("opening") else NEW,
        fields.day("made"),
        tuple(_read_life(item, basis) for item in fields.mappings("life")),
        tuple(counter_name(word) for word in fields.texts("counters"))
        if fields.has("counters")
        else None,
        basis,
        path,
        fields.ref("kit"),
        _read_aliases(fields),
        fields.flag("stayed", default=False),
    )
    return part, tuple(problems)


def _read_aliases(fields: Fields) -> tuple[str, ...]:
    return tuple(name.strip().lower() for name in fields.texts("aliases"))


def _read_life(fields: Fields, basis: Basis) -> LifeLimit:
    for key in ("early", "late", "early_days", "late_days", "window", "tolerance"):
        if fields.has(key):
            fields.report(
                fields.place(key),
                "life-with-window",
                f"{key}: a life limit takes no window",
                f"take the {key} out; the limit is the last permitted point",
            )
    own = fields.basis()
    counter = fields.text("counter")
    limit = LifeLimit(
        None if counter is None else counter_name(counter),
        fields.amount("limit"),
        fields.count("months", least=1),
        fields.day("date"),
        fields.day("from"),
        own if own != UNSTATED else basis,
        fields.node.place,
    )
    fields.odd_keys(())
    return limit


def build_paper(path: str, name: str, node: Mapping) -> tuple[PaperFile, tuple[Problem, ...]]:
    """papers/<name>.yaml; `covers` is "fleet" or a list of aircraft."""
    problems: list[Problem] = []
    fields = Fields(node, problems)
    refs = fields.refs("covers")
    spells = [(item.day("from"), item.day("until")) for item in fields.mappings("valid")]
    if fields.has("expires"):
        spells.append((None, fields.day("expires")))
    warn = fields.count("warn_days")
    paper = PaperFile(
        name,
        fields.text("id"),
        fields.text("title") or name,
        fields.text("kind") or "other",
        tuple(ref for ref in refs if ref.name != "fleet"),
        not refs or any(ref.name == "fleet" for ref in refs),
        tuple(spells),
        30 if warn is None else warn,
        fields.flag("grounds", default=True),
        fields.basis(),
        path,
        node.place,
    )
    fields.odd_keys(())
    return paper, tuple(problems)
