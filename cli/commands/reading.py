"""reading: something measured outside a task, or what a meter shows."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session
from register.trouble import RegisterError

EXAMPLE = (
    "Example: tailsheaf reading kestrel weight=11.4kg "
    "(a meter: tailsheaf reading drover --meter engine-minutes=1530)"
)


def command(
    subject: Annotated[
        str, typer.Argument(help="Aircraft or part.", autocompletion=complete_subject)
    ],
    readings: Annotated[
        list[str] | None, typer.Argument(help="What was measured.", metavar="NAME=VALUE[UNIT]")
    ] = None,
    meter: Annotated[
        str | None,
        typer.Option("--meter", help="What the part's meter shows.", metavar="COUNTER=VALUE"),
    ] = None,
    new_meter: Annotated[
        bool, typer.Option("--new-meter", help="It is another meter than last time.")
    ] = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record a measurement of an aircraft or part, or what its meter shows."""
    from register.entry.readings import plan_meter, plan_reading

    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    clerk = session.clerk()
    if meter is None:
        session.record(plan_reading(clerk, subject, readings or (), stamp))
        return
    if readings:
        raise RegisterError(
            "a meter is read by itself", mend="leave NAME=VALUE or --meter out", code="usage"
        )
    session.record(plan_meter(clerk, subject, meter, stamp, replaced=new_meter))
