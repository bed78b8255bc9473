"""flyday: the answer before a flying day."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.session import current_session
from register.trouble import RegisterError

EXAMPLE = "Example: tailsheaf flyday sat --plan heron=4"


def command(
    day: Annotated[str | None, typer.Argument(help="The day asked; today if not given.")] = None,
    plan: Annotated[
        list[str] | None,
        typer.Option("--plan", "-p", help="Flights planned, as AIRCRAFT=N. May be repeated."),
    ] = None,
    card: Annotated[bool, typer.Option("--card", help="Print the pocket cards instead.")] = False,
    every: Annotated[bool, typer.Option("--all", help="Every reason, with its record.")] = False,
) -> None:
    """Show what is due, what must not fly, and why, before a flying day."""
    from register.desk import answer_flyday, answer_heard
    from register.entry.dates import read_day

    session = current_session()
    session.looks_ahead = True
    fleet = session.open()
    asked = read_day(day, session.now, fleet.zone, ahead=True) if day else session.on
    view, cards = answer_flyday(fleet, asked, session.on, _read_plans(plan or []))
    if card:
        from cli.render.cards import render_cards

        render_cards(session, view, cards)
        return
    from cli.render.flyday import render_flyday

    render_flyday(session, view, answer_heard(fleet, session.on), every=every)


def _read_plans(texts: list[str]) -> dict[str, int]:
    plans: dict[str, int] = {}
    for text in texts:
        name, equals, number = text.partition("=")
        if not equals or not (number.isascii() and number.isdigit()) or not 0 < int(number) <= 99:
            raise RegisterError(
                f"--plan {text[:40]!r} is not an aircraft and a number of flights",
                mend="write, for example  --plan heron=4",
                code="plan-wrong",
            )
        plans[name] = int(number)
    return plans
