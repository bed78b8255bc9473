"""attach: keep a photo or another file with an aircraft, a part or one record."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cli.completion import complete_subject
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

if TYPE_CHECKING:
    from register.entry.clerk import Clerk, Plan

EXAMPLE = "Example: tailsheaf attach heron chip.jpg --title 'chip at the leading edge'"


def command(
    subject: Annotated[
        str,
        typer.Argument(
            help="Aircraft or part; or the id of a record.", autocompletion=complete_subject
        ),
    ],
    file: Annotated[str, typer.Argument(help="A photo (JPEG, PNG, WebP), or another file.")],
    title: Annotated[
        str | None, typer.Option("--title", "-t", help="What it shows, in a few words.")
    ] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Keep a file. Photos are made small, and place, time and camera are taken out of them."""
    from register.entry.attaching import LARGEST_PICTURE, Incoming, plan_attach
    from register.storage.outside import read_outside

    session = current_session()
    path = session.cwd / Path(file)
    incoming = Incoming(path.name, read_outside(path, LARGEST_PICTURE))
    stamp = stamp_of(at, after, by, note, source)

    def make(clerk: Clerk) -> Plan:
        return plan_attach(clerk, subject, incoming, stamp, title)

    session.record(session.plan((subject, after), make))
