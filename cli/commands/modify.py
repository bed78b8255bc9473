"""modify: departures from the manual, what was done and why, and what became of it."""

from __future__ import annotations

from cli.modify_options import (
    AfterWork,
    Before,
    Manual,
    Mass,
    State,
    Strength,
    Subject,
    Throws,
    Tried,
    Where,
    Why,
    Words,
)
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import Session, current_session
from register.trouble import RegisterError

EXAMPLE = "Example: tailsheaf modify petrel soft grommets at the fan --mass 6 --state trial"


def command(
    subject: Subject = None,
    words: Words = None,
    manual: Manual = None,
    why: Why = None,
    tried: Tried = None,
    mass: Mass = None,
    throws: Throws = None,
    strength: Strength = None,
    state: State = None,
    before: Before = None,
    after_work: AfterWork = None,
    where: Where = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record what was done otherwise than the manual says; list it; settle a trial."""
    from register.entry.modifying import (
        ModificationWords,
        is_departure,
        plan_follow,
        plan_modification,
    )
    from register.entry.places import check_when
    from register.entry.subjects import is_subject

    typed = ModificationWords(
        words or (),
        manual,
        why,
        tuple(tried or ()),
        mass,
        throws,
        strength,
        state,
        tuple(before or ()),
        tuple(after_work or ()),
        where,
    )
    session = current_session()
    if typed.is_empty:
        _show(session, subject)
        return
    if subject is None:
        raise RegisterError(
            "which aircraft, part or modification?",
            mend="tailsheaf modify AIRCRAFT WORDS…",
            code="usage",
        )
    clerk = session.clerk()
    check_when(clerk, at)
    stamp = stamp_of(at, after, by, note, source)
    if is_departure(clerk, subject) and not is_subject(clerk, subject):
        session.record(plan_follow(clerk, subject, typed, stamp))
    else:
        session.record(plan_modification(clerk, subject, typed, stamp))


def _show(session: Session, subject: str | None) -> None:
    from cli.render.departures import render_departures
    from register.answers import answer_departures

    render_departures(session, answer_departures(session.open(), session.on, subject))
