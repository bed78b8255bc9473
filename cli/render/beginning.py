"""After init: what was made, and the next lines to type."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from cli.render.screen import Screen, Span

if TYPE_CHECKING:
    from cli.session import Session
    from register.desk import Fleet


def show_beginning(
    session: Session, fleet: Fleet, folder: str, *, example: bool, joined: str | None = None
) -> None:
    """The folder, its zone and season, and three commands."""
    records = fleet.records
    month, day = records.fleet.season_start
    zone, season = records.fleet.home_zone, f"{month:02}-{day:02}"
    lines = _next_lines(example=example, joined=joined)
    if fleet.root != session.cwd:
        lines = (f"cd {shlex.quote(folder)}", *lines)
    screen = Screen()
    deed = "made" if joined is None else "joined"
    what = f"{deed}: " if "fleet" in records.fleet.name.lower() else f"{deed}: fleet "
    screen.line([what, Span(records.fleet.name, "strong"), f" in {fleet.root}"])
    history = "history begun in git" if joined is None else f"history from {joined}"
    screen.line(f"home zone {zone}, season from {season} (fleet.yaml); {history}", 2)
    if example or joined is not None:
        what = "the example" if example else "it holds"
        counts = (
            f"{len(records.aircraft)} aircraft, {len(records.parts)} parts, "
            f"{len(records.events)} events"
        )
        screen.line(f"{what}: {counts}{', all invented' if example else ''}", 2)
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
        "joined": joined,
        "aircraft": sorted(records.aircraft),
        "next": list(lines),
    }
    session.show(screen, data)


def _next_lines(*, example: bool, joined: str | None) -> tuple[str, ...]:
    if joined is not None:
        return ("tailsheaf fleet", "tailsheaf due", "tailsheaf sync")
    if example:
        return ("tailsheaf fleet", "tailsheaf due heron", "tailsheaf history heron")
    return (
        "tailsheaf programme",
        "tailsheaf aircraft NAME --programme turbine-jet --opening flights=150~",
        "tailsheaf due NAME",
    )
