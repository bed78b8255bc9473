"""install: a part goes in."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft, complete_part
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf install sv-205 kestrel aileron-servo-left"


def command(
    part: Annotated[str, typer.Argument(help="The part.", autocompletion=complete_part)],
    aircraft: Annotated[
        str | None,
        typer.Argument(help="Where it goes.", autocompletion=complete_aircraft),
    ] = None,
    position: Annotated[
        str | None, typer.Argument(help="Its position; left out where only one fits.")
    ] = None,
    into: Annotated[
        str | None,
        typer.Option("--into", help="Another part instead.", autocompletion=complete_part),
    ] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record that a part went into an aircraft, or into another part."""
    from register.entry.part_moves import InstallWords, plan_install

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    words = InstallWords(aircraft, position, into)
    session.record(plan_install(session.clerk(), part, words, stamp))
