"""Options of `modify`, with their types."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject

Subject = Annotated[
    str | None,
    typer.Argument(
        help="Aircraft or part; or the id of a modification, to follow it.",
        autocompletion=complete_subject,
    ),
]
Words = Annotated[
    list[str] | None,
    typer.Argument(help="What was done; without words, departures are listed."),
]
Manual = Annotated[str | None, typer.Option(help="What the manual says.")]
Why = Annotated[str | None, typer.Option(help="Why it was done otherwise.")]
Tried = Annotated[
    list[str] | None, typer.Option(help="What was tried and given up; several are several.")
]
Mass = Annotated[str | None, typer.Option(help="Effect on mass: 12 (grams), -3.5g, 0.4kg.")]
Throws = Annotated[str | None, typer.Option(help="Effect on throws, in words.")]
Strength = Annotated[str | None, typer.Option(help="Effect on strength, in words.")]
State = Annotated[str | None, typer.Option(help="trial, curing, fixed or undone.")]
Before = Annotated[
    list[str] | None,
    typer.Option(metavar="NAME=VALUE[UNIT]", help="A reading from before the work."),
]
AfterWork = Annotated[
    list[str] | None,
    typer.Option(metavar="NAME=VALUE[UNIT]", help="The same reading after it."),
]
Where = Annotated[
    str | None,
    typer.Option("--where", "-w", metavar="PLACE", help="Position, zone, joint or surface."),
]
