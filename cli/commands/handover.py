"""handover: one aircraft's whole history for another owner, and nothing else."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft, complete_part
from cli.options import At, By, Note
from cli.session import current_session

EXAMPLE = "Example: tailsheaf handover heron"


def command(
    aircraft: Annotated[
        str, typer.Argument(help="Which aircraft.", autocompletion=complete_aircraft)
    ],
    out: Annotated[
        str | None,
        typer.Argument(metavar="OUT", help="File to write; without, everything is only shown."),
    ] = None,
    more: Annotated[
        list[str] | None,
        typer.Option(
            "--with", metavar="PART", help="A part to go along.", autocompletion=complete_part
        ),
    ] = None,
    less: Annotated[
        list[str] | None,
        typer.Option(
            "--without",
            metavar="PART",
            help="A fitted part that stays.",
            autocompletion=complete_part,
        ),
    ] = None,
    leave: Annotated[
        list[str] | None,
        typer.Option("--leave", metavar="ID", help="A record to leave out; not every one can be."),
    ] = None,
    to: Annotated[
        str | None, typer.Option("--to", metavar="WORDS", help="To whom; stays in your register.")
    ] = None,
    copy: Annotated[
        bool,
        typer.Option("--copy", help="Only write the file: the aircraft stays yours."),
    ] = False,
    sign: Annotated[
        str | None, typer.Option("--sign", metavar="KEY", help="Sign it with this SSH key.")
    ] = None,
    dossier: Annotated[
        str | None,
        typer.Option("--dossier", metavar="FILE", help="Write the dossier alone, as a page."),
    ] = None,
    at: At = None,
    by: By = None,
    note: Note = None,
) -> None:
    """Show what would go to a new owner; with OUT, write it and record the change of owner."""
    from cli.handing import HandoverWords, hand_over
    from cli.options import stamp_of

    words = HandoverWords(
        tuple(more or ()),
        tuple(less or ()),
        tuple(leave or ()),
        to,
        copy=copy,
        sign=sign,
        dossier=dossier,
    )
    hand_over(current_session(), aircraft, out, words, stamp_of(at, None, by, note, None))
