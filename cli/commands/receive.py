"""receive: take in an aircraft from another owner.

With `--json` it answers, version 1: `aircraft`, `as`, `day`, `signature`, `records` by what they
are here, `first`, `last`, `open_snags`, `deferred`, `incidents`, `names` with every collision,
`left_out`, `fleet_differs`, `come_true` (parts known by name alone until now), `can_take`; with
`--take` what was written.
"""

from __future__ import annotations

from typing import Annotated

import typer

from cli.options import At, By, Note
from cli.session import current_session

EXAMPLE = "Example: tailsheaf receive heron.tailsheaf"


def command(
    file: Annotated[str, typer.Argument(help="The handover file.")],
    take: Annotated[
        bool, typer.Option("--take", help="Write it; without, everything is only shown.")
    ] = False,
    as_name: Annotated[
        str | None, typer.Option("--as", metavar="NAME", help="What the aircraft is called here.")
    ] = None,
    names: Annotated[
        list[str] | None,
        typer.Option("--name", metavar="THEIRS=HERE", help="Another name for a part, kit, …"),
    ] = None,
    key: Annotated[
        str | None,
        typer.Option("--key", metavar="FILE", help="The sender's public SSH key (a .pub file)."),
    ] = None,
    unverified: Annotated[
        bool,
        typer.Option("--unverified", help="Take it though its signature is wrong or missing."),
    ] = False,
    at: At = None,
    by: By = None,
    note: Note = None,
) -> None:
    """Open a handover file, hold it to every rule, show what it brings; with --take, write it."""
    from cli.options import stamp_of
    from cli.receiving import ReceiveWords, receive_file

    words = ReceiveWords(take, as_name, tuple(names or ()), key, unverified)
    receive_file(current_session(), file, words, stamp_of(at, None, by, note, None))
