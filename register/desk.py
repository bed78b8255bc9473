"""The desk: the only place where the rooms meet. Open a fleet, answer, apply a change."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from register.ledger.ledger import Ledger
from register.records.gathering import (
    Read,
    Records,
    build_file,
    compose_records,
    find_zone,
)
from register.records.kept import keep_read, open_kept
from register.records.standing_files import FleetFile
from register.storage.folder import find_fleet, read_fleet
from register.text.parsing import parse_text
from register.trouble import Exit, Problem, RegisterError

if TYPE_CHECKING:
    from register.entry.clerk import Clerk, Plan
    from register.entry.founding import Founding
    from register.ledger.counters import Subject
    from register.views.aircraft import AircraftListView, AircraftView
    from register.views.due import DueView
    from register.views.fleet import FleetView, HistoryView, SnagsView
    from register.views.flyday import Card, FlydayView
    from register.views.part import PartsView, PartView
    from register.views.programme import ProgrammesView, ProgrammeView


@dataclass
class Fleet:
    """An opened fleet: its records, and the problems met while reading them.

    `read` holds what each file gave, so that a change reads only what it changed.
    """

    root: Path
    records: Records
    problems: tuple[Problem, ...]
    sources: dict[str, bytes]
    read: dict[str, Read]
    disk_problems: tuple[Problem, ...] = ()

    @cached_property
    def ledger(self) -> Ledger:
        """Everything as known now."""
        return Ledger(self.records)

    def ledger_at(self, day: date) -> Ledger:
        """Facts dated up to a day, as known now; the whole ledger when nothing is later."""
        last = max((event.moment.day for event in self.ledger.events), default=day)
        return self.ledger if last <= day else Ledger(self.records, day)

    @property
    def unread(self) -> tuple[str, ...]:
        """Files that gave no record: every answer over them is incomplete, and says so."""
        return self.ledger.uncounted


#: Told how many files of how many are read.
Tell = Callable[[int, int], None]
#: So many files are read between two tellings.
TELL_EVERY = 100


def open_fleet(start: Path, key_path: str | None = None, tell: Tell | None = None) -> Fleet:
    """Find and read the fleet a folder lies in. Bad files become problems, never hide the rest.

    With `key_path`, what the files gave is kept for the next command under that key's seal.
    """
    root = find_fleet(start)
    if root is None:
        raise RegisterError(
            f"there is no fleet in {start} or any folder above it",
            mend="tailsheaf init DIR   makes one; or name it:  tailsheaf --fleet DIR …",
            exit_code=Exit.CANNOT_RUN,
            code="no-fleet",
        )
    return read_records(root, key_path, tell)


def read_records(root: Path, key_path: str | None = None, tell: Tell | None = None) -> Fleet:
    """bytes → nodes → records, every problem gathered."""
    here = Path(__file__).parent
    kept = open_kept(root, key_path, (str(here),))
    files, problems = read_fleet(root, kept.files)
    known = {file.path: read for file in files if (read := kept.find(file)) is not None}
    sources = {file.path: file.data for file in files}
    zone = find_zone_of(sources)
    if zone != kept_zone(known):
        # Times without an offset were read by another home zone.
        known = {}
    fleet = compose_fleet(root, sources, problems, known, tell)
    keep_read(kept, files, fleet.read)
    return fleet


def compose_fleet(
    root: Path,
    sources: dict[str, bytes],
    disk: tuple[Problem, ...],
    known: dict[str, Read],
    tell: Tell | None = None,
) -> Fleet:
    """Parse and build every source that is not known yet; problems are gathered."""
    zone = find_zone_of(sources)
    read: dict[str, Read] = {}
    for number, (path, data) in enumerate(sources.items()):
        if tell is not None and number % TELL_EVERY == 0:
            tell(number, len(sources))
        found = known.get(path)
        if found is None:
            parsed = parse_text(path, data)
            found = Read(build_file(path, parsed.node, zone, data), parsed.problems)
        read[path] = found
    records = compose_records(item.built for item in read.values())
    gathered = [*disk, *(problem for item in read.values() for problem in item.problems)]
    # A file that parses with an error (a key that stands twice) counts, and not as a whole one.
    records.unread.extend(item.place.file for item in gathered if item.level == "error")
    gathered.extend(records.problems)
    return Fleet(root, records, tuple(gathered), sources, read, disk)


def find_zone_of(sources: dict[str, bytes]) -> ZoneInfo:
    """The home zone that the fleet's own file gives."""
    return find_zone(parse_text("fleet.yaml", sources.get("fleet.yaml", b"")).node)


