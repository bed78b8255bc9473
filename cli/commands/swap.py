"""swap: one part out, another in at its place."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_part
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf swap sv-208 sv-205 --after djms:2"


def command(
    old: Annotated[
        str, typer.Argument(help="The part that comes off.", autocompletion=complete_part)
    ],
    new: Annotated[
        str, typer.Argument(help="The part that goes in.", autocompletion=complete_part)
    ],
    reason: Annotated[str | None, typer.Option("--reason", "-r", help="Why.")] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record that one part took the place of another."""
    from register.entry.part_moves import plan_swap

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    about = (old, new, after)
    session.record(
        session.plan(about, lambda clerk: plan_swap(clerk, old, new, stamp, reason=reason))
    )
