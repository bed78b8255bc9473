"""charge: packs were charged."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_part
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf charge rx-3 rx-4"


def command(
    parts: Annotated[
        list[str], typer.Argument(help="The packs charged.", autocompletion=complete_part)
    ],
    count: Annotated[
        str | None, typer.Option("--count", "-n", help="How many times each; 1 if left out.")
    ] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record that packs were charged, now unless --at says otherwise."""
    from register.entry.running import plan_charge

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    about = (after, *parts)
    session.record(session.plan(about, lambda clerk: plan_charge(clerk, parts, count, stamp)))
