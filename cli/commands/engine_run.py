"""engine-run: an engine ran on the ground or on the bench."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf engine-run drover 12m --starts 2"


def command(
    part: Annotated[
        str,
        typer.Argument(help="The engine, or its aircraft.", autocompletion=complete_subject),
    ],
    minutes: Annotated[str, typer.Argument(help="How long: 12, 0.2h, 7m30s.")],
    starts: Annotated[str | None, typer.Option("--starts", help="How many starts.")] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record minutes an engine ran apart from flights."""
    from register.entry.running import plan_engine_run

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    session.record(plan_engine_run(session.clerk(), part, minutes, starts, stamp))
