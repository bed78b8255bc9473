"""papers: what runs out when; adding and renewing."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_aircraft
from cli.session import Session, current_session

EXAMPLE = "Example: tailsheaf papers insurance --until 2027-03-31"


def command(
    name: Annotated[str | None, typer.Argument(help="Which one, or a new one.")] = None,
    add: Annotated[bool, typer.Option("--add", help="It is a new one.")] = False,
    title: Annotated[str | None, typer.Option(help="What it is, in a few words.")] = None,
    kind: Annotated[
        str | None,
        typer.Option(help="permit, insurance, competence, registration or other."),
    ] = None,
    covers: Annotated[
        list[str] | None,
        typer.Option(help="fleet, or an aircraft.", autocompletion=complete_aircraft),
    ] = None,
    until: Annotated[
        str | None, typer.Option(metavar="DATE", help="Its last day; on an old one, a renewal.")
    ] = None,
    since: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day.")] = None,
    warn_days: Annotated[int | None, typer.Option(help="Days of warning; 30 if left out.")] = None,
    grounds: Annotated[
        bool | None,
        typer.Option("--grounds/--does-not-ground", help="Whether its end grounds."),
    ] = None,
    basis: Annotated[
        str | None, typer.Option(help='What asks for it: "rule: the national body".')
    ] = None,
) -> None:
    """Show the papers and their days left; add one, or renew one."""
    from register.entry.choosing import choose_name
    from register.entry.paper_files import PaperWish, plan_paper

    wish = PaperWish(title, kind, tuple(covers or ()), until, since, warn_days, grounds, basis)
    session = current_session()
    if name is None:
        _show(session, None)
        return
    line = f"tailsheaf papers {name.strip().lower()} --add --kind permit --until DATE"
    found, is_new = choose_name(
        name, session.open().standing.papers, "paper", add=add, given=False, line=line
    )
    if wish.is_empty and not is_new:
        _show(session, found)
        return
    session.record(plan_paper(session.clerk(), found, wish, is_new=is_new))


def _show(session: Session, name: str | None) -> None:
    from cli.render.papers import render_papers
    from register.views.papers import view_papers

    fleet = session.open()
    day = session.on
    render_papers(session, view_papers(fleet.ledger_at(day), day, fleet.unread, name))
