"""cure: what is curing and from when it may be handled and loaded; starting a clock."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = (
    'Example: tailsheaf cure bulwark hinge block --adhesive "epoxy 30 minutes" '
    '--handling 3h --full 24h --temperature 20 --basis "maker: leaflet"'
)


def command(
    subject: Annotated[
        str | None,
        typer.Argument(help="Aircraft or part.", autocompletion=complete_subject),
    ] = None,
    words: Annotated[list[str] | None, typer.Argument(help="What was glued.")] = None,
    adhesive: Annotated[
        str | None, typer.Option("--adhesive", help="Which one, as its maker calls it.")
    ] = None,
    mixed: Annotated[
        str | None, typer.Option("--mixed", metavar="WHEN", help="When it was mixed; now if not.")
    ] = None,
    handling: Annotated[
        str | None, typer.Option("--handling", help="Time to handling: 90, 3h, 1:30.")
    ] = None,
    full: Annotated[str | None, typer.Option("--full", help="Time to full load: 24h, 7d.")] = None,
    temperature: Annotated[
        str | None, typer.Option("--temperature", help="At which these times hold: 18, 64F.")
    ] = None,
    basis: Annotated[
        str | None, typer.Option("--basis", help='Where they come from: "maker: leaflet".')
    ] = None,
    where: Annotated[
        str | None, typer.Option("--where", help="Position or place that may not be loaded.")
    ] = None,
    holds: Annotated[
        list[str] | None,
        typer.Option("--holds", help="Job, fix, modification or snag that rests on it."),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="In a list, complete ones too.")] = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Show what is curing, with the earliest time; or start a cure clock."""
    from register.entry.cures import CureWords, plan_cure

    session = current_session()
    typed = CureWords(
        tuple(words or ()), adhesive, mixed, handling, full, temperature, basis, where,
        tuple(holds or ()),
    )  # fmt: skip
    if subject is None or typed == CureWords(()):
        from cli.render.cures import render_cures
        from register.answers import answer_cures

        moment = session.now if session.on_text is None else None
        render_cures(
            session, answer_cures(session.open(), session.on, moment, subject, every=every)
        )
        return
    stamp = stamp_of(at, after, by, note, source)
    session.record(plan_cure(session.clerk(), subject, typed, stamp))
