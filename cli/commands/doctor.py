"""doctor: find what a power cut, a dead disk or a sync service did to the history, and mend it.

With `--json` it answers, version 1:

    {"version": 1, "fleet": "/where/it/is", "looked_only": false, "has_history": true,
     "well": true,
     "findings": [{"code", "path", "says", "deed", "damage", "still_wrong"}],
     "rescue": ".git/tailsheaf/rescue/2026-05-16-0900" or null,
     "copy": ".git/tailsheaf/rescue/2026-05-16-0900/git-as-it-was" or null,
     "finished": [paths of an interrupted write that came into history],
     "unsaved": [paths that are not in history: tailsheaf save],
     "git_fsck": [lines] or null where git sees no repository}

`deed` says what was done, with `looked_only` what would be done, and is empty where
nothing can be. `well` is false, and the exit code 1, while anything is still wrong.
"""

from __future__ import annotations

from typing import Annotated

import typer

from cli.session import current_session

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
    return render_doctor(session, found)
