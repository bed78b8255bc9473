"""The cure clock of a job: it starts when the job is done, and what waits for the job waits on."""

from __future__ import annotations

from collections.abc import Sequence

from register.entry.clerk import Written
from register.entry.cure_wanted import plain_cure
from register.entry.cures import Times, say_times
from register.entry.drafting import Draft
from register.entry.snags import shorten
from register.findings.cures import fold_cures
from register.findings.jobs import JobState
from register.text.nodes import Plain

#: Of a wish that names none. A cure is never kept without the key.
NO_ADHESIVE = "adhesive not stated"


def start_cure(draft: Draft, job: JobState, waiting: Sequence[JobState]) -> Written | None:
    """Write the cure that a job wished for, mixed at the moment of the draft.

    It holds the jobs that wait. None where the job wished for none, or is of no aircraft
    on record, which is said.
    """
    wanted = job.body.cure
    if wanted is None:
        return None
    clerk = draft.clerk
    if job.aircraft is None:
        draft.warn("it has to cure, but is of no aircraft on record: no clock was started")
        return None
    body: dict[str, Plain] = {
        "aircraft": clerk.ref(("aircraft", job.aircraft)),
        "at": job.body.at,
        "text": job.body.text,
        **plain_cure(wanted),
        "adhesive": wanted.adhesive or NO_ADHESIVE,
        "mixed": draft.when.text,
        "holds": [other.id for other in waiting] or None,
    }
    written = draft.write(job.event.path.partition("/events/")[0], "cure", body)
    times = Times(wanted.handling_minutes, wanted.full_minutes, None, wanted.basis, None)
    subject = ("aircraft", job.aircraft)
    say_times(draft, subject, shorten(job.body.text), times)
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
