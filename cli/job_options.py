"""Options of `jobs`, with their types."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft

Aircraft = Annotated[
    str | None, typer.Argument(help="Which aircraft.", autocompletion=complete_aircraft)
]
Words = Annotated[
    list[str] | None,
    typer.Argument(help="What is to do; without words, open jobs are listed."),
]
Where = Annotated[
    str | None,
    typer.Option("--where", "-w", metavar="PLACE", help="Position, zone, joint or opening."),
]
Hand = Annotated[
    str | None, typer.Option(help="left, right or both; told by the place if left out.")
]
Waits = Annotated[
    list[str] | None,
    typer.Option("--waits", metavar="ID", help="A job, snag, cure or modification before it."),
]
Minutes = Annotated[str | None, typer.Option(help="Labour: 40, or 1.5 h.")]
WillCure = Annotated[
    str | None,
    typer.Option("--cure", help='What will have to cure: "epoxy 30 minutes=3h/24h", or 24h.'),
]
Done = Annotated[
    str | None,
    typer.Option(
        "--done", metavar="ID", help="It is done; words say how. A cure it wished for starts now."
    ),
]
Drop = Annotated[
    str | None, typer.Option("--drop", metavar="ID", help="It is not needed; words say why.")
]
OtherHand = Annotated[
    str | None,
    typer.Option("--other-hand", metavar="ID", help="The same job for the other side."),
]
Every = Annotated[bool, typer.Option("--all", help="In a list, closed ones too.")]
