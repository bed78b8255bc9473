"""What there is to do on an aircraft by a day: tasks, lives, notices, snags and jobs, as work."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime

from msgspec import Struct
from msgspec.structs import replace

from register.findings.cures import CureState, cures_holding, fold_cures, moment_words
from register.findings.deferrals import view_deferral
from register.findings.jobs import JobState, open_jobs, view_waits
from register.findings.notices import ON_NOTICE
from register.findings.snags import SnagState
from register.findings.traps import find_traps
from register.ledger.ledger import Ledger
from register.records.bodies import Snag
from register.records.notices import Notice
from register.standing.asked import has_notices
from register.standing.judge import AircraftDay, During
from register.standing.pace import forecast
from register.tasks.items import Item
from register.tasks.life import LIFE_TASK
from register.tasks.starts import is_placed_at
from register.trouble import Place
from register.views.changes import left_phrase, why_phrase
from register.views.worklist_places import Places
from register.workshop.worklist import Wait, Where, Work

#: How urgent: smaller is done first among equals.
_GROUNDS, _LIMITS, _DUE, _JOB, _EARLY, _WATCH, _LOOKS = range(7)
_BY_SEVERITY = {
    "grounding": _GROUNDS,
    "not-yet-rated": _GROUNDS,
    "limiting": _LIMITS,
    "deferrable": _DUE,
    "monitor": _WATCH,
    "cosmetic": _LOOKS,
}
WHOLE = "aircraft"
NOTICE_MEND = "write  touches: [PLACE]  in"
TASK_MEND = 'write  at: "PLACE"  (or "aircraft") in'


class WorkLine(Struct, frozen=True):
    """One piece of work with where it comes from.

    `id` is that of the record, or the task's name; `state` and `due` say how it stands.
    `by_words` True: its place was told from its words alone. `mend` is the line that states it.
    """

    work: Work
    source: str
    id: str
    state: str
    due: str
    grounds: bool
    place: Place
    by_words: bool = False
    mend: str | None = None
    traps: tuple[Notice, ...] = ()
    subject: str | None = None
    tools: tuple[str, ...] = ()
    caution: str | None = None


class Found(Struct, frozen=True):
    """All work of an aircraft, and what was left out: counted, or for the shelf alone."""

    lines: tuple[WorkLine, ...]
    day_checks: int
    never_done: int
    soon: int
    disturbed: dict[str, tuple[str, ...]]
    shelf: tuple[Item, ...]


def find_works(
    ledger: Ledger,
    day: AircraftDay,
    places: Places,
    span: tuple[date, date],
    *,
    every: bool = False,
) -> Found:
    """Everything to do by the second day of `span`; the first is today."""
    lines: list[WorkLine] = []
    shelf: list[Item] = []
    checks = never = soon = 0
    during = {(item.task, item.subject): item for item in day.during}
    for item in day.items:
        if item.task.is_card_only and item.failed is None:
            continue
        if item.is_day_check:
            checks += 1
            continue
        if item.is_for_shelf:
            shelf.append(item)
            continue
        meant = during.get((item.task.id, item.subject[1]))
        why = _why_now(ledger, item, meant, span, every=every)
        if why is None:
            never += item.state == "no-baseline"
            soon += item.state == "soon"
            continue
        lines.append(_item_line(item, places, why))
    lines.extend(_snag_line(ledger, snag, places, span) for snag in day.snags)
    lines.extend(_job_line(ledger, job, places, span[0]) for job in open_jobs(ledger, day.aircraft))
    lines = _tie_waits(ledger, day.aircraft, lines)
    if has_notices(ledger):
        lines = [_with_traps(ledger, day.aircraft, places, line) for line in lines]
    disturbed = _find_disturbed(ledger, day, lines)
    return Found(tuple(lines), checks, never, soon, disturbed, tuple(shelf))


# --- tasks, lives, notices ------------------------------------------------------


def _why_now(
    ledger: Ledger, item: Item, meant: During | None, span: tuple[date, date], *, every: bool
) -> str | None:
    """Why an item is on the list, in words; None when it is not."""
    if item.state == "no-baseline":
        return "never recorded" if item.grounds or every else None
    if item.state in ("overdue", "due", "cannot-tell", "in-window"):
        return _due_words(item)
    if meant is not None:
        return meant.says
    for limit in item.limits:
        if limit.counter is None or limit.left is None or limit.left.low is None:
            continue
        found = forecast(ledger, item.aircraft, limit.counter, limit.left.low, span[0])
        if found is not None and found.likely is not None and found.likely <= span[1]:
            return f"{left_phrase(item)}, expected about {found.likely.isoformat()}"
    return _due_words(item) if every and item.state == "soon" else None


def _due_words(item: Item) -> str:
    if item.failed is not None:
        return f"failed {item.failed.moment.day.isoformat()}"
    if item.task.is_damaged:
        return "could not be read whole: tailsheaf check"
    unclear = [found.says for found in item.opened if found.state == "cannot-tell"]
    if unclear:
        return unclear[0]
    if any(limit.unset for limit in item.limits):
        return "interval not set"
    return why_phrase(item) or item.state


def _item_line(item: Item, places: Places, why: str) -> WorkLine:
    task = item.task
    is_part = item.subject[0] == "part"
    text = f"{task.title} [{item.subject[1]}]" if is_part else task.title
    stated = [*task.at, item.position]
    if task.on == "position":
        stated.append(task.on_name)
    if task.on == ON_NOTICE:
        notice = next((n for n in _notices(places) if n.name == task.id), None)
        stated.extend(notice.touches if notice is not None else ())
    if places.openings.is_known(task.id):
        stated.append(task.id)
    # "Engine" in the title of a task on the whole aircraft tells no place.
    at, by_words = places.find(stated, f"{task.title} {task.id}", least=2)
    where = _where(at)
    if is_part and at is None:
        # An assigned part, or one on the shelf: nothing comes off the aircraft for it.
        at, where, by_words = item.subject[1], "outside", False
    kind, source = _kind_of(item)
    work = Work(
        f"{kind} {task.id} {item.subject[1]}",
        kind,
        text,
        at,
        where,
        _urgency(item),
        task.minutes,
        task=None if kind == "life" else task.id,
        zone=places.zone_of(at),
    )
    mend = None
    if where == "not-stated" or by_words:
        begins = NOTICE_MEND if kind == "notice" else TASK_MEND
        mend = f"{begins} {task.place.file}:{task.place.line}"
    return WorkLine(
        work,
        source,
        task.id,
        item.state,
        why,
        item.grounds,
        task.place,
        by_words and at is not None,
        mend,
        subject=item.subject[1],
        tools=task.tools,
        caution=task.caution,
    )


def _notices(places: Places) -> Iterator[Notice]:
    records = places.ledger.records
    file = records.aircraft[places.aircraft]
    kit = records.find_kit(file.kit)
    yield from file.notices.values()
    yield from kit.notices.values() if kit is not None else ()


def _kind_of(item: Item) -> tuple[str, str]:
    if item.task.on == ON_NOTICE:
        return "notice", "notice"
    return ("life", "life of a part") if item.task.id == LIFE_TASK else ("task", "task")


def _where(at: str | None) -> Where:
    return "not-stated" if at is None else "whole" if at == WHOLE else "place"


def _urgency(item: Item) -> int:
    if item.state in ("overdue", "due", "cannot-tell", "no-baseline"):
        return _GROUNDS if item.grounds else _DUE
    return _EARLY


# --- snags and jobs -------------------------------------------------------------


def _snag_line(
    ledger: Ledger, snag: SnagState, places: Places, span: tuple[date, date]
) -> WorkLine:
    body = snag.event.body
    joint = body.joint if isinstance(body, Snag) else None
    zone = body.zone if isinstance(body, Snag) else None
    spell = ledger.places.current(snag.part) if snag.part is not None else None
    now_at = spell.position if spell is not None else None
    at, by_words = places.find((joint, snag.position, now_at, zone), snag.text)
    where = _where(at)
    # A mark on the skin is reached from outside.
    if isinstance(body, Snag) and at is not None and (body.spot or body.finish):
        where = "outside"
    deferral = view_deferral(ledger, snag, span[1])
    due = deferral.says if deferral is not None else ""
    urgency = _BY_SEVERITY.get(snag.severity, _DUE)
    if deferral is not None:
        urgency = _GROUNDS if deferral.expired else _LIMITS
    work = Work(
        f"snag {snag.id}",
        "snag",
        snag.text,
        at,
        where,
        urgency,
        cure=body.cure if isinstance(body, Snag) else None,
        zone=places.zone_of(at) or zone,
    )
    mend = f"tailsheaf amend {snag.id[:6]} position=PLACE" if at is None or by_words else None
    return WorkLine(
        work,
        "snag",
        snag.id,
        snag.severity,
        due,
        urgency == _GROUNDS,
        snag.event.place("text"),
        by_words and at is not None,
        mend,
        subject=snag.part,
    )


def _job_line(ledger: Ledger, job: JobState, places: Places, today: date) -> WorkLine:
    body = job.body
    at, by_words = places.find((body.at,), body.text)
    hand = "" if body.hand == "none" else body.hand
    told = hand in (at or "").split("-") or hand in body.text.lower().split()
    text = body.text if not hand or told else f"{body.text} ({hand})"
    work = Work(
        f"job {job.id}",
        "job",
        text,
        at,
        _where(at),
        _JOB,
        body.minutes,
        cure=body.cure,
        zone=places.zone_of(at),
    )
    held = [wait for wait in view_waits(ledger, job, today) if wait.holds]
    return WorkLine(
        work,
        "job",
        job.id,
        "waits" if held else "ready",
        "; ".join(f"for {wait.says}" for wait in held),
        False,
        job.event.place("text"),
        by_words and at is not None,
        f"tailsheaf amend {job.id[:6]} at=PLACE" if at is None or by_words else None,
    )


def _tie_waits(ledger: Ledger, aircraft: str, lines: list[WorkLine]) -> list[WorkLine]:
    """What waits for another line, or for something that cures, says so to the planner."""
    others = {line.id: line.work for line in lines if line.work.kind in ("job", "snag")}
    jobs = {job.id: job for job in open_jobs(ledger, aircraft)}
    found = []
    for line in lines:
        waits, moments = [], []
        job = jobs.get(line.id) if line.work.kind == "job" else None
        for named in job.waits_for if job is not None else ():
            id_ = next((id_ for id_ in others if id_.startswith(named)), None)
            place = job.event.place("waits_for") if job is not None else line.place
            if id_ is not None:
                says = f"{line.work.text!r} waits for {others[id_].text!r}"
                waits.append(Wait(others[id_].key, says, place))
            moments.extend(_full_of(ledger, named))
        if line.work.kind in ("job", "snag"):
            moments.extend(c.full_at for c in cures_holding(ledger, line.id) if c.full_at)
        work = replace(line.work, waits=tuple(waits), ready_at=max(moments, default=None))
        found.append(replace(line, work=work))
    return found


def _full_of(ledger: Ledger, named: str) -> list[datetime]:
    """When a cure that a job waits for is complete."""
    return [
        cure.full_at
        for cure in fold_cures(ledger)
        if cure.full_at is not None and cure.event.id.startswith(named)
    ]


# --- traps, and what work disturbs ----------------------------------------------


def _with_traps(ledger: Ledger, aircraft: str, places: Places, line: WorkLine) -> WorkLine:
    at = line.work.at
    way = places.openings.choose_way(at, frozenset()) if line.work.where == "place" and at else None
    touched = (at, *(way.off if way is not None else ()))
    traps = find_traps(ledger, aircraft, touched, line.work.text)
    return replace(line, traps=traps)


def _find_disturbed(
    ledger: Ledger, day: AircraftDay, lines: Iterable[WorkLine]
) -> dict[str, tuple[str, ...]]:
    """By a snag's key, the tasks that its fix will open."""
    found: dict[str, tuple[str, ...]] = {}
    snags = {snag.id: snag for snag in day.snags}
    for line in lines:
        snag = snags.get(line.id) if line.work.kind == "snag" else None
        if snag is None:
            continue
        kind = ledger.records.parts[snag.part].kind if snag.part else None
        tasks = {
            item.task.id
            for item in day.items
            if item.subject[0] == "aircraft" or item.subject[1] == snag.part
            for start in item.task.starts
            if start.when in ("fix", "work")
            and start.after_counter is None
            and is_placed_at(start, snag.position, kind)
        }
        if tasks:
            found[line.work.key] = tuple(sorted(tasks))
    return found


def open_cures_of(
    ledger: Ledger, aircraft: str, moment: datetime
) -> tuple[tuple[CureState, str], ...]:
    """What cures on an aircraft already, and until when, in words."""
    return tuple(
        (cure, moment_words(cure.full_at) if cure.full_at else "time not recorded")
        for cure in fold_cures(ledger)
        if aircraft in cure.hosts and cure.is_open_at(moment)
    )
