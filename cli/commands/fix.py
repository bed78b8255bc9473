"""fix: close a snag with what was done."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from cli.completion import complete_snag
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

if TYPE_CHECKING:
    from register.entry.screws import MendWords

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
    mending: Annotated[
        str | None,
        typer.Option(
            "--mending",
            help="Of a screw: extracted, new-hole, insert, larger-thread, same-again, other.",
        ),
    ] = None,
    draw: Annotated[
        list[str] | None,
        typer.Option("--draw", metavar="ITEM[=N]", help="Taken off the shelf, as in stock."),
    ] = None,
    rest: Annotated[
        str | None,
        typer.Option("--rest", help="Where the rest of a broken one was: out, in-hole, …"),
    ] = None,
    thread: Annotated[
        str | None, typer.Option("--thread", help="Of the new screws, if another: M4.")
    ] = None,
    length: Annotated[
        str | None, typer.Option("--length", metavar="MM", help="Of the new screws, if another.")
    ] = None,
    head: Annotated[
        str | None, typer.Option("--head", help="Of the new screws, if another: cap, button, …")
    ] = None,
    changed: Annotated[
        str | None,
        typer.Option("--changed", metavar="N", help="How many are of the other size now."),
    ] = None,
    minutes: Annotated[
        str | None, typer.Option("--minutes", metavar="MIN", help="Labour that it took: 45, 1:30.")
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
    mend = _mend_words((mending, draw or (), rest, thread, length, head, changed))
    said = FixWords(words, keep_open, cause, mend, minutes)
    session.record(session.plan((*snags, after), lambda clerk: plan_fix(clerk, snags, said, stamp)))


def _mend_words(typed: tuple[Any, ...]) -> MendWords | None:
    """What was said of screws and the shelf, if anything was."""
    if not any(typed):
        return None
    from register.entry.screws import MendWords

    return MendWords(*typed)
