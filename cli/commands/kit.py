"""kit: show, enter or change what aircraft of one type share."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.session import Session, current_session
from cli.standing_options import Add, Basis, PerFlight, Position, Title

EXAMPLE = (
    "Example: tailsheaf kit --skeleton joints "
    "(records: tailsheaf kit northwind-26 --position engine=turbine! --per-flight landings=1)"
)


def command(
    name: Annotated[str | None, typer.Argument(help="Which one, or a new one.")] = None,
    skeleton: Annotated[
        bool,
        typer.Option(
            "--skeleton",
            help="Print a section with all its keys, to copy into the file; alone, list them.",
        ),
    ] = False,
    add: Add = False,
    title: Title = None,
    position: Position = None,
    per_flight: PerFlight = None,
    basis: Basis = None,
) -> None:
    """Show the kits; with a new name or with facts, enter or change one."""
    if skeleton:
        _show_skeleton(current_session(), name)
        return
    from register.entry.choosing import choose_name
    from register.entry.kits import KitWish, plan_kit

    wish = KitWish(title, tuple(position or ()), tuple(per_flight or ()), basis)
    session = current_session()
    if name is None:
        _show(session, None)
        return
    line = f"tailsheaf kit {name.strip().lower()} --add   (a new one)"
    found, is_new = choose_name(
        name, session.open().standing.kits, "kit", add=add, given=not wish.is_empty, line=line
    )
    if wish.is_empty and not is_new:
        _show(session, found)
        return
    session.record(plan_kit(session.clerk(), found, wish, is_new=is_new))


def _show(session: Session, name: str | None) -> None:
    from cli.render.kits import render_kits
    from register.views.kit import view_kits

    fleet = session.open()
    render_kits(session, view_kits(fleet.ledger, fleet.unread, name))


def _show_skeleton(session: Session, section: str | None) -> None:
    from cli.render.skeletons import render_skeleton, render_skeletons
    from register.starters.skeletons import read_skeleton, read_skeletons

    if section is None:
        render_skeletons(session, read_skeletons())
    else:
        render_skeleton(session, read_skeleton(section))
