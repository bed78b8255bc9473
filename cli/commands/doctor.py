"""doctor: find what a power cut, a dead disk or a sync service did to the history, and mend it.

With `--json` it answers, version 1:

    {"version": 1, "fleet": "/where/it/is", "looked_only": false, "has_history": true,
     "well": true,
     "findings": [{"code", "path", "says", "deed", "damage", "still_wrong"}],
     "rescue": ".git/tailsheaf/rescue/2026-05-16-0900" or null,
     "copy": ".git/tailsheaf/rescue/2026-05-16-0900/git-as-it-was" or null,
     "finished": [paths of an interrupted write that came into history],
     "unsaved": [paths that are not in history: tailsheaf save],
     "copies": [{"path", "says", "moved": null where it needs you}],
     "git_fsck": [lines] or null where git sees no repository}

`deed` says what was done, with `looked_only` what would be done, and is empty where
nothing can be. `well` is false, and the exit code 1, while anything is still wrong.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cli.session import current_session

if TYPE_CHECKING:
    from register.copying import CopyDeed

EXAMPLE = "Example: tailsheaf doctor --look"


def command(
    look: Annotated[bool, typer.Option("--look", help="Only say what is wrong.")] = False,
    no_copy: Annotated[
        bool, typer.Option("--no-copy", help="Do not copy .git aside first (saves room).")
    ] = False,
) -> int:
    """Mend the history's own files after a crash; nothing is deleted, no record is touched."""
    from cli.render.doctor import render_doctor
    from register.git.mending import find_patient, look_after

    session = current_session()
    root = find_patient(session.start_folder)
    stamp = session.now.strftime("%Y-%m-%d-%H%M%S")
    found = look_after(root, acts=not look, copies=not no_copy, stamp=stamp)
    copies: tuple[CopyDeed, ...] = ()
    if not look and found.has_history and found.is_well:
        from register.copying import settle_copies
        from register.desk import read_records

        copies = settle_copies(read_records(root), stamp)
    return render_doctor(session, found, copies)
