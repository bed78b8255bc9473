"""season: what a season held, beside the earlier ones.

With `--json` it answers, version 1:

    {"version": 1, "on", "complete", "unread": [path], "year", "first", "end", "running",
     "aircraft": [LINE], "seasons": [LINE], "parts": [{"part", "kind", "position", "counter",
     "gained": SPAN, "total": SPAN}], "problems": [{"code", "says", "place", "mend"}]}

    LINE: {"aircraft", "first", "last", "flying_days", "flights": SPAN, "minutes": SPAN,
           "by_the_same_day": {"flights": SPAN, "faults"}, "faults": [{"system", "count"}],
           "faults_outside_service", "done", "failed", "late": [{"task", "subject", "when",
           "record", "beyond": {side: amount}}], "missed": [{"task", "subject", "since",
           "done"}], "deferrals", "workshop": {"minutes", "pieces", "without_time"},
           "days_lost": [{"state", "why", "record", "days", "first", "last"}]},
           with --private "money": [{"category", "currency", "amount"}]
    SPAN: {"low", "high", "known"}

`seasons` are those of the aircraft asked for, else of the fleet, latest first.
"""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.session import current_session
from register.trouble import RegisterError

EXAMPLE = "Example: tailsheaf season 2025 heron"


def command(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[YEAR] [AIRCRAFT]",
            help="The year it begins in (else the running one); one aircraft.",
            autocompletion=complete_aircraft,
        ),
    ] = None,
    private: Annotated[
        bool, typer.Option("--private", help="With money, from private.yaml.")
    ] = False,
) -> None:
    """Show a season beside the earlier ones: use, faults, upkeep, work, days lost, money."""
    from cli.render.season import render_season
    from register.answers import answer_season

    session = current_session()
    year, aircraft = read_words(words or [], "season")
    view = answer_season(session.open(), session.on, year, aircraft, private=private)
    render_season(session, view)


def read_words(words: list[str], command_name: str) -> tuple[int | None, str | None]:
    """A year and an aircraft, in either order. Raises RegisterError (USAGE): two of one."""
    years = [word for word in words if word.isascii() and word.isdigit() and len(word) == 4]
    names = [word for word in words if word not in years]
    if len(years) > 1 or len(names) > 1:
        raise RegisterError(
            f"one year and one aircraft, not {' '.join(words)[:60]!r}",
            mend=f"tailsheaf {command_name} 2025 heron",
            code="usage",
        )
    return (int(years[0]) if years else None), (names[0] if names else None)
