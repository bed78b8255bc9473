"""Jobs: what is still to do, what can be begun, and what each waits for."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.findings.jobs import JobState, Wait, fold_jobs, view_waits
from register.findings.traps import find_traps
from register.ledger.ledger import Ledger
from register.records.notices import Notice
from register.records.values import ZERO
from register.standing.asked import has_notices


class JobLine(Struct, frozen=True):
    """One job with its waits and the traps on the way."""

    job: JobState
    waits: tuple[Wait, ...]
    traps: tuple[Notice, ...]

    @property
    def is_ready(self) -> bool:
        """Open, and nothing holds it back."""
        return self.job.is_open and not any(wait.holds for wait in self.waits)


class JobsView(Struct, frozen=True):
    """The answer to `jobs`. `minutes` are those stated of the open ones; `unstated` have none."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    aircraft: str | None
    stages: dict[str, str]
    lines: tuple[JobLine, ...]
    closed: int
    minutes: Decimal
    unstated: int
    every: bool


def view_jobs(
    ledger: Ledger,
    day: date,
    unread: tuple[str, ...],
    aircraft: str | None = None,
    *,
    every: bool = False,
) -> JobsView:
    """Open jobs, those that can be begun first; with `every`, closed ones too."""
    jobs = [
        job for job in fold_jobs(ledger).values() if aircraft is None or job.aircraft == aircraft
    ]
    trapped = has_notices(ledger)
    lines = []
    for job in jobs:
        if not job.is_open and not every:
            continue
        traps: tuple[Notice, ...] = ()
        if trapped and job.is_open and job.aircraft is not None:
            traps = find_traps(ledger, job.aircraft, (job.body.at,), job.body.text)
        lines.append(JobLine(job, view_waits(ledger, job, day), traps))
    # The order in which they were noted stays within each group.
    lines.sort(key=lambda line: (line.job.aircraft or "", _group(line)))
    opened = [line.job for line in lines if line.job.is_open]
    stated = [job.body.minutes for job in opened if job.body.minutes is not None]
    names = {job.aircraft for job in jobs if job.aircraft is not None}
    return JobsView(
        day,
        not unread,
        unread,
        aircraft,
        {name: ledger.stage(name)[0] for name in sorted(names)},
        tuple(lines),
        sum(not job.is_open for job in jobs),
        sum(stated, ZERO),
        len(opened) - len(stated),
        every,
    )


def _group(line: JobLine) -> int:
    if not line.job.is_open:
        return 2
    return 0 if line.is_ready else 1
