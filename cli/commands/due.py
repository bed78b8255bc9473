"""due: what falls due, and every reason."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.session import current_session

EXAMPLE = "Example: tailsheaf due heron"


def command(
    aircraft: Annotated[
        str | None, typer.Argument(help="One aircraft, or all.", autocompletion=complete_aircraft)
    ] = None,
    every: Annotated[
        bool, typer.Option("--all", help="Also what is well, and what was never recorded.")
    ] = False,
) -> None:
    """Show which tasks are due, soonest first, with what is left."""
    from cli.render.due import render_due
    from register.desk import answer_due, answer_heard

    session = current_session()
    session.looks_ahead = True
    view = answer_due(session.open(), session.on, aircraft, every=every)
    render_due(session, view, answer_heard(session.open(), session.on))
