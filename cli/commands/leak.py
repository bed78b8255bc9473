"""leak: the leak-down of an air system; readings with time and temperature."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session
from register.trouble import RegisterError

EXAMPLE = "Example: tailsheaf leak heron gear-air 7.6@21/13:40 7.1@16/14:25"


def command(
    aircraft: Annotated[
        str, typer.Argument(help="Which aircraft.", autocompletion=complete_aircraft)
    ],
    system: Annotated[str | None, typer.Argument(help="Which air system.")] = None,
    readings: Annotated[
        list[str] | None,
        typer.Argument(
            help="Pressure, temperature and time: 8.0@24/14:00 (bar, Celsius); now if no time.",
            metavar="[PRESSURE@TEMPERATURE/TIME]…",
        ),
    ] = None,
    minutes: Annotated[
        str | None, typer.Option("--minutes", help="Time between two readings without a clock.")
    ] = None,
    ambient: Annotated[
        str | None,
        typer.Option("--ambient", help="Pressure of the air around: 0.98, 982hPa."),
    ] = None,
    begin: Annotated[
        bool, typer.Option("--begin", help="A new leak-down begins with this reading.")
    ] = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Show leak-downs corrected for temperature; record readings of one."""
    from register.entry.leaks import LeakWords, plan_leak

    session = current_session()
    words = LeakWords(tuple(readings or ()), minutes, ambient, begin)
    if readings and system is not None:
        stamp = stamp_of(at, after, by, note, source)
        session.record(plan_leak(session.clerk(), aircraft, system, words, stamp))
        return
    if words != LeakWords(()):
        raise RegisterError(
            "no reading is given",
            mend=f"tailsheaf leak {aircraft} {system or 'SYSTEM'} 8.0@24",
            code="usage",
        )
    from cli.render.leaks import render_leaks
    from register.answers import answer_leaks

    render_leaks(session, answer_leaks(session.open(), session.on, aircraft, system))
