"""aircraft: show, enter or change an aircraft."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.options import At, By, Note, stamp_of
from cli.session import Session, current_session
from cli.standing_options import (
    Add,
    AsOf,
    Basis,
    LastDone,
    Opening,
    PerFlight,
    Position,
    Programme,
    Title,
)

EXAMPLE = "Example: tailsheaf aircraft kestrel --programme turbine-jet --opening flights=150~"


def command(
    name: Annotated[
        str | None,
        typer.Argument(help="Which one, or a new one.", autocompletion=complete_aircraft),
    ] = None,
    add: Add = False,
    title: Title = None,
    kit: Annotated[str | None, typer.Option(help="The kit it is built from.")] = None,
    programme: Programme = None,
    stage: Annotated[
        str | None, typer.Option(help="being-built, in-service, laid-up, sold …")
    ] = None,
    opening: Opening = None,
    as_of: AsOf = None,
    position: Position = None,
    per_flight: PerFlight = None,
    basis: Basis = None,
    last_done: LastDone = None,
    at: At = None,
    by: By = None,
    note: Note = None,
) -> None:
    """Show the aircraft; with a new name or with facts, enter or change one."""
    from register.entry.aircraft_files import AircraftWish, plan_aircraft
    from register.entry.choosing import choose_name
    from register.entry.naming import read_alias

    wish = AircraftWish(
        title,
        kit,
        tuple(programme or ()),
        stage,
        tuple(opening or ()),
        as_of,
        tuple(position or ()),
        tuple(per_flight or ()),
        basis,
        tuple(last_done or ()),
    )
    session = current_session()
    if name is None:
        _show(session, None)
        return
    names = session.open().standing.aircraft
    line = f"tailsheaf aircraft {name.strip().lower()} --add   (a new one)"
    typed = name if add else read_alias(name, names)
    found, is_new = choose_name(
        typed, names, "aircraft", add=add, given=not wish.is_empty, line=line
    )
    if wish.is_empty and not is_new:
        _show(session, found)
        return
    from register.desk import read_starters

    stamp = stamp_of(at, None, by, note, None)
    session.record(
        plan_aircraft(session.clerk(), found, wish, stamp, read_starters(), is_new=is_new)
    )


def _show(session: Session, name: str | None) -> None:
    from cli.render.aircraft import render_aircraft, render_aircraft_list
    from register.desk import answer_aircraft
    from register.views.aircraft import AircraftView

    view = answer_aircraft(session.open(), session.on, name)
    if isinstance(view, AircraftView):
        render_aircraft(session, view)
    else:
        render_aircraft_list(session, view)
