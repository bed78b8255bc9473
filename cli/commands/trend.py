"""trend: readings that creep, and when they meet their limit.

With `--json` it answers, version 1:

    {"version": 1, "on", "complete", "unread": [path], "subject", "per", "tested", "level",
     "series": [{"subject", "in", "place", "source", "name", "unit", "axis", "verdict": "past" |
                 "approaching" | "near" | "mended" | "drifting" | "steady" | "away" | "too-few" |
                 "no-limit", "says", "limit", "bounds": {"low", "high", "basis"} or null,
                 "slope": {"value", "low", "high", "level", "method", "convention", "too_few"},
                 "test": {"p", "direction", "method", "convention", "readings", "too_few"},
                 "meets": {"expected", "earliest", "latest", "passed"}, "season",
                 "readings": [{"when", "at", "value", "spell", "out", "record"}],
                 "steps": [{"when", "says", "record"}], "remarks": [text]}]}

Slopes are in the unit per day, or per flight with `--per flights`.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

import typer

from cli.completion import complete_subject
from cli.session import current_session

EXAMPLE = "Example: tailsheaf trend drover play-mm --per flights"


Axis = Literal["days", "flights"]


class Per(StrEnum):
    """What a drift is counted over."""

    days = "days"
    flights = "flights"


def command(
    what: Annotated[
        str | None,
        typer.Argument(
            metavar="[AIRCRAFT|PART]",
            help="Whose; all if not given.",
            autocompletion=complete_subject,
        ),
    ] = None,
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="Which reading.")] = None,
    per: Annotated[Per, typer.Option("--per", help="A drift over days or flights.")] = Per.days,
) -> None:
    """Show readings that drift, their slope with its interval, and when they meet their limit."""
    from cli.render.trend import render_trend
    from register.answers import answer_trend

    session = current_session()
    axis: Axis = "flights" if per is Per.flights else "days"
    render_trend(session, answer_trend(session.open(), session.on, what, name, axis))
