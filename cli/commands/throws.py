"""throws: how far each surface goes; linkages, turns of a rod, torque, what if."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cli.completion import complete_aircraft
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import Session, current_session
from register.trouble import RegisterError

if TYPE_CHECKING:
    from register.entry.throw_questions import ThrowsQuestion

EXAMPLE = (
    "Example: tailsheaf throws heron aileron-left --what-if arm=16 horn=22 "
    "(records: tailsheaf throws heron aileron-left --up 18 --down 14 --measure chordal)"
)
Aircraft = Annotated[str, typer.Argument(help="Which aircraft.", autocompletion=complete_aircraft)]
Surface = Annotated[str | None, typer.Argument(help="Which surface or linkage.")]
Changes = Annotated[
    list[str] | None, typer.Argument(help="More of --what-if.", metavar="[KEY=VALUE]...")
]
Value = Annotated[str | None, typer.Option(metavar="VALUE", help="Its throw: 12, 12mm or 12deg.")]
Open = Annotated[
    str | None,
    typer.Option("--open", metavar="VALUE", help="Of a surface that moves one way."),
]
Measure = Annotated[
    str | None,
    typer.Option(help="How it was measured: chordal, perpendicular, arc or degrees."),
]
Rate = Annotated[str | None, typer.Option(help="Which rate: high, low …")]
Chord = Annotated[
    str | None,
    typer.Option(metavar="MM", help="Hinge to where it was measured, if not the chord."),
]
SetUp = Annotated[bool, typer.Option("--set-up", help="This is the set-up that drift counts from.")]
Reading = Annotated[
    list[str] | None,
    typer.Option(metavar="NAME=VALUE[UNIT]", help="Play or stiffness as measured there."),
]
WhatIfs = Annotated[
    list[str] | None,
    typer.Option(
        "--what-if",
        metavar="KEY=VALUE",
        help="Try arm, hole, horn, horn-offset, arm-angle, horn-angle, pivots, rod, end-1, "
        "end-2 (turns out), low, mid or high.",
    ),
]
ShiftTo = Annotated[
    str | None,
    typer.Option(metavar="WAY=VALUE", help="The turns that shift neutral: up=1.5, down=2deg."),
]
Speed = Annotated[
    str | None,
    typer.Option(metavar="SPEED", help="Estimate hinge moments there: 60 (m/s), 216km/h."),
]


def command(
    aircraft: Aircraft,
    surface: Surface = None,
    changes: Changes = None,
    up: Value = None,
    down: Value = None,
    left: Value = None,
    right: Value = None,
    open_: Open = None,
    measure: Measure = None,
    rate: Rate = None,
    chord: Chord = None,
    set_up: SetUp = False,
    reading: Reading = None,
    what_if: WhatIfs = None,
    shift: ShiftTo = None,
    speed: Speed = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Show throws and linkages; record throws; try another linkage (nothing is written)."""
    from register.entry.throw_questions import ThrowsQuestion
    from register.entry.throws import ThrowsWish, plan_throws

    session = current_session()
    typed = (("up", up), ("down", down), ("left", left), ("right", right), ("open", open_))
    ways = tuple((way, value) for way, value in typed if value is not None)
    tried = (*(what_if or ()), *(changes or ()))
    if changes and not what_if:
        raise RegisterError(
            f"{' '.join(changes)}: what should be done with it?",
            mend=f"tailsheaf throws {aircraft} {surface} --what-if {' '.join(changes)}",
            code="usage",
        )
    wish = ThrowsWish(ways, measure, rate, chord, set_up, tuple(reading or ()))
    if not (ways or reading or set_up or measure or chord):
        _show(session, aircraft, ThrowsQuestion(surface, rate, tried, shift, speed))
        return
    if tried or shift or speed:
        raise RegisterError(
            "throws are recorded, and what is tried is not",
            mend="record the throws first, then ask",
            code="usage",
        )
    stamp = stamp_of(at, after, by, note, source)
    session.record(plan_throws(session.clerk(), aircraft, surface, wish, stamp))


def _show(session: Session, aircraft: str, asked: ThrowsQuestion) -> None:
    from cli.render.throw_changes import render_shift, render_what_if
    from cli.render.throws import render_throws
    from register.answers import answer_throws
    from register.views.linkage_changes import Shift, WhatIf

    found = answer_throws(session.open(), session.on, aircraft, asked)
    if isinstance(found, WhatIf):
        render_what_if(session, found)
    elif isinstance(found, Shift):
        render_shift(session, found)
    else:
        render_throws(session, found)
