"""condition: what state a part is in."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_part
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf condition rx-3 rejected --reason 'one cell high'"


def command(
    part: Annotated[str, typer.Argument(help="The part.", autocompletion=complete_part)],
    state: Annotated[str, typer.Argument(help="serviceable, quarantined, rejected or scrapped.")],
    reason: Annotated[str | None, typer.Option("--reason", "-r", help="Why.")] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record the condition of a part from now on."""
    from register.entry.conditions import plan_condition

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    session.record(plan_condition(session.clerk(), part, state, stamp, reason=reason))
