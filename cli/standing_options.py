"""Options of the commands that enter standing files, with their types."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_programme

Add = Annotated[bool, typer.Option("--add", help="It is a new one.")]
Title = Annotated[str | None, typer.Option(help="What it is, in a few words.")]
Basis = Annotated[
    str | None, typer.Option(help='Where the figure comes from: "maker: handbook page 12".')
]
Opening = Annotated[
    list[str] | None,
    typer.Option(metavar="COUNTER=N[~]", help="What it had behind it; ~ about, ? not known."),
]
AsOf = Annotated[str | None, typer.Option(metavar="DATE", help="The day of the opening figures.")]
Position = Annotated[
    list[str] | None,
    typer.Option(metavar="NAME=KIND[!]", help="Where a part goes; ! must be filled."),
]
PerFlight = Annotated[
    list[str] | None,
    typer.Option(metavar="COUNTER=N", help="What each flight adds to a counter."),
]
Programme = Annotated[
    list[str] | None,
    typer.Option(
        metavar="NAME[/GROUP]",
        help="A programme to follow, whole or a group; a starter is copied.",
        autocompletion=complete_programme,
    ),
]
LastDone = Annotated[
    list[str] | None,
    typer.Option(
        metavar="TASK=DATE[~]",
        help="When a task was last done: TASK=2026-03-01~@flights=140, TASK:PART=…, "
        "group:NAME=… for a whole group.",
    ),
]
Life = Annotated[
    list[str] | None,
    typer.Option(metavar="COUNTER=N", help="Life limit; also months=36, date=2027-05-01."),
]
Kind = Annotated[str | None, typer.Option(help="What sort of part: turbine, servo, battery …")]
Use = Annotated[str | None, typer.Option(help="installed in one place, or assigned (packs).")]
Made = Annotated[str | None, typer.Option(metavar="DATE", help="The day it was made.")]
Condition = Annotated[
    str | None, typer.Option(help="serviceable, quarantined, rejected or scrapped.")
]
