"""done: a task was carried out, or a whole list of them."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_subject, complete_task
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session

EXAMPLE = (
    "Example: tailsheaf done surface-free-play heron -r play-mm=0.8mm "
    "(a list: tailsheaf done season heron --each hinge-pull=4kg)"
)


def command(
    task: Annotated[
        str,
        typer.Argument(
            help="The task, or a list of tasks: its name, its group, day, season.",
            autocompletion=complete_task,
        ),
    ],
    subject: Annotated[
        str, typer.Argument(help="Aircraft or part.", autocompletion=complete_subject)
    ],
    reading: Annotated[
        list[str] | None,
        typer.Option("--reading", "-r", help="What was measured.", metavar="NAME=VALUE[UNIT]"),
    ] = None,
    each: Annotated[
        list[str] | None,
        typer.Option(
            "--each",
            "-e",
            help="In a list, the reading of one task.",
            metavar="TASK[@PART][:NAME]=VALUE[UNIT]",
        ),
    ] = None,
    leave_out: Annotated[
        list[str] | None, typer.Option("--except", help="In a list, a task that was not done.")
    ] = None,
    position: Annotated[
        str | None, typer.Option("--position", "-p", help="Which of several parts.")
    ] = None,
    fail: Annotated[bool, typer.Option("--fail", help="It did not pass.")] = False,
    no_readings: Annotated[
        bool,
        typer.Option(
            "--no-readings", help="In a list, record grounding tasks without their readings too."
        ),
    ] = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Record a task as done, with its readings; a reading out of bounds is a fail."""
    from register.entry.dones import DoneWords, plan_done

    session = current_session()
    words = DoneWords(reading or (), each or (), leave_out or (), position, fail, no_readings)
    stamp = stamp_of(at, after, by, note, source)
    # Either of the two may be the aircraft or part.
    about = (task, subject, after)
    session.record(session.plan(about, lambda clerk: plan_done(clerk, task, subject, words, stamp)))
