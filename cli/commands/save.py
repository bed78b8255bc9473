"""save: put hand edits into history."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from cli.render.sanitise import clean_text
from cli.session import Session, current_session

EXAMPLE = "Example: tailsheaf save aircraft/heron/aircraft.yaml"


def command(
    paths: Annotated[
        list[str] | None,
        typer.Argument(help="Files or folders of the fleet; all that were edited if left out."),
    ] = None,
) -> None:
    """Put files that were edited by hand into history, as they are."""
    from register.desk import save_edits

    session = current_session()
    fleet = session.open()
    wanted = [_in_fleet(session, path) for path in paths or ()]
    saved, note = save_edits(fleet, wanted)
    if session.as_json:
        data = {"version": 1, "saved": list(saved), "note": note}
        session.out.write(json.dumps(data, indent=2) + "\n")
        return
    if not saved:
        session.out.write("nothing to save: every record is in history as it stands\n")
    for path in saved:
        session.out.write(f"saved: {clean_text(path)}\n")
    if note:
        session.out.write(f"  {clean_text(note)}\n")
    errors = sum(problem.level == "error" for problem in fleet.problems)
    if errors:
        session.problems_seen = True
        session.err.write(f"{errors} error(s) in the records; tailsheaf check shows them\n")


def _in_fleet(session: Session, path: str) -> str:
    """A path as typed, from the folder stood in, made fleet-relative."""
    root = session.open().root
    typed = (session.cwd / path).absolute()
    if typed.is_relative_to(root):
        return typed.relative_to(root).as_posix()
    return path.replace("\\", "/").removeprefix("./")
