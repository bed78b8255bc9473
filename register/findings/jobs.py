"""Jobs folded with what became of them, and with what each waits for."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from weakref import WeakKeyDictionary

from msgspec import Struct

from register.findings.cures import cures_holding, fold_cures
from register.findings.departures import fold_departures
from register.findings.snags import fold_snags
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.workshop_bodies import Job

#: Ids are typed and written by at least so many characters.
SHORTEST = 4


class Wait(Struct, frozen=True):
    """One thing a job waits for. `is_open` None: it is not known what it is."""

    id: str
    what: str
    is_open: bool | None
    says: str

    @property
    def holds(self) -> bool:
        """It holds the job back: open, or nothing that can be found."""
        return self.is_open is not False


class JobState(Struct, frozen=True):
    """One job as it stands. `state` is open, done or dropped; `by` the record that closed it."""

    id: str
    event: Event
    body: Job
    aircraft: str | None
    state: str
    by: Event | None
    waits_for: tuple[str, ...]

    @property
    def is_open(self) -> bool:
        """Still to do."""
        return self.state == "open"


_FOLDED: WeakKeyDictionary[Ledger, dict[str, JobState]] = WeakKeyDictionary()


def fold_jobs(ledger: Ledger) -> dict[str, JobState]:
    """Every job by id, in the order they were noted."""
    found = _FOLDED.get(ledger)
    if found is None:
        found = _FOLDED[ledger] = _fold_all(ledger)
    return dict(found)


def _fold_all(ledger: Ledger) -> dict[str, JobState]:
    first: dict[str, JobState] = {}
    for event in ledger.events:
        body = event.body
        if isinstance(body, Job) and body.job is None:
            # Written by hand it may be done from the first.
            by = event if body.state != "open" else None
            aircraft = ledger.names.aircraft_name(body.aircraft)
            first[event.id] = JobState(
                event.id, event, body, aircraft, body.state, by, body.waits_for
            )
    for event in ledger.events:
        body = event.body
        if isinstance(body, Job) and body.job is not None:
            id_ = find_id(body.job, first)
            if id_ is not None:
                first[id_] = _brought_on(first[id_], event, body)
    return first


def find_id(named: str, ids: dict[str, JobState]) -> str | None:
    """A job by its id, or by the beginning of it where only one is meant."""
    if named in ids:
        return named
    starting = [id_ for id_ in ids if id_.startswith(named)]
    return starting[0] if len(named) >= SHORTEST and len(starting) == 1 else None


def _brought_on(job: JobState, event: Event, body: Job) -> JobState:
    """A later record opens, closes or drops it; one that names more waits adds them."""
    waits = tuple(dict.fromkeys((*job.waits_for, *body.waits_for)))
    closed = event if body.state != "open" else None
    return JobState(job.id, job.event, job.body, job.aircraft, body.state, closed, waits)


def view_waits(ledger: Ledger, job: JobState, day: date) -> tuple[Wait, ...]:
    """What a job waits for, and whether it still does on a day; a cure that holds it, too."""
    named = [_wait(ledger, id_, day) for id_ in job.waits_for]
    known = {wait.id for wait in named}
    held = [cure.event.id for cure in cures_holding(ledger, job.id)]
    return (*named, *(_wait(ledger, id_, day) for id_ in held if id_ not in known))


def _wait(ledger: Ledger, id_: str, day: date) -> Wait:
    event = ledger.orders.events.get(id_)
    if event is None:
        starting = [key for key in ledger.orders.events if key.startswith(id_)]
        event = (
            ledger.orders.events[starting[0]]
            if len(id_) >= SHORTEST and len(starting) == 1
            else None
        )
    if event is None:
        return Wait(id_, "unknown", None, f"{id_} is no record of this fleet")
    return Wait(event.id, event.kind, *_standing_of(ledger, event, day))


def _standing_of(ledger: Ledger, event: Event, day: date) -> tuple[bool | None, str]:
    text = getattr(event.body, "text", "") or event.kind
    if event.kind == "job":
        jobs = fold_jobs(ledger)
        first = event.id if event.id in jobs else find_id(getattr(event.body, "job", ""), jobs)
        job = jobs.get(first or "")
        return (None, text) if job is None else (job.is_open, job.body.text)
    if event.kind == "snag":
        snag = fold_snags(ledger).get(event.id)
        return (None, text) if snag is None else (snag.is_open, f"snag: {text}")
    if event.kind == "modification":
        departure = fold_departures(ledger).get(event.id)
        state = departure.state if departure is not None else "fixed"
        return state == "curing", f"{text} ({state})"
    if event.kind == "cure":
        cures = [cure for cure in fold_cures(ledger) if cure.event.id == event.id]
        if not cures:
            return None, text
        cure = cures[0]
        until = f" until {cure.full_at:%Y-%m-%d %H:%M}" if cure.full_at else ", time not recorded"
        return cure.is_open_on(day), f"cure: {cure.what}{until}"
    return None, f"{event.kind.replace('-', ' ')}: nothing that is ever done"


def open_jobs(ledger: Ledger, aircraft: str) -> tuple[JobState, ...]:
    """Jobs of an aircraft that are still to do."""
    return tuple(
        job for job in fold_jobs(ledger).values() if job.aircraft == aircraft and job.is_open
    )


def find_circles(ledger: Ledger) -> Iterator[tuple[JobState, ...]]:
    """Jobs that wait for each other in a ring: none of them could ever be begun. Each once."""
    jobs = fold_jobs(ledger)
    links = {
        id_: [found for named in job.waits_for if (found := find_id(named, jobs)) is not None]
        for id_, job in jobs.items()
        if job.is_open
    }
    told: set[frozenset[str]] = set()
    for start in links:
        ring = _ring(start, links)
        if ring and frozenset(ring) not in told:
            told.add(frozenset(ring))
            yield tuple(jobs[id_] for id_ in ring)


def _ring(start: str, links: dict[str, list[str]]) -> list[str]:
    """The shortest way from a job back to itself, or nothing."""
    before: dict[str, str] = {}
    front = [start]
    while front:
        following = []
        for here in front:
            for there in links.get(here, ()):
                if there == start:
                    way = [here]
                    while way[-1] != start:
                        way.append(before[way[-1]])
                    return way[::-1]
                if there in links and there not in before:
                    before[there] = here
                    following.append(there)
        front = following
    return []


def find_other_hand(ledger: Ledger, job: JobState) -> JobState | None:
    """The same job for the other hand, if it was ever noted."""
    other = {"left": "right", "right": "left"}.get(job.body.hand)
    if other is None:
        return None
    jobs = fold_jobs(ledger)
    for found in jobs.values():
        linked = found.body.other_hand_of
        if linked is not None and find_id(linked, jobs) == job.id:
            return found
        if job.body.other_hand_of is not None and found.id == find_id(job.body.other_hand_of, jobs):
            return found
        same = found.aircraft == job.aircraft and found.body.hand == other
        if same and _plain(found.body.text) == _plain(job.body.text):
            return found
    return None


def _plain(text: str) -> str:
    words = text.casefold().split()
    return " ".join(word for word in words if word not in ("left", "right"))
