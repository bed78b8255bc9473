"""parts: show, enter or change a part."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_part
from cli.options import At, By, Note, stamp_of
from cli.session import Session, current_session
from cli.standing_options import (
    Add,
    AsOf,
    Basis,
    Condition,
    Kind,
    Life,
    Made,
    Opening,
    Title,
    Use,
)

EXAMPLE = "Example: tailsheaf parts tb-2 --add --kind turbine --opening engine-minutes=18.5h"


def command(
    part: Annotated[
        str | None, typer.Argument(help="Which one, or a new one.", autocompletion=complete_part)
    ] = None,
    add: Add = False,
    kind: Kind = None,
    use: Use = None,
    title: Title = None,
    serial: Annotated[str | None, typer.Option(help="The maker's number.")] = None,
    lot: Annotated[str | None, typer.Option(help="The maker's lot.")] = None,
    side: Annotated[str | None, typer.Option(help="left, right …")] = None,
    opening: Opening = None,
    as_of: AsOf = None,
    life: Life = None,
    basis: Basis = None,
    made: Made = None,
    condition: Condition = None,
    at: At = None,
    by: By = None,
    note: Note = None,
) -> None:
    """Show the parts; with --add enter a new one, with facts change one."""
    from register.entry.choosing import choose_name
    from register.entry.naming import read_alias
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
    names = session.open().standing.parts
    line = f"tailsheaf parts {part.strip().lower()} --add --kind {kind or 'KIND'}   (a new one)"
    # Names of parts are alike by nature (servo-3, servo-4): a new one is said to be new.
    typed = part if add else read_alias(part, names)
    found, is_new = choose_name(typed, names, "part", add=add, given=False, line=line)
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