def kept_zone(known: dict[str, Read]) -> ZoneInfo | None:
    """The home zone under which kept entries were built; None when fleet.yaml is not kept."""
    fleet = known.get("fleet.yaml")
    record = fleet.built.record if fleet is not None else None
    return ZoneInfo(record.home_zone) if isinstance(record, FleetFile) else None


def make_clerk(fleet: Fleet, now: datetime, chance: random.Random, by: str | None = None) -> Clerk:
    """A clerk for one writing command, or the refusal to write this fleet."""
    from register.entry.clerk import Clerk
    from register.git.repository import check_place
    from register.storage.journal import machine_id

    # Before a person types a whole day that could not be written.
    check_place(fleet.root)
    machine = machine_id(fleet.root) or "m-none"
    clerk = Clerk(fleet.ledger, fleet.sources, now, machine, chance, by or _first_person(fleet))
    clerk.check_writable()
    return clerk


def _first_person(fleet: Fleet) -> str | None:
    return next(iter(fleet.records.people), None)


@dataclass(frozen=True)
class Outcome:
    """A plan that was carried out, and the fleet as it is afterwards."""

    fleet: Fleet
    note: str | None
    adopted: tuple[str, ...]


def apply_plan(fleet: Fleet, plan: Plan) -> Outcome:
    """Write and commit a plan, then read only what it changed."""
    from register.git.apply import apply_changes

    applied = apply_changes(fleet.root, plan.changes, plan.message)
    changed = {change.path: change.after for change in plan.changes}
    # A new home zone changes how every time without an offset is read.
    known = {} if "fleet.yaml" in changed else fleet.read
    after = compose_fleet(
        fleet.root,
        {**fleet.sources, **changed},
        fleet.disk_problems,
        {path: item for path, item in known.items() if path not in changed},
    )
    return Outcome(after, applied.note, applied.adopted)


def found_fleet(root: Path, wish: Founding, chance: random.Random) -> Fleet:
    """Make a new fleet, empty or the example, and open it."""
    from register.entry.founding import begin_fleet

    files = None
    if wish.example:
        from register.example.scenario import build_example

        files = build_example()
    begin_fleet(root, wish, chance, files)
    return read_records(root)


def find_aircraft(fleet: Fleet, typed: str) -> str:
    """The aircraft meant, by name or unambiguous prefix."""
    from register.entry.naming import match_name

    return match_name(typed, fleet.records.aircraft, "aircraft")


def find_subject(fleet: Fleet, typed: str) -> Subject:
    """The aircraft or part meant; an exact name wins, then an unambiguous prefix."""
    from register.entry.naming import match_name

    word = typed.strip().lower()
    if word in fleet.records.aircraft:
        return ("aircraft", word)
    if word in fleet.records.parts:
        return ("part", word)
    name = match_name(word, {**fleet.records.aircraft, **fleet.records.parts}, "aircraft or part")
    return ("aircraft", name) if name in fleet.records.aircraft else ("part", name)


def answer_due(fleet: Fleet, day: date, aircraft: str | None, *, every: bool) -> DueView:
    """What is due on a day, from facts dated up to it."""
    from register.views.due import view_due

    name = find_aircraft(fleet, aircraft) if aircraft else None
    return view_due(fleet.ledger_at(day), day, fleet.unread, name, every=every)


def answer_flyday(
    fleet: Fleet, day: date, known_to: date, plans: dict[str, int]
) -> tuple[FlydayView, tuple[Card, ...]]:
    """The flying day, and its pocket cards."""
    from register.views.flyday import view_cards, view_flyday

    named = {find_aircraft(fleet, name): count for name, count in plans.items()}
    ledger = fleet.ledger_at(min(day, known_to))
    view = view_flyday(ledger, day, known_to, fleet.unread, named)
    return view, view_cards(ledger, view)


def answer_fleet(fleet: Fleet, day: date) -> FleetView:
    """The fleet at a glance."""
    from register.views.fleet import view_fleet

    return view_fleet(fleet.ledger_at(day), day, fleet.unread)


