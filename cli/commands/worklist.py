"""worklist: tonight's work on an aircraft, in an order that can be done.

With `--json` it answers, version 1:

    {"version": 1, "on", "complete", "unread": [path], "aircraft", "title", "stage", "until",
     "start", "wanted_at", "latest_evening", "fly_at", "untold": [text], "decided_by": [number],
     "assumed": {"evening", "each_minutes", "opening_minutes", "planned_flights",
                 "not_fitted_yet": [opening]},
     "labour": {"stated_minutes", "reckoned_minutes", "steps_without"},
     "steps": [{"number", "step", "action": "off" | "do" | "on" | "again", "title", "begins",
                "ends", "minutes", "minutes_stated", "opening", "checks": [text],
                "work": {"kind", "id", "text", "subject", "state", "due", "grounds", "where", "at",
                         "told_by_words", "off": [opening], "other_ways": [opening],
                         "record"} or null,
                "disturbed_by": [name], "traps": [{"notice", "title"}], "handling_at",
                "full_at"}],
     "before": [{"first": step, "then": step, "cure_minutes"}],
     "knots": [{"ends": [{"says", "place"}], "left_out", "place"}],
     "problems": [{"code", "says", "place", "mend"}],
     "curing": [{"what", "record", "full_at"}], "tools": [{"tool", "for": [text]}],
     "fasteners": [{"joint", "opening", "count", "fastener", "thread_lock", "torque_nm",
                    "torque_basis"}],
     "fresh_fasteners": [{"joint", "count", "fastener", "item", "on_shelf"}],
     "materials": [{"material", "for": [text]}],
     "place_not_stated": [{"id", "text", "taken_as", "mend"}], "day_checks", "never_done",
     "soon", "only_on_the_shelf": [{"task", "subject", "text"}], "page"}

`latest_evening` and `fly_at` are null where they cannot be told (`untold` says why) or, for the
evening, where it is too late.
"""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.session import current_session

EXAMPLE = (
    "Example: tailsheaf worklist heron --until 2026-05-16   "
    "(to print: --page heron.html; other hours: --evening 18:30-21:00)"
)


def command(
    aircraft: Annotated[
        str, typer.Argument(help="The aircraft.", autocompletion=complete_aircraft)
    ],
    until: Annotated[
        str | None,
        typer.Option(
            "--until", metavar="DATE", help="What is due by then; a week on if not given."
        ),
    ] = None,
    evening: Annotated[
        str | None,
        typer.Option("--evening", metavar="FROM-TO", help="Hours at the bench: 19:00-22:00."),
    ] = None,
    ready: Annotated[
        str | None,
        typer.Option("--ready", metavar="HOUR", help="When it shall be ready that day: 10:00."),
    ] = None,
    each: Annotated[
        int | None,
        typer.Option("--each", metavar="MIN", help="Reckoned for work without a time: 15."),
    ] = None,
    plan: Annotated[
        int | None,
        typer.Option("--plan", min=1, help="Flights planned that day: what falls due in them too."),
    ] = None,
    page: Annotated[
        str | None,
        typer.Option("--page", metavar="FILE", help="Write a page to print, with boxes to tick."),
    ] = None,
    every: Annotated[
        bool, typer.Option("--all", help="Tasks never recorded, and due soon after, too.")
    ] = False,
) -> None:
    """List what is to be done, in order: what comes off, work, refit, checks, cures, labour."""
    from cli.render.worklist import render_worklist
    from register.answers import answer_worklist
    from register.entry.evenings import WorklistWords

    session = current_session()
    session.looks_ahead = True
    moment = session.now if session.on_text is None else None
    words = WorklistWords(until, evening, ready, each, plan, every)
    view = answer_worklist(session.open(), session.on, aircraft, words, moment)
    render_worklist(session, view, page)
