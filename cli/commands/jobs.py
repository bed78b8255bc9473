"""jobs: what is still to do on an aircraft; note a job, finish one."""

from __future__ import annotations

from cli.job_options import (
    Aircraft,
    Done,
    Drop,
    Every,
    Hand,
    Minutes,
    OtherHand,
    Waits,
    Where,
    WillCure,
    Words,
)
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import Session, current_session
from register.trouble import RegisterError

EXAMPLE = "Example: tailsheaf jobs bulwark fit the tail wheel steering --minutes 50"


def command(
    aircraft: Aircraft = None,
    words: Words = None,
    where: Where = None,
    hand: Hand = None,
    waits: Waits = None,
    minutes: Minutes = None,
    cure: WillCure = None,
    done: Done = None,
    drop: Drop = None,
    other_hand: OtherHand = None,
    every: Every = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """List the open jobs; note one; say that one is done."""
    session = current_session()
    said = [*([aircraft] if aircraft else []), *(words or [])]
    ends = [item for item in (done, drop, other_hand) if item is not None]
    if len(ends) > 1:
        raise RegisterError(
            "one of --done, --drop and --other-hand at a time",
            mend="tailsheaf jobs --done ID WORDS",
            code="usage",
        )
    if not words and not ends and (where or hand or waits or minutes or cure):
        raise RegisterError(
            "what is to do? no words were given",
            mend="tailsheaf jobs AIRCRAFT WORDS… --where PLACE",
            code="words-none",
        )
    if not words and not ends:
        _list(session, aircraft, every=every)
        return
    from register.entry.jobs import JobWords, plan_job, plan_job_end, plan_other_hand
    from register.entry.places import check_when

    clerk = session.clerk()
    check_when(clerk, at)
    stamp = stamp_of(at, after, by, note, source)
    if other_hand is not None:
        session.record(plan_other_hand(clerk, other_hand, stamp))
    elif done is not None or drop is not None:
        state = "done" if done is not None else "dropped"
        session.record(plan_job_end(clerk, done or drop or "", state, said, stamp))
    else:
        job = JobWords(words or (), where, hand, waits or (), minutes, cure)
        session.record(plan_job(clerk, aircraft or "", job, stamp))


def _list(session: Session, aircraft: str | None, *, every: bool) -> None:
    from cli.render.jobs import render_jobs
    from register.answers import answer_jobs

    render_jobs(session, answer_jobs(session.open(), session.on, aircraft, every=every))
