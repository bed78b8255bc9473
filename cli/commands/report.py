"""report: standing, due, what keeps breaking, readings that creep, and the season's figures.

With `--json` it answers, version 1:

    {"version": 1, "on", "complete", "unread": [path], "aircraft", "standing": [as in flyday],
     "due": [as in due], "never_done", "faults": {as faults --json},
     "trend": {as trend --json}, "season": {as season --json}, "page"}
"""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.session import current_session

EXAMPLE = "Example: tailsheaf report heron --season 2025   (to hand round: --html heron.html)"


def command(
    aircraft: Annotated[
        str | None,
        typer.Argument(help="One aircraft, or the fleet.", autocompletion=complete_aircraft),
    ] = None,
    season: Annotated[
        int | None,
        typer.Option("--season", metavar="YEAR", help="The season that begins in that year."),
    ] = None,
    html: Annotated[
        str | None, typer.Option("--html", metavar="FILE", help="Write it as one page, with plots.")
    ] = None,
    private: Annotated[
        bool, typer.Option("--private", help="With money, from private.yaml.")
    ] = False,
) -> None:
    """Report on the fleet or an aircraft: standing, due, faults, trends, season; on a page too."""
    from cli.render.report import render_report
    from register.answers import answer_report

    session = current_session()
    view = answer_report(session.open(), session.on, aircraft, season, private=private)
    render_report(session, view, html)
