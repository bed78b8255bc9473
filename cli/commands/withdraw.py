"""withdraw: take an event out of all counting."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf withdraw djms --reason 'entered twice'"


def command(
    event: Annotated[str, typer.Argument(help="The event's id, as shown.")],
    duplicate_of: Annotated[
        str | None,
        typer.Option("--duplicate-of", "-d", help="The event that says the same and stays."),
    ] = None,
    reason: Annotated[str | None, typer.Option("--reason", "-r", help="Why.")] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Take an event out of all counting; withdrawing the withdrawal counts it again."""
    from register.entry.withdrawing import plan_withdraw

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    plan = plan_withdraw(session.clerk(), event, stamp, duplicate_of=duplicate_of, reason=reason)
    session.record(plan)
