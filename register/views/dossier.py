"""Everything a new owner is told of one aircraft: the answers of the other views, put together.

It is built from the new owner's own ledger, made of redacted records alone, so that nothing can
stand in it that does not also go along.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date, datetime, time
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from register.findings.snags import SnagState
from register.ledger.ledger import Ledger
from register.records.bodies import Incident, Other, TaskDone
from register.records.events import Event
from register.records.programmes import Task
from register.records.values import Span
from register.standing.judge import AircraftDay, judge_aircraft
from register.standing.reasons import STANDINGS, Reason, Standing
from register.tasks.items import Item
from register.trouble import Problem
from register.views.aircraft import AircraftView, view_aircraft
from register.views.balance import BalanceView, view_balance
from register.views.cures import CuresView, view_cures
from register.views.damage import DamageView, view_damage
from register.views.departures import DeparturesView, view_departures
from register.views.due import DueLine, view_due
from register.views.fasteners import FastenersView, view_fasteners
from register.views.fleet import HistoryLine, SnagLine, view_history, view_snags
from register.views.jobs import JobsView, view_jobs
from register.views.leaks import LeaksView, view_leaks
from register.views.notices import NoticesView, view_notices
from register.views.part import PartView, view_part
from register.views.telling import tell_event
from register.views.throws import ThrowsView, view_throws

#: A line to type, which means nothing to a reader without the program.
_LINE = re.compile(r"[:;,]? *\(?\btailsheaf [^;()]*\)?")
#: Typed so many days after its day, a record was not made at the time. Our own figure.
LATE_DAYS = 2


class DossierFacts(Struct, frozen=True):
    """What the handover itself knows: what was left out of it, and how it was made.

    `not_included` are parts that the records name and that stay behind, `shared` those of them
    used in other aircraft as well; `dropped` names keys that are not carried, with how often.
    `last_typed` is, for each machine that wrote of what goes, the day of its last record here,
    newest first: what was typed there since and never exchanged is missing. `signed` None: it
    is not known yet whether it will be.
    """

    program: str
    not_included: tuple[str, ...] = ()
    shared: tuple[str, ...] = ()
    withheld: int = 0
    masked: int = 0
    dropped: tuple[tuple[str, int], ...] = ()
    left_by_wish: int = 0
    machines: int = 1
    last_typed: tuple[date, ...] = ()
    revisions: int = 0
    signed: bool | None = None
    #: Pictures that go along, by the path that the records name them with; and how many kept
    #: files of other forms do not.
    pictures: Mapping[str, bytes] = MappingProxyType({})
    other_files: int = 0


class SnagStory(Struct, frozen=True):
    """One snag with what became of it. `flown` are the flights from finding to fix, or to now."""

    line: SnagLine
    flown: Span | None

    @property
    def state(self) -> SnagState:
        """The snag as it stands."""
        return self.line.state


class IncidentStory(Struct, frozen=True):
    """One incident: what was found that day, and the checks it opened with their first result.

    A check without an event has no result recorded since.
    """

    event: Event
    says: str
    total: Span | None
    found: tuple[SnagStory, ...]
    checks: tuple[tuple[Task, Event | None], ...]


class Photo(Struct, frozen=True):
    """A kept file that a record names, with what it shows; `data` None: only its name is here."""

    event: Event
    path: str
    says: str
    about: str
    data: bytes | None


class Pages(Struct, frozen=True):
    """How well the records were kept: what an insurer or a buyer wants to know of them."""

    records: int
    first: date | None
    last: date | None
    late: int
    by_source: tuple[tuple[str, int], ...]
    typed_unknown: int
    amended: int
    withdrawn: int
    #: Who wrote or did it, as marks without a name, with how many records: A, B and so on.
    people: tuple[tuple[str, str, int], ...] = ()

    def mark_of(self, person: str | None) -> str:
        """The mark of a person; nothing where nobody is named."""
        return next((mark for key, mark, _ in self.people if key == person), "")


class DossierView(Struct, frozen=True):
    """All of it. `standing` and `reasons` leave out what is asked of parts that stay behind."""

    on: date
    name: str
    facts: DossierFacts
    aircraft: AircraftView
    standing: Standing
    reasons: tuple[Reason, ...]
    last_flown: date | None
    parts: tuple[PartView, ...]
    staying: tuple[PartView, ...]
    due: tuple[DueLine, ...]
    snags: tuple[SnagStory, ...]
    jobs: JobsView
    departures: DeparturesView
    cures: CuresView
    notices: NoticesView
    throws: ThrowsView
    balance: BalanceView
    fasteners: FastenersView
    leaks: LeaksView
    damage: DamageView
    incidents: tuple[IncidentStory, ...]
    history: tuple[HistoryLine, ...]
    photos: tuple[Photo, ...]
    pages: Pages
    problems: tuple[Problem, ...]

    @property
    def stays(self) -> frozenset[str]:
        """Names of parts that do not go along."""
        return frozenset((*self.facts.not_included, *self.facts.shared))

    @property
    def open_snags(self) -> tuple[SnagStory, ...]:
        """Those not fixed, gravest first."""
        return tuple(story for story in self.snags if story.state.is_open)

    @property
    def mended(self) -> tuple[SnagStory, ...]:
        """Those fixed, in order of discovery."""
        return tuple(story for story in self.snags if not story.state.is_open)


def view_dossier(ledger: Ledger, aircraft: str, day: date, facts: DossierFacts) -> DossierView:
    """The dossier of one aircraft on a day. `ledger` is the new owner's, from redacted records."""
    subject = ("aircraft", aircraft)
    stays = frozenset((*facts.not_included, *facts.shared))
    judged = judge_aircraft(ledger, aircraft, day)
    lines = view_due(ledger, day, (), aircraft, every=True).lines
    titles = {line.item.task.id: line.item.task.title for line in lines}
    standing, reasons = _without_stays(judged, stays, titles)
    moment = datetime.combine(day, time(23, 59), ledger.records.zone)
    parts = tuple(view_part(ledger, name, day, ()) for name in sorted(ledger.records.parts))
    snags = _tell_snags(ledger, aircraft, day)
    history = _merge_history(ledger, aircraft, day, stays)
    return DossierView(
        on=day,
        name=aircraft,
        facts=facts,
        aircraft=view_aircraft(ledger, aircraft, day, ()),
        standing=standing,
        reasons=reasons,
        last_flown=ledger.last_use(subject),
        parts=tuple(part for part in parts if part.file.name not in stays),
        staying=tuple(part for part in parts if part.file.name in stays),
        due=tuple(line for line in lines if not _is_of(line.item, stays)),
        snags=snags,
        jobs=view_jobs(ledger, day, (), aircraft),
        departures=view_departures(ledger, day, ()),
        cures=view_cures(ledger, moment, ()),
        notices=view_notices(ledger, day, ()),
        throws=view_throws(ledger, aircraft, day, ()),
        balance=view_balance(ledger, aircraft, day, ()),
        fasteners=view_fasteners(ledger, aircraft, day, ()),
        leaks=view_leaks(ledger, aircraft, day, ()),
        damage=view_damage(ledger, aircraft, day, ()),
        incidents=tuple(_tell_incidents(ledger, aircraft, history, snags)),
        history=history,
        photos=tuple(_find_photos(ledger, history, facts)),
        pages=_count_pages(history, ledger),
        problems=ledger.problems,
    )


