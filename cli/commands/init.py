"""init: a new fleet, empty or the example."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.session import current_session

EXAMPLE = "Example: tailsheaf init my-fleet --zone CET"


def command(
    folder: Annotated[str, typer.Argument(metavar="DIR", help="A new or an empty folder.")],
    example: Annotated[
        bool, typer.Option("--example", help="Fill it with the example fleet, to try things on.")
    ] = False,
    name: Annotated[str | None, typer.Option(help="The fleet's name.")] = None,
    zone: Annotated[str | None, typer.Option(help="Home time zone, such as CET.")] = None,
    source: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="WHERE",
            help="Join a fleet that another machine has: its mailbox folder or repository.",
        ),
    ] = None,
    even_synced: Annotated[
        bool,
        typer.Option(
            "--even-synced", help="Make it even where a file-sync service carries the folder."
        ),
    ] = False,
    season_start: Annotated[
        str | None, typer.Option(metavar="MM-DD", help="A season begins on or after this day.")
    ] = None,
) -> None:
    """Make a folder for a new fleet, with its history begun."""
    from cli.render.beginning import show_beginning
    from register.checks.carried import check_not_carried
    from register.desk import found_fleet
    from register.entry.founding import Founding
    from register.storage.disk import resolve_path

    session = current_session()
    root = resolve_path(session.cwd / folder)
    if not even_synced:
        check_not_carried(root, session.environment)
    if source is not None:
        from register.joining import join_fleet

        joined = join_fleet(root, source, session.cwd, session.now, session.chance)
        show_beginning(session, joined, folder, example=False, joined=source)
        return
    wish = Founding(name, zone, season_start, example, session.environment.get("TZ"))
    fleet = found_fleet(root, wish, session.chance)
    show_beginning(session, fleet, folder, example=example)
