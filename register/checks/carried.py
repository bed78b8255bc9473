"""A fleet in a folder that a file-sync service carries: its history breaks there, file by file."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping
from pathlib import Path

from register.checks.survey import warn
from register.storage.carried import find_carried
from register.trouble import Exit, Place, Problem, RegisterError


def check_not_carried(root: Path, environment: Mapping[str, str]) -> None:
    """Refuse to make a fleet in a carried folder; say how two machines share one.

    Raises RegisterError (REFUSED `folder-carried`).
    """
    carried = find_carried(root, environment)
    if carried is None:
        return
    home = f"~/{root.name or 'fleet'}"
    box = shlex.quote(str(carried / "tailsheaf-mailbox"))
    raise RegisterError(
        f"{carried} looks like a folder that a file-sync service carries; a history that is "
        "carried file by file breaks (--even-synced makes it all the same); nothing was written",
        mend=f"tailsheaf init {home}   then let the service carry a mailbox:\n"
        f"mkdir {box}   and, in the fleet:  tailsheaf sync --add synced {box}",
        exit_code=Exit.REFUSED,
        code="folder-carried",
    )


def check_carried(root: Path, environment: Mapping[str, str]) -> Iterator[Problem]:
    """A fleet that lies in such a folder already."""
    carried = find_carried(root, environment)
    if carried is not None:
        where = "this folder" if carried == root else str(carried)
        yield warn(
            Place("fleet.yaml"),
            "fleet-in-synced-folder",
            f"{where} looks like one that a file-sync service carries; a history that is carried "
            "file by file breaks",
            "move the fleet elsewhere; what the service may carry is a mailbox:  "
            "tailsheaf sync --add synced FOLDER",
        )
