"""fasteners: what is screwed into an aircraft, and what a thread takes."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.session import current_session

EXAMPLE = "Example: tailsheaf fasteners heron"


def command(
    aircraft: Annotated[
        str | None, typer.Argument(help="Which one.", autocompletion=complete_aircraft)
    ] = None,
    joint: Annotated[str | None, typer.Argument(help="One joint of it.")] = None,
    ways: Annotated[
        bool, typer.Option("--ways", help="Of a joint: the ways to mend it, broken or not.")
    ] = False,
    thread: Annotated[
        str | None, typer.Option("--thread", help="Look up a thread: M3, #4-40, 1/4-20.")
    ] = None,
    head: Annotated[
        str | None, typer.Option("--head", help="cap, button, countersunk, set, pan, nut, …")
    ] = None,
    material: Annotated[
        str | None, typer.Option("--material", help="steel-8.8, steel-12.9, stainless-a2-70, …")
    ] = None,
    into: Annotated[
        str | None, typer.Option("--into", help="steel, nut, aluminium, plywood, plastic, …")
    ] = None,
    friction: Annotated[
        str | None,
        typer.Option("--friction", help="black, zinc, cadmium, lubricated, anti-seize."),
    ] = None,
    mu: Annotated[
        str | None, typer.Option("--mu", help="Friction for the full torque equation: 0.12.")
    ] = None,
    torque: Annotated[
        str | None, typer.Option("--torque", metavar="NM", help="Wanted at the fastener, in N·m.")
    ] = None,
    lever: Annotated[
        str | None, typer.Option("--lever", metavar="MM", help="Length of the torque wrench.")
    ] = None,
    extension: Annotated[
        str | None, typer.Option("--extension", metavar="MM", help="In line with it.")
    ] = None,
) -> None:
    """Show joints, tools to bring and spares of an aircraft; or look up a thread."""
    session = current_session()
    asked = (head, material, into, friction, mu, torque, lever, extension)
    if thread is not None or any(asked):
        from cli.render.thread import render_thread
        from register.entry.thread_words import ThreadWords, read_thread_wish
        from register.views.fasteners import view_thread

        wish = read_thread_wish(ThreadWords(thread, *asked), aircraft)
        render_thread(session, view_thread(wish))
        return
    from cli.render.fasteners import render_fasteners
    from register.answers import answer_fasteners

    view = answer_fasteners(session.open(), session.on, aircraft, joint)
    render_fasteners(session, view, ways=ways)
