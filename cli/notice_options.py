"""Options of `notices`, with their types."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_notice

Words = Annotated[
    list[str] | None,
    typer.Argument(
        help="A notice, an aircraft, a part or its position, in any order.",
        autocompletion=complete_notice,
    ),
]
Clear = Annotated[
    str | None,
    typer.Option("--clear", metavar="WORDS", help="Looked at, nothing found: in what way."),
]
Found = Annotated[
    str | None,
    typer.Option("--found", metavar="WORDS", help="It has it; open until repaired."),
]
Repaired = Annotated[str | None, typer.Option("--repaired", metavar="WORDS", help="What was done.")]
NotApplicable = Annotated[
    str | None,
    typer.Option("--not-applicable", metavar="REASON", help="It does not apply, and why."),
]
FromEvent = Annotated[
    str | None,
    typer.Option("--raise", metavar="EVENT", help="Make a snag, modification or note a notice."),
]
Title = Annotated[str | None, typer.Option(help="Of a new one, in a few words.")]
Name = Annotated[str | None, typer.Option(help="Its name in commands.")]
Text = Annotated[str | None, typer.Option(help="What to look for, at more length.")]
Trap = Annotated[
    bool, typer.Option("--trap", help="Needs no answer; shown where work touches its place.")
]
Kind = Annotated[str | None, typer.Option(help="The kind of part asked: wing, servo.")]
Position = Annotated[str | None, typer.Option("--position", "-p", help="The position asked.")]
Side = Annotated[str | None, typer.Option(help="left, right or both.")]
Lots = Annotated[list[str] | None, typer.Option(help="B12-B40; several are several.")]
Action = Annotated[str | None, typer.Option(help="once, recurring or until-repaired.")]
Every = Annotated[list[str] | None, typer.Option(help="How often: flights=10, months=6.")]
Grounds = Annotated[bool, typer.Option("--grounds", help="Grounds while it is open.")]
Touches = Annotated[
    list[str] | None, typer.Option(help="A place it is shown at when work touches it.")
]
Basis = Annotated[str | None, typer.Option(help='Where it comes from: "maker: service letter 4".')]
