"""incident: something happened that opens a list of inspections."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf incident petrel hard landing"


def command(
    aircraft: Annotated[
        str, typer.Argument(help="Which aircraft.", autocompletion=complete_aircraft)
    ],
    what: Annotated[list[str], typer.Argument(help="What happened: hard landing, tip strike, …")],
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record something that happened, and open the inspections that it calls for."""
    from register.entry.conditions import plan_incident

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    session.record(plan_incident(session.clerk(), aircraft, what, stamp))
