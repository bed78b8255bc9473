"""layup: laid up, or brought back."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf layup bulwark   (in spring: tailsheaf layup bulwark --end)"


def command(
    subject: Annotated[
        str, typer.Argument(help="Aircraft or part.", autocompletion=complete_subject)
    ],
    end: Annotated[bool, typer.Option("--end", help="It comes back.")] = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record that an aircraft or part is laid up, or with --end that it is back."""
    from register.entry.conditions import plan_layup

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    session.record(plan_layup(session.clerk(), subject, stamp, end=end))
