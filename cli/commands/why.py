"""why: the chain behind any figure."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject, complete_task
from cli.session import current_session

EXAMPLE = "Example: tailsheaf why heron surface-free-play"


def command(
    subject: Annotated[
        str, typer.Argument(help="An aircraft or part.", autocompletion=complete_subject)
    ],
    what: Annotated[
        str | None,
        typer.Argument(
            help="A task, a counter, a part, a snag's or cure's id, a paper; or nothing.",
            autocompletion=complete_task,
        ),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Every record, not the last few.")] = False,
) -> None:
    """Explain what is shown: rule, basis, records and arithmetic."""
    from cli.render.marks import note_unread
    from cli.render.why import render_why
    from register.answers import answer_why

    session = current_session()
    fleet = session.open()
    answer = answer_why(fleet, session.on, subject, what)
    note_unread(session, fleet.unread)
    render_why(session, answer, every=every)
