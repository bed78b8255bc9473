"""What a foreign repository could run, and whether it was taken on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cli.render.screen import Screen, Span
from register.trouble import Exit

if TYPE_CHECKING:
    from cli.session import Session
    from register.git.adopting import Stranger, Trap

AGREE = "tailsheaf adopt --yes"


def render_stranger(session: Session, stranger: Stranger, *, agreed: bool) -> int:
    """Show it, and give the exit code: 4 while it is not adopted."""
    adopted = stranger.is_adopted or agreed
    runs = tuple(trap for trap in stranger.traps if trap.sort == "runs")
    screen = Screen()
    screen.title("The git folder of this fleet", str(stranger.root))
    if runs:
        screen.line("Your own git, run in this folder, could start these; tailsheaf never does:", 2)
        for trap in runs:
            screen.line(_words(trap), 4, 2)
    else:
        screen.line("nothing in it starts a program", 2)
    if stranger.redirects and not stranger.is_adopted:
        screen.line("These would lead records elsewhere, and must be mended first:", 2)
    elif stranger.redirects:
        screen.line("These lead elsewhere since it was adopted; mend them:", 2)
    for trap in stranger.redirects:
        screen.line(_words(trap), 4, 2)
        screen.line(["mend: ", Span(trap.mend, "command")], 6, 2)
    screen.line(_ending(stranger, agreed=agreed), 2)
    mend = None if adopted else _mend(stranger)
    session.show(screen, _encode(stranger, runs, mend, adopted=adopted))
    return int(Exit.ANSWERED if adopted else Exit.REFUSED)


def _words(trap: Trap) -> list[str | Span]:
    place = f"{trap.file}:{trap.line}" if trap.line else trap.file
    return [Span(place, "strong"), f"  {trap.says}"]


def _ending(stranger: Stranger, *, agreed: bool) -> list[str | Span]:
    if stranger.is_adopted:
        return ["it is adopted already"]
    if agreed:
        return ["adopted: from now on records are written and committed here"]
    if stranger.redirects:
        return ["not adopted; nothing was written"]
    return ["not adopted yet. If you know this folder:  ", Span(AGREE, "command")]


def _mend(stranger: Stranger) -> str:
    return "\n".join(trap.mend for trap in stranger.redirects) or AGREE


def _encode(
    stranger: Stranger, runs: tuple[Trap, ...], mend: str | None, *, adopted: bool
) -> dict[str, object]:
    return {
        "version": 1,
        "fleet": str(stranger.root),
        "adopted": adopted,
        "could_run": [{"file": t.file, "line": t.line, "says": t.says} for t in runs],
        "redirects": [
            {"file": t.file, "line": t.line, "says": t.says, "mend": t.mend}
            for t in stranger.redirects
        ],
        "mend": mend,
    }
