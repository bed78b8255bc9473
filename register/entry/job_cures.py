"""The cure clock of a job or snag: it starts when that is done, and what waits for it waits on."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from register.entry.clerk import Written
from register.entry.cure_wanted import plain_cure
from register.entry.cures import Times, say_times
from register.entry.drafting import Draft
from register.entry.snags import shorten
from register.findings.cures import fold_cures
from register.findings.jobs import JobState, fold_jobs
from register.findings.snags import SnagState
from register.records.bodies import Snag
from register.records.workshop_bodies import CureWanted
from register.text.nodes import Plain

#: Of a wish that names none. A cure is never kept without the key.
NO_ADHESIVE = "adhesive not stated"


class Work(Struct, frozen=True):
    """What was done and has to cure: the wish, the aircraft, place and words, and the folder."""

    wanted: CureWanted | None
    aircraft: str | None
    at: str | None
    text: str
    folder: str


def start_cure(draft: Draft, job: JobState, waiting: Sequence[JobState]) -> Written | None:
    """Write the cure that a job wished for, mixed at the moment of the draft.

    It holds the jobs that wait. None where the job wished for none, or is of no aircraft
    on record, which is said.
    """
    folder = job.event.path.partition("/events/")[0]
    work = Work(job.body.cure, job.aircraft, job.body.at, job.body.text, folder)
    return _start(draft, work, waiting)


def start_snag_cures(draft: Draft, states: Sequence[SnagState]) -> None:
    """The same for snags that are mended: the cure that each wished for, and who waits for it."""
    for state in states:
        snag = state.event.body
        if not isinstance(snag, Snag) or snag.cure is None:
            continue
        waiting = [
            job
            for job in fold_jobs(draft.clerk.ledger).values()
            if job.is_open and any(state.id.startswith(named) for named in job.waits_for)
        ]
        place = state.position or snag.zone
        folder = state.event.path.partition("/events/")[0]
        work = Work(snag.cure, state.aircraft or state.found_on, place, state.text, folder)
        say_waiting(draft, waiting, _start(draft, work, waiting))


def _start(draft: Draft, work: Work, waiting: Sequence[JobState]) -> Written | None:
    wanted, clerk = work.wanted, draft.clerk
    if wanted is None:
        return None
    if work.aircraft is None:
        draft.warn("it has to cure, but is of no aircraft on record: no clock was started")
        return None
    body: dict[str, Plain] = {
        "aircraft": clerk.ref(("aircraft", work.aircraft)),
        "at": work.at,
        "text": work.text,
        **plain_cure(wanted),
        "adhesive": wanted.adhesive or NO_ADHESIVE,
        "mixed": draft.when.text,
        "holds": [other.id for other in waiting] or None,
    }
    written = draft.write(work.folder, "cure", body)
    times = Times(wanted.handling_minutes, wanted.full_minutes, None, wanted.basis, None)
    say_times(draft, ("aircraft", work.aircraft), shorten(work.text), times)
    if draft.when.instant is None:
        draft.warn("the time of day is not recorded, so the end of that day counts as the mixing")
    short = clerk.short(written.id)
    draft.say(f"mixed at another time? tailsheaf amend {short} mixed={draft.when.text}")
    return written


def say_waiting(draft: Draft, waiting: Sequence[JobState], cure: Written | None) -> None:
    """Which jobs waited for one that is done, and whether they now wait for its cure."""
    for other in waiting:
        short, text = draft.clerk.short(other.id), shorten(other.body.text)
        if cure is None:
            draft.say(f"{short} waited for it: {text}")
        else:
            draft.say(f"{short} goes on waiting, for the cure: {text}")


def has_cured(draft: Draft, id_: str) -> bool:
    """Whether something waited for is a cure that is over at the very moment of the draft."""
    moment = draft.when.instant
    return moment is not None and any(
        cure.event.id == id_ and not cure.is_open_at(moment)
        for cure in fold_cures(draft.clerk.ledger)
    )
