"""amend: mend an earlier event."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf amend djms minutes=21 note='stopwatch found'"


def command(
    event: Annotated[str, typer.Argument(help="The event's id, as shown.")],
    pairs: Annotated[
        list[str] | None,
        typer.Argument(help="What it should say; KEY= takes a value out.", metavar="KEY=VALUE"),
    ] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Mend an earlier event: its file stays, the new values count."""
    from register.entry.amending import plan_amend

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    session.record(plan_amend(session.clerk(), event, pairs or (), stamp))
