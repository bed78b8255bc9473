"""The desk: the only place where the rooms meet. Open a fleet, answer, apply a change."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from register.fleet import Fleet, open_fleet, read_records, sheaf_of
from register.records.sheaves import REST, folder_of
from register.storage.names import is_attachment
from register.text.parsing import parse_text
from register.trouble import Problem, RegisterError

if TYPE_CHECKING:
    from register.entry.clerk import Clerk, Plan
    from register.entry.founding import Founding
    from register.ledger.counters import Subject
    from register.views.aircraft import AircraftListView, AircraftView
    from register.views.due import DueView
    from register.views.fleet import FleetView, HistoryView, SnagsView
    from register.views.flyday import Card, FlydayView
    from register.views.heard import HeardView
    from register.views.part import PartsView, PartView
    from register.views.programme import ProgrammesView, ProgrammeView

__all__ = ["Fleet", "open_fleet", "read_records"]


def make_clerk(
    fleet: Fleet,
    now: datetime,
    chance: random.Random,
    by: str | None = None,
    about: Iterable[str] = (),
) -> Clerk:
    """A clerk for one writing command, or the refusal to write this fleet.

    With words typed `about` aircraft, parts and events, the clerk sees the circles of all
    that they could mean, and of the rest of the fleet the names and ids.
    """
    from register.entry.clerk import Clerk
    from register.git.repository import check_place
    from register.storage.journal import machine_id

    # Before a person types a whole day that could not be written.
    check_place(fleet.root)
    machine = machine_id(fleet.root) or "m-none"
    folders = fleet.find_sheaves(about)
    part = fleet.cut(folders, narrow=False) if folders else fleet
    clerk = Clerk(part.ledger, part.sources, now, machine, chance, by or _first_person(fleet))
    if not part.is_whole:
        clerk.know_of(fleet.find_ids(), fleet.last_seq(machine), part.folders)
    clerk.root = fleet.root
    clerk.check_writable()
    return clerk


def _first_person(fleet: Fleet) -> str | None:
    return next(iter(fleet.standing.people), None)


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
    changed = {
        change.path: change.after for change in plan.changes if not is_attachment(change.path)
    }
    return Outcome(fleet.with_files(changed), applied.note, applied.adopted)


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
    from register.entry.naming import match_name, read_alias

    known = fleet.standing.aircraft
    return match_name(read_alias(typed, known), known, "aircraft")


def find_subject(fleet: Fleet, typed: str) -> Subject:
    """The aircraft or part meant; an exact name wins, then an unambiguous prefix."""
    from register.entry.naming import match_name, read_alias

    aircraft, parts = fleet.standing.aircraft, fleet.standing.parts
    word = read_alias(typed, aircraft, parts).strip().lower()
    if word in aircraft:
        return ("aircraft", word)
    if word in parts:
        return ("part", word)
    name = match_name(word, {**aircraft, **parts}, "aircraft or part")
    return ("aircraft", name) if name in aircraft else ("part", name)


def find_unread(fleet: Fleet) -> tuple[str, ...]:
    """Files whose facts count for nothing: every answer is incomplete, and says so."""
    if not fleet.is_cut_well:
        return fleet.unread
    from register.circlewise import gather_unread

    return gather_unread(fleet)


def answer_due(fleet: Fleet, day: date, aircraft: str | None, *, every: bool) -> DueView:
    """What is due on a day, from facts dated up to it."""
    from register.views.due import view_due

    name = find_aircraft(fleet, aircraft) if aircraft else None
    if not fleet.is_cut_well or (name is None and every):
        return view_due(fleet.ledger_at(day), day, fleet.unread, name, every=every)
    if name is None:
        from register.circlewise import gather_due

        return gather_due(fleet, day)
    part = fleet.around([("aircraft", name)])
    return view_due(part.ledger_at(day), day, find_unread(fleet), name, every=every)


def answer_flyday(
    fleet: Fleet, day: date, known_to: date, plans: dict[str, int]
) -> tuple[FlydayView, tuple[Card, ...]]:
    """The flying day, and its pocket cards."""
    from register.views.flyday import view_cards, view_flyday

    named = {find_aircraft(fleet, name): count for name, count in plans.items()}
    if fleet.is_cut_well:
        from register.circlewise import gather_flyday

        return gather_flyday(fleet, day, known_to, named)
    ledger = fleet.ledger_at(min(day, known_to))
    view = view_flyday(ledger, day, known_to, fleet.unread, named)
    return view, view_cards(ledger, view)


def answer_fleet(fleet: Fleet, day: date) -> FleetView:
    """The fleet at a glance."""
    if fleet.is_cut_well:
        from register.circlewise import gather_fleet

        return gather_fleet(fleet, day)
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
    ledger, unread = fleet.around([subject]).ledger_at(day), find_unread(fleet)
    return view_history(ledger, subject, day, unread, kinds=kinds, since=since, last=last)


def answer_snags(fleet: Fleet, day: date, typed: str | None, *, every: bool) -> SnagsView:
    """Open snags of all, or of one aircraft or part."""
    from register.views.fleet import view_snags

    subject = find_subject(fleet, typed) if typed else None
    return view_snags(fleet.ledger_at(day), day, fleet.unread, subject, every=every)


def answer_changes(before: Fleet, after: Fleet, plan: Plan, day: date) -> tuple[str, ...]:
    """What an entry changed for those it touches."""
    from register.views.changes import view_changes

    then, now = _touched(before, after, plan)
    lines = view_changes(then.ledger_at(day), now.ledger_at(day), plan.subjects, day)
    if any(item.kind in ("snag", "amendment") for item in plan.written):
        lines = (*_fault_lines(now, after, plan), *lines)
    return lines


def answer_unread(before: Fleet, after: Fleet, plan: Plan) -> tuple[str, ...]:
    """Files that were not read among all that an entry could change something for.

    The same whether what was kept let a part of the fleet be opened or all of it was.
    """
    near = {REST, *after.circles.around(_sheaves_of(before, after, plan))}
    unread = _touched(before, after, plan)[1].unread
    return tuple(path for path in unread if folder_of(path) in near)


def _sheaves_of(before: Fleet, after: Fleet, plan: Plan) -> set[str]:
    """Those of the circles that an entry's subjects lie in, before it or after."""
    named = tuple(sheaf_of(subject) for subject in plan.subjects)
    return {*before.circles.around(named), *after.circles.around(named)}


