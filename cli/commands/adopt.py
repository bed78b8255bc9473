"""adopt: take on a git folder that this program did not make.

With `--json` it answers, version 1:

    {"version": 1, "fleet": "/where/it/is", "adopted": false,
     "could_run": [{"file", "line", "says"}],
     "redirects": [{"file", "line", "says", "mend"}], "mend": "tailsheaf adopt --yes"}

`line` 0 means the file itself. `adopted` says how it stands afterwards; while it is
false the exit code is 4 and `mend` the line to type.
"""

from __future__ import annotations

from typing import Annotated

import typer

from cli.session import current_session

EXAMPLE = "Example: tailsheaf adopt --yes"


def command(
    yes: Annotated[
        bool, typer.Option("--yes", help="Agree, after reading what it could run.")
    ] = False,
) -> int:
    """Take on a fleet's git folder made elsewhere, after showing what it could run."""
    from cli.render.adopt import render_stranger
    from register.desk import open_fleet
    from register.entry.fleets import make_machine_id
    from register.git.adopting import adopt_fleet, view_stranger
    from register.storage.journal import machine_id, write_machine_id

    session = current_session()
    root = open_fleet(session.start_folder).root
    stranger = view_stranger(root)
    agreed = yes and not stranger.redirects and not stranger.is_adopted
    if agreed:
        adopt_fleet(stranger)
        if machine_id(root) is None:
            write_machine_id(root, make_machine_id(session.chance))
    return render_stranger(session, stranger, agreed=agreed)