def _is_of(item: Item, stays: frozenset[str]) -> bool:
    return item.subject[0] == "part" and item.subject[1] in stays


def _without_stays(
    judged: AircraftDay, stays: frozenset[str], titles: Mapping[str, str]
) -> tuple[Standing, tuple[Reason, ...]]:
    """The standing without what is asked of parts whose records stay behind.

    A position that is empty because its part stays is told with the positions.
    """
    kept = tuple(
        replace(reason, says=_LINE.sub("", _titled(reason, titles)))
        for reason in judged.reasons
        if reason.subject not in stays
    )
    standing: Standing = min(
        (reason.standing for reason in kept), key=STANDINGS.index, default="nothing-open"
    )
    return standing, kept


def _titled(reason: Reason, titles: Mapping[str, str]) -> str:
    """A task by its title: the name that commands take says nothing to another reader."""
    title = titles.get(reason.name) if reason.kind in ("task", "never-recorded") else None
    known = title is not None and reason.says.startswith(reason.name)
    return f"{title}{reason.says[len(reason.name) :]}" if known else reason.says


def _tell_snags(ledger: Ledger, aircraft: str, day: date) -> tuple[SnagStory, ...]:
    """Every snag of the aircraft and of the parts that go with it, wherever it was found."""
    del aircraft  # one aircraft is all that the new owner's ledger holds
    found = []
    for line in view_snags(ledger, day, (), every=True).lines:
        state = line.state
        host = ("aircraft", state.found_on) if state.found_on else None
        subject = ("part", state.part) if state.part is not None else host
        flown = None
        if subject is not None and (subject[0] == "aircraft" or subject[1] in ledger.records.parts):
            until = state.closed_by
            flown = ledger.gained(
                subject,
                "flights",
                ledger.orders.last_point(state.id),
                ledger.orders.last_point(until.id) if until is not None else None,
            )
        found.append(SnagStory(line, flown))
    opened = [story for story in found if story.state.is_open]
    closed = [story for story in found if not story.state.is_open]
    closed.sort(key=lambda story: (story.state.first_day, story.state.id))
    return (*opened, *closed)