def _touched(before: Fleet, after: Fleet, plan: Plan) -> tuple[Fleet, Fleet]:
    """The circles of whatever an entry touches, before it and after."""
    touched = _sheaves_of(before, after, plan)
    # Not narrow: the clerk's own cut, already counted, is most often the same.
    then, now = (fleet.cut(fleet.find_circles(touched), narrow=False) for fleet in (before, after))
    return then, now


def _fault_lines(now: Fleet, after: Fleet, plan: Plan) -> tuple[str, ...]:
    """Of a snag: which fix did not hold; with a mode, which sister of the kit had it too."""
    from register.views.fault_changes import back_lines, kit_lines, touched_snags, wants_sisters

    written = tuple(item.id for item in plan.written)
    states = touched_snags(now.ledger, written)
    found = tuple(back_lines(states))
    if not wants_sisters(now.ledger, states):
        return found
    return (*found, *kit_lines(after.ledger, touched_snags(after.ledger, written)))


def answer_check(
    fleet: Fleet, today: date, environment: Mapping[str, str] | None = None
) -> tuple[Problem, ...]:
    """Every problem: of reading, of settling, of the named rules, and of history."""
    from register.checks import check_ledger
    from register.checks.attachments import check_attachments, check_attachments_named
    from register.checks.bringing_back import check_ways_back
    from register.checks.carried import check_carried
    from register.checks.history import check_history
    from register.checks.twins import check_names_once

    ledger = fleet.ledger
    found = [*fleet.problems, *ledger.problems, *check_ledger(ledger, today, fleet.sources)]
    found.extend(check_names_once(fleet.root, fleet.records))
    found.extend(check_attachments(fleet.root, ledger))
    found.extend(check_attachments_named(fleet.root, ledger))
    found.extend(check_carried(fleet.root, environment or {}))
    found.extend(check_history(fleet.root, fleet.sources, fleet.records.unread))
    told = check_ways_back(fleet.root, fleet.sources, dict.fromkeys(found))
    return tuple(sorted(told, key=lambda problem: problem.order))


def answer_heard(fleet: Fleet, day: date) -> HeardView | None:
    """When each machine was last heard from; None where there is one machine only."""
    from register.storage.answers import stamp_carriers

    titles = fleet.standing.fleet.machines
    if not titles and not stamp_carriers(str(fleet.root)):
        return None
    from register.storage.journal import machine_id
    from register.views.heard import view_heard

    own = machine_id(fleet.root) or ""
    return view_heard(fleet.find_writers(), titles, own, day, fleet.zone)


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
