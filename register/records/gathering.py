"""From checked nodes to all records of a fleet: which path holds which kind."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

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
from register.text.nodes import Mapping, Scalar
from register.trouble import Place, Problem


@dataclass(slots=True)
class Records:
    """Everything read. `unread` names files not read whole: answers are not complete."""

    fleet: FleetFile = field(default_factory=FleetFile)
    aircraft: dict[str, AircraftFile] = field(default_factory=dict)
    kits: dict[str, KitFile] = field(default_factory=dict)
    parts: dict[str, PartFile] = field(default_factory=dict)
    programmes: dict[str, ProgrammeFile] = field(default_factory=dict)
    papers: dict[str, PaperFile] = field(default_factory=dict)
    people: dict[str, str] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)

    @property
    def zone(self) -> ZoneInfo:
        """The home time zone."""
        return ZoneInfo(self.fleet.home_zone)

    @property
    def is_newer(self) -> bool:
        """True when the folder was written by a later program: then it is read only."""
        return self.fleet.schema > SCHEMA

    def add_problems(self, path: str, problems: Iterable[Problem]) -> None:
        """Keep what was found in a file. One with an error was not read whole: a task with a
        wrong figure is left out, and an answer without it has to say so."""
        found = tuple(problems)
        self.problems.extend(found)
        if any(problem.level == "error" for problem in found):
            self.unread.append(path)


def build_records(nodes: Iterable[tuple[str, Mapping | None]]) -> Records:
    """Build every record. The order of the files does not matter."""
    listed = sorted(nodes, key=lambda pair: (pair[0] != "fleet.yaml", pair[0]))
    records = Records()
    zone: ZoneInfo | None = None
    for path, node in listed:
        if node is None:
            records.unread.append(path)
            continue
        if path == "fleet.yaml":
            records.fleet, problems = build_fleet(path, node)
            records.add_problems(path, problems)
            _check_schema(records)
            continue
        if zone is None:
            zone = records.zone
        _build_one(records, path, node, zone)
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


def _build_one(records: Records, path: str, node: Mapping, zone: ZoneInfo) -> None:
    parts = path.split("/")
    name = parts[1] if len(parts) > 2 else parts[-1].removesuffix(".yaml")
    if len(parts) >= 3 and parts[0] in ("aircraft", "parts") and parts[2] == "events":
        event, problems = build_event(path, node, zone)
        records.add_problems(path, problems)
        if event is not None:
            records.events.append(event)
        return
    found: tuple[Problem, ...] = ()
    if parts[0] == "aircraft" and parts[2:] == ["aircraft.yaml"]:
        records.aircraft[name], found = build_aircraft(path, name, node)
    elif parts[0] == "parts" and parts[2:] == ["part.yaml"]:
        records.parts[name], found = build_part(path, name, node)
    elif parts[0] == "kits" and len(parts) == 2:
        records.kits[name], found = build_kit(path, name, node)
    elif parts[0] == "programmes" and len(parts) == 2:
        records.programmes[name], found = build_programme(path, name, node)
    elif parts[0] == "papers" and len(parts) == 2:
        records.papers[name], found = build_paper(path, name, node)
    elif path == "private.yaml":
        records.people = _read_people(node)
    elif path != "stock.yaml":
        found = (
            Problem(
                Place(path),
                "file-astray",
                "this file is not where a record belongs, so nothing reads it",
                "move it to aircraft/NAME/events/YEAR/MONTH/, or give it another ending than .yaml",
                "warning",
            ),
        )
    records.add_problems(path, found)


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
