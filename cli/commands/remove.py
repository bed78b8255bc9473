"""remove: a part comes off."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft, complete_part
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf remove sv-208 --reason 'worn gears'"


def command(
    part: Annotated[str, typer.Argument(help="The part.", autocompletion=complete_part)],
    aircraft: Annotated[
        str | None,
        typer.Option(
            "--from", help="For a shared pack, off which.", autocompletion=complete_aircraft
        ),
    ] = None,
    reason: Annotated[str | None, typer.Option("--reason", "-r", help="Why.")] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record that a part came off."""
    from register.entry.part_moves import plan_remove

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    clerk = session.clerk()
    session.record(plan_remove(clerk, part, stamp, aircraft=aircraft, reason=reason))
