"""parts: show, enter or change a part."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_part
from cli.options import At, By, Note, stamp_of
from cli.session import Session, current_session

EXAMPLE = "Example: tailsheaf parts tb-2 --add --kind turbine --opening engine-minutes=18.5h"


def command(
    part: Annotated[
        str | None, typer.Argument(help="Which one, or a new one.", autocompletion=complete_part)
    ] = None,
    add: Annotated[bool, typer.Option("--add", help="It is a new one.")] = False,
    kind: Annotated[
        str | None, typer.Option(help="What sort of part: turbine, servo, battery …")
    ] = None,
    use: Annotated[
        str | None, typer.Option(help="installed in one place, or assigned (packs).")
    ] = None,
    title: Annotated[str | None, typer.Option(help="What it is, in a few words.")] = None,
    serial: Annotated[str | None, typer.Option(help="The maker's number.")] = None,
    lot: Annotated[str | None, typer.Option(help="The maker's lot.")] = None,
    side: Annotated[str | None, typer.Option(help="left, right …")] = None,
    opening: Annotated[
        list[str] | None,
        typer.Option(metavar="COUNTER=N[~]", help="What it had behind it; ~ about, ? not known."),
    ] = None,
    as_of: Annotated[
        str | None, typer.Option(metavar="DATE", help="The day of the opening figures.")
    ] = None,
    life: Annotated[
        list[str] | None,
        typer.Option(metavar="COUNTER=N", help="Life limit; also months=36, date=2027-05-01."),
    ] = None,
    basis: Annotated[
        str | None, typer.Option(help='Where the limit comes from: "maker: handbook".')
    ] = None,
    made: Annotated[str | None, typer.Option(metavar="DATE", help="The day it was made.")] = None,
    condition: Annotated[
        str | None, typer.Option(help="serviceable, quarantined, rejected or scrapped.")
    ] = None,
    at: At = None,
    by: By = None,
    note: Note = None,
) -> None:
    """Show the parts; with --add enter a new one, with facts change one."""
    from register.entry.choosing import choose_name
    from register.entry.part_files import PartWish, plan_part

    wish = PartWish(
        kind,
        use,
        title,
        serial,
        lot,
        side,
        tuple(opening or ()),
        as_of,
        tuple(life or ()),
        basis,
        made,
        condition,
    )
    session = current_session()
    if part is None:
        _show(session, None)
        return
    names = session.open().records.parts
    line = f"tailsheaf parts {part.strip().lower()} --add --kind {kind or 'KIND'}   (a new one)"
    # Names of parts are alike by nature (servo-3, servo-4): a new one is said to be new.
    found, is_new = choose_name(part, names, "part", add=add, given=False, line=line)
    if wish.is_empty and not is_new:
        _show(session, found)
        return
    stamp = stamp_of(at, None, by, note, None)
    session.record(plan_part(session.clerk(), found, wish, stamp, is_new=is_new))


def _show(session: Session, name: str | None) -> None:
    from cli.render.parts import render_part, render_parts
    from register.desk import answer_parts
    from register.views.part import PartView

    view = answer_parts(session.open(), session.on, name)
    if isinstance(view, PartView):
        render_part(session, view)
    else:
        render_parts(session, view)
