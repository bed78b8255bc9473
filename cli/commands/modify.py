"""modify: departures from the manual, what was done and why, and what became of it."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import Session, current_session
from register.trouble import RegisterError

EXAMPLE = "Example: tailsheaf modify petrel soft grommets at the fan --mass 6 --state trial"


def command(
    subject: Annotated[
        str | None,
        typer.Argument(
            help="Aircraft or part; or the id of a modification, to follow it.",
            autocompletion=complete_subject,
        ),
    ] = None,
    words: Annotated[
        list[str] | None,
        typer.Argument(help="What was done; without words, departures are listed."),
    ] = None,
    manual: Annotated[str | None, typer.Option(help="What the manual says.")] = None,
    why: Annotated[str | None, typer.Option(help="Why it was done otherwise.")] = None,
    tried: Annotated[
        list[str] | None, typer.Option(help="What was tried and given up; several are several.")
    ] = None,
    mass: Annotated[
        str | None, typer.Option(help="Effect on mass: 12 (grams), -3.5g, 0.4kg.")
    ] = None,
    throws: Annotated[str | None, typer.Option(help="Effect on throws, in words.")] = None,
    strength: Annotated[str | None, typer.Option(help="Effect on strength, in words.")] = None,
    state: Annotated[str | None, typer.Option(help="trial, curing, fixed or undone.")] = None,
    before: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=VALUE[UNIT]", help="A reading from before the work."),
    ] = None,
    after_work: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=VALUE[UNIT]", help="The same reading after it."),
    ] = None,
    where: Annotated[
        str | None,
        typer.Option("--where", "-w", metavar="PLACE", help="Position, zone, joint or surface."),
    ] = None,
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
