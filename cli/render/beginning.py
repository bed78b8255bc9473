"""After init: what was made, and the next lines to type."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from cli.render.screen import Screen, Span

if TYPE_CHECKING:
    from cli.session import Session
    from register.desk import Fleet


def show_beginning(session: Session, fleet: Fleet, folder: str, *, example: bool) -> None:
    """The folder, its zone and season, and three commands."""
    records = fleet.records
    month, day = records.fleet.season_start
    zone, season = records.fleet.home_zone, f"{month:02}-{day:02}"
    lines = _next_lines(example=example)
    if fleet.root != session.cwd:
        lines = (f"cd {shlex.quote(folder)}", *lines)
    screen = Screen()
    what = "made: " if "fleet" in records.fleet.name.lower() else "made: fleet "
    screen.line([what, Span(records.fleet.name, "strong"), f" in {fleet.root}"])
    screen.line(f"home zone {zone}, season from {season} (fleet.yaml); history begun in git", 2)
    if example:
        screen.line(
            f"the example: {len(records.aircraft)} aircraft, {len(records.parts)} parts, "
            f"{len(records.events)} events, all invented",
            2,
        )
    screen.line("next:")
    for line in lines:
        screen.line(Span(line, "command"), 2)
    data = {
        "version": 1,
        "fleet": records.fleet.name,
        "folder": str(fleet.root),
        "home_zone": zone,
        "season_start": season,
        "example": example,
        "aircraft": sorted(records.aircraft),
        "next": list(lines),
    }
    session.show(screen, data)


def _next_lines(*, example: bool) -> tuple[str, ...]:
    if example:
        return ("tailsheaf fleet", "tailsheaf due heron", "tailsheaf history heron")
    return (
        "tailsheaf programme",
        "tailsheaf aircraft NAME --programme turbine-jet --opening flights=150~",
        "tailsheaf due NAME",
    )
