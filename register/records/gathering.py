"""From checked nodes to all records of a fleet: which path holds which kind."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any
from zoneinfo import ZoneInfo

from msgspec import Struct, field

from register.records.clashes import ClashFile, build_clash
from register.records.events import Event, build_event
from register.records.programmes import ProgrammeFile, build_programme
from register.records.standing_files import (
    SCHEMA,
    AircraftFile,
    FleetFile,
    KitFile,
    PaperFile,
    PartFile,
    build_aircraft,
    build_fleet,
    build_kit,
    build_paper,
    build_part,
)
from register.records.values import Ref
from register.text.nodes import Mapping, Scalar
from register.trouble import Place, Problem


class Records(Struct):
    """Everything read. `unread` names files not read whole: answers are not complete."""

    fleet: FleetFile = field(default_factory=FleetFile)
    aircraft: dict[str, AircraftFile] = field(default_factory=dict)
    kits: dict[str, KitFile] = field(default_factory=dict)
    parts: dict[str, PartFile] = field(default_factory=dict)
    programmes: dict[str, ProgrammeFile] = field(default_factory=dict)
    papers: dict[str, PaperFile] = field(default_factory=dict)
    clashes: dict[str, ClashFile] = field(default_factory=dict)
    people: dict[str, str] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    #: stock.yaml as it stands; read by what asks for the shelf.
    stock: Mapping | None = None
    problems: list[Problem] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    #: Files of which nothing but the name is known: see records/unread.py.
    lost: set[str] = field(default_factory=set)

    @property
    def lost_ids(self) -> frozenset[str]:
        """Ids of events whose files cannot be read, as the names of the files have them."""
        found = (path for path in self.unread if "/events/" in path and path.endswith(".yaml"))
        return frozenset(path.removesuffix(".yaml").rpartition("-")[2] for path in found)

    @property
    def zone(self) -> ZoneInfo:
        """The home time zone."""
        return ZoneInfo(self.fleet.home_zone)

    @property
    def is_newer(self) -> bool:
        """True when the folder was written by a later program: then it is read only."""
        return self.fleet.schema > SCHEMA

    def find_kit(self, ref: Ref | None) -> KitFile | None:
        """A kit by id, else by name."""
        if ref is None:
            return None
        for kit in self.kits.values():
            if ref.id and kit.id == ref.id:
                return kit
        return self.kits.get(ref.name)

    def add_problems(self, path: str, problems: Iterable[Problem]) -> None:
        """Keep what was found in a file. One with an error was not read whole: a task with a
        wrong figure is left out, and an answer without it has to say so."""
        found = tuple(problems)
        self.problems.extend(found)
        if any(problem.level == "error" for problem in found):
            self.unread.append(path)


class Built(Struct, frozen=True):
    """What one file gave: its record, if any, and the problems met in building it."""

    path: str
    kind: str
    name: str
    record: object
    problems: tuple[Problem, ...]


class Read(Struct, frozen=True):
    """One file read: what it gave, and what was odd in its text."""

    built: Built
    problems: tuple[Problem, ...]


def build_records(nodes: Iterable[tuple[str, Mapping | None]]) -> Records:
    """Build every record. The order of the files does not matter."""
    listed = sorted(nodes, key=lambda pair: (pair[0] != "fleet.yaml", pair[0]))
    zone = find_zone(dict(listed[:1]).get("fleet.yaml"))
    return compose_records(build_file(path, node, zone) for path, node in listed)


def find_zone(node: Mapping | None) -> ZoneInfo:
    """The home zone that fleet.yaml gives; every time without an offset is read by it."""
    return ZoneInfo(build_fleet("fleet.yaml", node)[0].home_zone if node else "UTC")


def compose_records(built: Iterable[Built]) -> Records:
    """All records of a fleet from what its files gave, in path order."""
    records = Records()
    shelves: dict[type, dict[str, Any]] = {
        AircraftFile: records.aircraft,
        PartFile: records.parts,
        KitFile: records.kits,
        ProgrammeFile: records.programmes,
        PaperFile: records.papers,
        ClashFile: records.clashes,
    }
    for item in sorted(built, key=lambda item: (item.path != "fleet.yaml", item.path)):
        records.add_problems(item.path, item.problems)
        record = item.record
        shelf = shelves.get(type(record))
        if item.kind == "unread":
            records.unread.append(item.path)
        elif shelf is not None:
            shelf[item.name] = record
        elif isinstance(record, Event):
            records.events.append(record)
        elif isinstance(record, FleetFile):
            records.fleet = record
            _check_schema(records)
        elif isinstance(record, Mapping):
            records.stock = record
        elif isinstance(record, dict):
            records.people = record
    _check_ids(records)
    return records


def _check_schema(records: Records) -> None:
    if records.is_newer:
        records.problems.append(
            Problem(
                records.fleet.place,
                "schema-newer",
                f"schema: {records.fleet.schema} is newer than this program knows ({SCHEMA}); "
                "the fleet is read, not written",
                "bring tailsheaf up to date, then write",
                "warning",
            )
        )


def build_file(path: str, node: Mapping | None, zone: ZoneInfo, data: bytes | None = None) -> Built:
    """Build the record of one file; the path says which kind it is."""
    parts = path.split("/")
    name = parts[1] if len(parts) > 2 else parts[-1].removesuffix(".yaml")
    if node is None:
        return Built(path, "unread", name, None, ())
    record: object = None
    found: tuple[Problem, ...] = ()
    if len(parts) >= 3 and parts[0] in ("aircraft", "parts") and parts[2] == "events":
        record, found = build_event(path, node, zone, data)
    elif path == "fleet.yaml":
        record, found = build_fleet(path, node)
    elif path == "private.yaml":
        record = _read_people(node)
        found = (*_check_money(node), *_check_words(node))
    elif (builder := _find_builder(parts)) is not None:
        record, found = builder(path, name, node)
    elif path == "stock.yaml":
        record = node
    else:
        found = (_astray(path),)
    return Built(path, "read", name, record, found)


def _find_builder(
    parts: list[str],
) -> Callable[[str, str, Mapping], tuple[object, tuple[Problem, ...]]] | None:
    if parts[0] == "aircraft" and parts[2:] == ["aircraft.yaml"]:
        return build_aircraft
    if parts[0] == "parts" and parts[2:] == ["part.yaml"]:
        return build_part
    if len(parts) != 2:
        return None
    return {
        "kits": build_kit,
        "programmes": build_programme,
        "papers": build_paper,
        "clashes": build_clash,
    }.get(parts[0])


def _astray(path: str) -> Problem:
    return Problem(
        Place(path),
        "file-astray",
        "this file is not where a record belongs, so nothing reads it",
        "move it to aircraft/NAME/events/YEAR/MONTH/, or give it another ending than .yaml",
        "warning",
    )


def _read_people(node: Mapping) -> dict[str, str]:
    people = node.get("people")
    if not isinstance(people, Mapping):
        return {}
    found = {}
    for entry in people.entries:
        value = entry.value
        name = value.get("name") if isinstance(value, Mapping) else value
        if isinstance(name, Scalar):
            found[entry.key] = name.text
    return found


def _check_money(node: Mapping) -> tuple[Problem, ...]:
    """What of the owner's spending cannot be read; most fleets keep none."""
    if node.get("spending") is None and node.get("prices") is None:
        return ()
    from register.records.spending import read_money

    return read_money(node).problems


def _check_words(node: Mapping) -> tuple[Problem, ...]:
    """Keys nearly those that are read, and words under `never` that are none."""
    from register.records.private_words import check_private

    return check_private(node)


def _check_ids(records: Records) -> None:
    seen: dict[str, str] = {}
    for group in (records.aircraft, records.parts, records.kits, records.programmes):
        for item in group.values():
            if not item.id:
                continue
            first = seen.setdefault(item.id, item.path)
            if first != item.path:
                records.problems.append(
                    Problem(
                        Place(item.path),
                        "id-twice",
                        f"id: {item.id} is already the id of {first}",
                        "give the copy another id of ten letters and digits",
                        related=(Place(first),),
                    )
                )
