"""balance: mass, centre of gravity and ballast; scale readings; what a change would do."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session
from register.trouble import RegisterError

EXAMPLE = (
    "Example: tailsheaf balance heron --add camera=0.3@-420 "
    "(records: tailsheaf balance heron --weigh nose=2.4 --weigh main-left=7.6 "
    "--weigh main-right=7.5 --tanks empty)"
)

Weigh = Annotated[
    list[str] | None,
    typer.Option(
        "--weigh", metavar="POINT=READING", help="What a scale shows: nose=2.31, or 2310g."
    ),
]
Tare = Annotated[
    list[str] | None,
    typer.Option(
        "--tare", metavar="[POINT=]TARE", help="To take off: chocks, a stand; of one or all."
    ),
]
Tanks = Annotated[str | None, typer.Option("--tanks", help="empty, full or part-full.")]
Fuel = Annotated[str | None, typer.Option("--fuel", help="What was in them: 1.2, 1200g or 1.5l.")]
Attitude = Annotated[
    str | None, typer.Option("--attitude", help="Degrees nose up while weighed; 0 is level.")
]
AddItem = Annotated[
    list[str] | None,
    typer.Option("--add", metavar="NAME=MASS@ARM", help="Try with one thing more."),
]
RemoveItem = Annotated[
    list[str] | None,
    typer.Option("--remove", metavar="NAME[=MASS@ARM]", help="Try without it."),
]
MoveItem = Annotated[
    list[str] | None,
    typer.Option("--move", metavar="NAME@ARM", help="Try it there: pack=0.62@310:250."),
]
BallastAt = Annotated[
    list[str] | None,
    typer.Option("--ballast-at", metavar="ARM", help="How much it would take there."),
]


def command(
    aircraft: Annotated[
        str, typer.Argument(help="Which aircraft.", autocompletion=complete_aircraft)
    ],
    weigh: Weigh = None,
    tare: Tare = None,
    tanks: Tanks = None,
    fuel: Fuel = None,
    attitude: Attitude = None,
    add: AddItem = None,
    remove: RemoveItem = None,
    move: MoveItem = None,
    ballast_at: BallastAt = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Show the balance; record scale readings; try what a change would do (nothing is written)."""
    from register.entry.balance import WeighWords, plan_weighing
    from register.entry.what_if import TryWords

    session = current_session()
    tried = TryWords(add or (), remove or (), move or (), ballast_at or ())
    words = WeighWords(weigh or (), tare or (), tanks, fuel, attitude)
    if not weigh and words != WeighWords(()):
        raise RegisterError(
            "no reading is given",
            mend=f"tailsheaf balance {aircraft} --weigh nose=2.31 --weigh main-left=7.42 …",
            code="usage",
        )
    if weigh:
        if not tried.is_empty:
            raise RegisterError(
                "a weighing is recorded, and what is tried is not",
                mend="record the weighing first, then try the change on it",
                code="usage",
            )
        stamp = stamp_of(at, after, by, note, source)
        session.record(plan_weighing(session.clerk(), aircraft, words, stamp))
        return
    from cli.render.balance import render_balance
    from register.answers import answer_balance

    render_balance(session, answer_balance(session.open(), session.on, aircraft, tried))
