"""What the doctor found, did, and left to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cli.render.copies import add_copies, copies_shape
from cli.render.screen import Screen, Span
from register.trouble import Exit

if TYPE_CHECKING:
    from cli.session import Session
    from register.copying import CopyDeed
    from register.git.case import Finding
    from register.git.mending import Doctoring

_SHOWN = 20


def render_doctor(session: Session, found: Doctoring, copies: tuple[CopyDeed, ...] = ()) -> int:
    """Show it, and give the exit code: 1 while anything is still wrong."""
    screen = Screen()
    screen.title("The history's own files", "only looked at" if found.looked_only else "")
    for item in found.findings:
        _add_finding(screen, item, looked_only=found.looked_only)
    if not found.has_history:
        screen.line("this fleet has no git history; there is nothing more to look through", 2)
    if found.copy:
        screen.line(f"a copy of .git as it was: {found.copy}", 2)
    if found.rescue and found.rescue != found.copy:
        screen.line(f"what was moved: {found.rescue}", 2)
    _add_paths(screen, "came into history, from an interrupted write:", found.finished)
    _add_paths(screen, "not in history yet; to put them there:  tailsheaf save", found.unsaved)
    add_copies(screen, copies)
    _add_verdict(screen, found)
    session.show(screen, {**encode_doctoring(found), "copies": copies_shape(copies)})
    return int(Exit.ANSWERED if found.is_well else Exit.RECORDS)


def _add_finding(screen: Screen, item: Finding, *, looked_only: bool) -> None:
    words: list[str | Span] = [Span(item.path, "strong"), f" {item.says}"]
    if item.deed:
        words.append(f": {'would be ' if looked_only else ''}{item.deed}")
    if item.still_wrong:
        words.append(Span("  still wrong", "attend"))
    screen.line(words, 2, 2)


def _add_paths(screen: Screen, head: str, paths: tuple[str, ...]) -> None:
    if not paths:
        return
    screen.line(head, 2)
    for path in paths[:_SHOWN]:
        screen.line(path, 4)
    if len(paths) > _SHOWN:
        screen.line(f"and {len(paths) - _SHOWN} more", 4)


def _add_verdict(screen: Screen, found: Doctoring) -> None:
    if found.verdict is None:
        if found.has_history:
            screen.line("git fsck could not be asked: git sees no repository here", 2)
    elif found.verdict:
        screen.line("git fsck --full --strict says:", 2)
        for line in found.verdict:
            screen.line(line, 4, 2)
    else:
        screen.line("git fsck --full --strict: nothing wrong", 2)
    if found.is_well:
        screen.line(Span("nothing is wrong now", "well"), 2)
    elif found.looked_only:
        screen.line(["to mend it:  ", Span("tailsheaf doctor", "command")], 2)
    else:
        screen.line("something is still wrong; copy the whole folder elsewhere before more", 2)


def encode_doctoring(found: Doctoring) -> dict[str, object]:
    """The same as data; the shape stands in the command's module."""
    return {
        "version": 1,
        "fleet": str(found.root),
        "looked_only": found.looked_only,
        "has_history": found.has_history,
        "well": found.is_well,
        "findings": [
            {
                "code": item.code,
                "path": item.path,
                "says": item.says,
                "deed": item.deed,
                "damage": item.damage,
                "still_wrong": item.still_wrong,
            }
            for item in found.findings
        ],
        "rescue": found.rescue,
        "copy": found.copy,
        "finished": list(found.finished),
        "unsaved": list(found.unsaved),
        "git_fsck": None if found.verdict is None else list(found.verdict),
    }
