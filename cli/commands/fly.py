"""fly: log flights of one aircraft."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft, complete_part
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = "Example: tailsheaf fly heron 3 --each 7,8,6"


def command(
    aircraft: Annotated[
        str, typer.Argument(help="Which aircraft flew.", autocompletion=complete_aircraft)
    ],
    count: Annotated[str | None, typer.Argument(help="How many flights; 1 if left out.")] = None,
    minutes: Annotated[
        str | None,
        typer.Option("--minutes", "-m", help="Airborne minutes of all of them: 24, 0.4h, 7m30s."),
    ] = None,
    each: Annotated[
        str | None, typer.Option("--each", "-e", help="Minutes flight by flight: 7,8,6.")
    ] = None,
    engine_minutes: Annotated[
        str | None,
        typer.Option("--engine-minutes", help="Minutes the engine ran, ground included."),
    ] = None,
    pack: Annotated[
        list[str] | None,
        typer.Option(
            "--pack", "-p", help="A pack that was used, or none.", autocompletion=complete_part
        ),
    ] = None,
    landings: Annotated[int | None, typer.Option("--landings", help="If not one a flight.")] = None,
    tows: Annotated[int | None, typer.Option("--tows", help="Gliders towed.")] = None,
    counter: Annotated[
        list[str] | None, typer.Option("--counter", help="Another counter.", metavar="NAME=N")
    ] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Log flights; minutes and packs not given are taken from the last entry, and that is said."""
    from register.entry.flights import FlightWords, plan_fly

    session = current_session()
    words = FlightWords(
        count, minutes, each, engine_minutes, pack or (), landings, tows, counter or ()
    )
    stamp = stamp_of(at, after, by, note, source)
    packs = [name for item in words.packs for name in item.replace(",", " ").split()]
    about = (aircraft, after, *packs)
    session.record(session.plan(about, lambda clerk: plan_fly(clerk, aircraft, words, stamp)))
