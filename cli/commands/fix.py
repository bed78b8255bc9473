"""fix: close a snag with what was done."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_snag
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf fix gjax filled and painted"


def command(
    snag: Annotated[
        str,
        typer.Argument(
            help="The snag's id, as shown; several with commas.", autocompletion=complete_snag
        ),
    ],
    words: Annotated[list[str], typer.Argument(help="What was done.")],
    keep_open: Annotated[
        bool, typer.Option("--keep-open", help="Work was done, the snag stays open.")
    ] = False,
    cause: Annotated[
        str | None, typer.Option("--cause", help="What lay behind it, for one that came back.")
    ] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Close a snag, saying what was done."""
    from register.entry.fixes import FixWords, plan_fix

    session = current_session()
    snags = [item for item in snag.split(",") if item.strip()]
    stamp = stamp_of(at, after, by, note, source)
    said = FixWords(words, keep_open, cause)
    session.record(session.plan((*snags, after), lambda clerk: plan_fix(clerk, snags, said, stamp)))
