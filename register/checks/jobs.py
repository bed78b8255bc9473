"""Jobs that could never be begun, and records that follow what is not there."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.findings.jobs import find_circles, find_id, fold_jobs, view_waits
from register.records.workshop_bodies import Job, Modification
from register.trouble import Problem


def check_jobs_begin(survey: Survey) -> Iterator[Problem]:
    """Jobs that wait for each other in a ring, or for something that is never over."""
    ledger = survey.ledger
    for ring in find_circles(ledger):
        names = [f"{survey.short(job.event)} {job.body.text[:24]}" for job in ring]
        if len(names) > 1:
            says = f"{' waits for '.join(names)}, which waits for the first"
        else:
            says = f"{names[0]} waits for itself"
        yield Problem(
            ring[0].event.place("waits_for"),
            "job-circle",
            f"waits_for: {says}; none of them can be begun",
            f"tailsheaf amend {survey.short(ring[0].event)} waits_for=…   with the right order",
            related=tuple(job.event.place("waits_for") for job in ring[1:]),
        )
    for job in fold_jobs(ledger).values():
        for wait in view_waits(ledger, job, survey.today) if job.is_open else ():
            if wait.is_open is None:
                yield warn(
                    job.event.place("waits_for"),
                    "job-waits-idle",
                    f"waits_for: {wait.says}; the job counts as waiting for ever",
                    f"tailsheaf amend {survey.short(job.event)} waits_for=…",
                )


def check_work_followed(survey: Survey) -> Iterator[Problem]:
    """A record that ends a job or follows a modification that is not there."""
    ledger = survey.ledger
    jobs = fold_jobs(ledger)
    done = {event.id for event in ledger.events if isinstance(event.body, Modification)}
    for event in ledger.events:
        body = event.body
        named, key, kind = "", "", ""
        if isinstance(body, Job) and body.job is not None and find_id(body.job, jobs) is None:
            named, key, kind = body.job, "job", "job"
        elif isinstance(body, Modification) and body.follows is not None:
            starting = [id_ for id_ in done if id_.startswith(body.follows) and id_ != event.id]
            if len(starting) != 1:
                named, key, kind = body.follows, "follows", "modification"
        if named and not survey.is_lost_id(named):
            yield warn(
                event.place(key),
                "event-unknown",
                f"{key}: no {kind} has the id {named!r}; this record stands by itself",
                f"tailsheaf amend {survey.short(event)} {key}=ID",
            )
