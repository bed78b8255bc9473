"""Options that every writing command takes, with their types."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from register.entry.clerk import Stamp

At = Annotated[
    str | None,
    typer.Option(
        "--at", help='When it happened: 2026-05-16, "yesterday 14:20", sat.', metavar="WHEN"
    ),
]
After = Annotated[
    str | None,
    typer.Option(
        "--after",
        help="Directly after this event of the day, or its Nth flight.",
        metavar="EVENT[:N]",
    ),
]
By = Annotated[
    str | None, typer.Option("--by", help="Who did it, as named in private.yaml.", metavar="NAME")
]
Note = Annotated[str | None, typer.Option("--note", help="Words to keep with it.", metavar="TEXT")]
Source = Annotated[
    str | None,
    typer.Option("--source", help="at-the-time, later, from-paper or estimated.", metavar="WORD"),
]


def stamp_of(
    at: str | None, after: str | None, by: str | None, note: str | None, source: str | None
) -> Stamp:
    """The five as one value."""
    from register.entry.clerk import Stamp

    return Stamp(at, after, by, note, source)