def _merge_history(
    ledger: Ledger, aircraft: str, day: date, stays: frozenset[str]
) -> tuple[HistoryLine, ...]:
    """Every record of the aircraft and of its parts once, in order."""
    found: dict[str, HistoryLine] = {}
    subjects = [("aircraft", aircraft)]
    subjects.extend(("part", name) for name in sorted(ledger.records.parts) if name not in stays)
    for subject in subjects:
        for line in view_history(ledger, subject, day, ()).lines:
            found.setdefault(line.event.id, line)
    return tuple(
        sorted(
            found.values(),
            key=lambda line: (line.event.moment.day, ledger.rank.get(line.event.id, 10**9)),
        )
    )


def _tell_incidents(
    ledger: Ledger,
    aircraft: str,
    history: tuple[HistoryLine, ...],
    snags: tuple[SnagStory, ...],
) -> list[IncidentStory]:
    found = []
    for line in history:
        body = line.event.body
        if not isinstance(body, Incident) or line.withdrawn:
            continue
        point = ledger.orders.last_point(line.event.id)
        found.append(
            IncidentStory(
                line.event,
                line.says,
                ledger.value(("aircraft", aircraft), "flights", point),
                tuple(s for s in snags if s.state.first_day == line.event.moment.day),
                tuple(_checks_after(ledger, aircraft, line.event, body)),
            )
        )
    return found


def _checks_after(
    ledger: Ledger, aircraft: str, event: Event, body: Incident
) -> list[tuple[Task, Event | None]]:
    """The checks an incident opened, each with its first result after it."""
    rank = ledger.rank[event.id]
    found = []
    for task in ledger.tasks(aircraft):
        starts = [start for start in task.starts if start.when == "incident"]
        if not any(not start.what or body.what in start.what for start in starts):
            continue
        done = sorted(
            (
                item
                for events in ledger.dones.get(task.id, {}).values()
                for item in events
                if isinstance(item.body, TaskDone) and ledger.rank[item.id] > rank
            ),
            key=lambda item: ledger.rank[item.id],
        )
        found.append((task, done[0] if done else None))
    return found


def _find_photos(
    ledger: Ledger, history: tuple[HistoryLine, ...], facts: DossierFacts
) -> Iterator[Photo]:
    """Every kept file, in order of its day, with the record that it belongs to."""
    for line in history:
        body = line.event.body
        if not isinstance(body, Other) or not body.attachment or line.withdrawn:
            continue
        of = ledger.settled.originals.get(body.about or "")
        about = "" if of is None else getattr(of.body, "text", "") or tell_event(ledger, of)
        data = facts.pictures.get(body.attachment)
        yield Photo(line.event, body.attachment, body.text or "", about, data)


def days_late(event: Event) -> int | None:
    """Days between the day of a record and its writing; None where that is not recorded."""
    if event.typed is None:
        return None
    return max((event.typed.date() - event.moment.day).days, 0)


def _count_pages(history: tuple[HistoryLine, ...], ledger: Ledger) -> Pages:
    events = [line.event for line in history]
    days = [event.moment.day for event in events]
    late = [days_late(event) for event in events]
    sources: dict[str, int] = {}
    for event in events:
        sources[event.source] = sources.get(event.source, 0) + 1
    return Pages(
        len(events),
        min(days, default=None),
        max(days, default=None),
        sum(value is not None and value > LATE_DAYS for value in late),
        tuple(sorted(sources.items())),
        sum(value is None for value in late),
        sum(line.amended for line in history),
        sum(line.withdrawn for line in history),
        tuple(_mark_people(events)),
    )


def _mark_people(events: list[Event]) -> Iterator[tuple[str, str, int]]:
    """Everybody named, the first one A; after Z come A1, B1."""
    counts: dict[str, int] = {}
    for event in events:
        if event.by:
            counts[event.by] = counts.get(event.by, 0) + 1
    for number, (person, count) in enumerate(counts.items()):
        turn, letter = divmod(number, 26)
        yield person, chr(ord("A") + letter) + (str(turn) if turn else ""), count