def answer_history(
    fleet: Fleet,
    day: date,
    typed: str,
    kinds: tuple[str, ...] = (),
    since: date | None = None,
    last: int | None = None,
) -> HistoryView:
    """Every record about an aircraft or part."""
    from register.views.fleet import view_history

    subject = find_subject(fleet, typed)
    ledger = fleet.ledger_at(day)
    return view_history(ledger, subject, day, fleet.unread, kinds=kinds, since=since, last=last)


def answer_snags(fleet: Fleet, day: date, typed: str | None, *, every: bool) -> SnagsView:
    """Open snags of all, or of one aircraft or part."""
    from register.views.fleet import view_snags

    subject = find_subject(fleet, typed) if typed else None
    return view_snags(fleet.ledger_at(day), day, fleet.unread, subject, every=every)


def answer_changes(before: Fleet, after: Fleet, plan: Plan, day: date) -> tuple[str, ...]:
    """What an entry changed for those it touches."""
    from register.views.changes import view_changes

    return view_changes(before.ledger_at(day), after.ledger_at(day), plan.subjects, day)


def answer_check(fleet: Fleet, today: date) -> tuple[Problem, ...]:
    """Every problem: of reading, of settling, of the named rules, and of history."""
    from register.checks import check_ledger
    from register.checks.history import check_history

    ledger = fleet.ledger
    found = [*fleet.problems, *ledger.problems, *check_ledger(ledger, today)]
    found.extend(check_history(fleet.root, fleet.sources, fleet.records.unread))
    return tuple(sorted(dict.fromkeys(found), key=lambda problem: problem.order))


def read_starters() -> dict[str, bytes]:
    """The bytes of every starter programme, by name."""
    from register.starters.catalogue import read_starter, starter_names

    return {name: read_starter(name) for name in starter_names()}


def answer_aircraft(fleet: Fleet, day: date, name: str | None) -> AircraftListView | AircraftView:
    """All aircraft, or one."""
    from register.views.aircraft import view_aircraft, view_aircraft_list

    ledger = fleet.ledger_at(day)
    if name is None:
        return view_aircraft_list(ledger, day, fleet.unread)
    return view_aircraft(ledger, name, day, fleet.unread)


def answer_parts(fleet: Fleet, day: date, name: str | None) -> PartsView | PartView:
    """All parts, or one."""
    from register.views.part import view_part, view_parts

    ledger = fleet.ledger_at(day)
    if name is None:
        return view_parts(ledger, day, fleet.unread)
    return view_part(ledger, name, day, fleet.unread)


def answer_programmes(fleet: Fleet, day: date) -> ProgrammesView:
    """The fleet's programmes, and the starters."""
    from register.starters.outline import read_outlines
    from register.views.programme import ProgrammeSummary, view_programmes

    starters = tuple(
        ProgrammeSummary(item.name, item.title, item.tasks, item.groups, False, ())
        for item in read_outlines().values()
    )
    return view_programmes(fleet.ledger_at(day), day, fleet.unread, starters)


def answer_programme(fleet: Fleet, day: date, typed: str) -> ProgrammeView:
    """One programme of the fleet, else a starter as it is."""
    from register.entry.naming import match_name
    from register.records.programmes import build_programme
    from register.starters.catalogue import read_starter, starter_names
    from register.views.programme import followers, view_programme

    own = fleet.records.programmes
    add = "tailsheaf programme   lists them"
    name = match_name(typed, {*own, *starter_names()}, "programme", add=add)
    if name in own:
        followed = followers(fleet.ledger, own[name])
        return view_programme(own[name], day, followed, in_fleet=True)
    path = f"programmes/{name}.yaml"
    node = parse_text(path, read_starter(name)).node
    if node is None:
        raise RegisterError(f"the starter {name} cannot be read", mend="install tailsheaf again")
    return view_programme(build_programme(path, name, node)[0], day, (), in_fleet=False)


def save_edits(fleet: Fleet, wanted: Sequence[str]) -> tuple[tuple[str, ...], str | None]:
    """Put hand edits into history as they stand: those at or below `wanted`, or all.

    The paths saved, and a note. Raises RegisterError (USAGE) on a path with nothing to save.
    """
    from register.entry.saving import choose_edits, tell_edits
    from register.git.apply import save_paths
    from register.git.history import paths_not_in_history
    from register.git.wrapper import is_ours

    edited = paths_not_in_history(fleet.root)
    chosen = choose_edits(edited, fleet.sources, wanted)
    if not chosen and is_ours(fleet.root):
        return (), None
    applied = save_paths(fleet.root, chosen, tell_edits(chosen))
    return chosen, applied.note
