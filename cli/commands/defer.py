"""defer: the decision to fly on with a snag."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_snag
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = (
    "Example: tailsheaf defer r7ch --reason 'sand in winter' --until 2026-12-01 --limit 'calm air'"
)


def command(
    snag: Annotated[
        str, typer.Argument(help="The snag's id, as shown.", autocompletion=complete_snag)
    ],
    reason: Annotated[
        str | None, typer.Option("--reason", "-r", help="Why it can wait; required.")
    ] = None,
    until: Annotated[
        str | None,
        typer.Option("--until", "-u", help="A day, or 10d: days after the day of discovery."),
    ] = None,
    flights: Annotated[
        str | None, typer.Option("--flights", "-f", help="For so many flights more.")
    ] = None,
    limit: Annotated[
        str | None, typer.Option("--limit", "-l", help="What holds meanwhile: grass only.")
    ] = None,
    knowing: Annotated[
        list[str] | None,
        typer.Option("--knowing", help="A snag deferred on the same system, weighed as well."),
    ] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Put a snag off until a day or for a number of flights; a grounding one is refused."""
    from register.entry.fixes import DeferralWords, plan_defer

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    words = DeferralWords(reason, until, flights, limit, knowing or ())
    session.record(plan_defer(session.clerk(), snag, words, stamp))
