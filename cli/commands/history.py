"""history: every record about an aircraft or part."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject
from cli.session import current_session

EXAMPLE = "Example: tailsheaf history heron --since 2026-04-01 --kind snag"
USUAL = 30


def command(
    subject: Annotated[
        str, typer.Argument(help="An aircraft or part.", autocompletion=complete_subject)
    ],
    kind: Annotated[
        list[str] | None, typer.Option("--kind", help="Only this kind. May be repeated.")
    ] = None,
    since: Annotated[str | None, typer.Option("--since", help="From this day on.")] = None,
    last: Annotated[int, typer.Option("--last", min=1, help="So many records.")] = USUAL,
    every: Annotated[bool, typer.Option("--all", help="All records.")] = False,
) -> None:
    """Show what was recorded, oldest first, with the ids that other commands take."""
    from cli.render.fleet import render_history
    from register.desk import answer_history
    from register.entry.dates import read_day
    from register.entry.naming import match_name
    from register.records.body_readers import READERS

    session = current_session()
    fleet = session.open()
    kinds = tuple(match_name(word, READERS, "kind of record") for word in kind or ())
    begin = read_day(since, session.now, fleet.zone) if since else None
    count = None if every or session.as_json else last
    view = answer_history(fleet, session.on, subject, kinds, begin, count)
    render_history(session, view)
