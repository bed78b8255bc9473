"""programme: show the tasks of a programme, or copy a starter."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_programme, complete_task
from cli.session import current_session
from register.trouble import RegisterError

EXAMPLE = (
    "Example: tailsheaf programme turbine-jet --task surface-throws "
    "(all keys: tailsheaf programme --skeleton)"
)


def command(
    name: Annotated[
        str | None,
        typer.Argument(help="A programme or starter.", autocompletion=complete_programme),
    ] = None,
    copy: Annotated[
        bool, typer.Option("--copy", help="Copy this starter into the fleet, yours to change.")
    ] = False,
    as_name: Annotated[
        str | None, typer.Option("--as", metavar="NAME", help="Call the copy otherwise.")
    ] = None,
    task: Annotated[
        str | None, typer.Option(help="One task in full.", autocompletion=complete_task)
    ] = None,
    skeleton: Annotated[
        bool, typer.Option("--skeleton", help="Print a programme with every key there is, to copy.")
    ] = False,
) -> None:
    """Show programmes and starters, and where each of their limits comes from."""
    session = current_session()
    if skeleton:
        from cli.render.skeletons import render_skeleton
        from register.starters.skeletons import read_programme_skeleton

        render_skeleton(session, read_programme_skeleton())
        return
    fleet = session.open()
    if name is None:
        if copy or as_name or task:
            raise RegisterError(
                "which programme?", mend="tailsheaf programme turbine-jet --copy", code="usage"
            )
        from cli.render.programme import render_programmes
        from register.desk import answer_programmes

        render_programmes(session, answer_programmes(fleet, session.on))
        return
    if copy or as_name:
        from register.desk import read_starters
        from register.entry.programme_files import plan_copy

        session.record(plan_copy(session.clerk(), name, read_starters(), as_name))
        return
    from cli.render.programme import render_programme, render_task
    from register.desk import answer_programme
    from register.entry.naming import match_name

    view = answer_programme(fleet, session.on, name)
    if task is None:
        render_programme(session, view)
    else:
        ids = [line.task.id for line in view.tasks]
        render_task(session, view, match_name(task, ids, "task"))
