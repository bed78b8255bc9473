"""The ground a new fleet is founded on: an empty folder, and the computer's own time zone."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from register.storage import keeping
from register.storage.disk import disk_error, flush_folder, kind_of
from register.storage.folder import FLEET_FILE, find_above, read_file
from register.storage.keeping import GIT_FOLDER
from register.storage.writing import FileChange
from register.trouble import Exit, RegisterError

_LOCAL_ZONE = "/etc/localtime"
_ZONES = "zoneinfo/"
# The git room's own mark of a repository it made.
_MARKER = "fleet"


def check_ground(root: Path) -> None:
    """Refuse a place where something stands, or that lies in another git work tree.

    What an interrupted founding left is no hindrance: it is gone on with. Raises
    RegisterError (REFUSED): `folder-not-empty`, `inside-other-repository`.
    """
    try:
        kind = kind_of(root)
        there = sorted(os.listdir(root)) if kind == "folder" else []
    except OSError as error:
        raise disk_error(error, f"look at {root}") from error
    if kind == "folder" and _was_begun(root):
        return
    if kind not in ("absent", "folder") or there:
        what = f"is not empty (it holds {there[0]})" if there else "is there and is not a folder"
        raise RegisterError(
            f"{root} {what}; nothing was written",
            mend=f"choose a new folder, for example: tailsheaf init {root.name or 'fleet'}-2",
            exit_code=Exit.REFUSED,
            code="folder-not-empty",
        )
    above = find_above(root, GIT_FOLDER)
    if above is not None:
        raise RegisterError(
            f"{root} lies inside another git work tree ({above}); nothing was written",
            mend=f"make the fleet outside it, for example: tailsheaf init ~/{root.name or 'fleet'}",
            exit_code=Exit.REFUSED,
            code="inside-other-repository",
        )


def _was_begun(root: Path) -> bool:
    """Whether a founding got no further than git's folder and a few files: no commit yet."""
    return (
        keeping.has_own_git(root)
        and keeping.read_kept(root, _MARKER) is not None
        and keeping.read_git_file(root, "packed-refs") is None
        and not os.listdir(root / GIT_FOLDER / "refs" / "heads")
        and kind_of(root / FLEET_FILE) == "absent"
        and find_above(root.parent, GIT_FOLDER) is None
    )


def fit_changes(root: Path, changes: Sequence[FileChange]) -> tuple[FileChange, ...]:
    """The changes; files that an interrupted founding wrote already are taken as they are."""
    return tuple(
        FileChange(change.path, change.after, change.after)
        if read_file(root, change.path) == change.after
        else change
        for change in changes
    )


def make_ground(root: Path) -> None:
    """Make the folder, and those above it, flushed into their parents."""
    missing = [folder for folder in (root, *root.parents) if kind_of(folder) == "absent"]
    try:
        for folder in reversed(missing):
            folder.mkdir(exist_ok=True)
            flush_folder(folder.parent)
    except OSError as error:
        raise disk_error(error, f"make the folder {root}") from error


def find_local_zone() -> str | None:
    """The name of the zone this computer is set to, as its link in /etc says, or None."""
    try:
        target = os.readlink(_LOCAL_ZONE)
    except OSError:
        return None
    _, found, name = target.partition(_ZONES)
    return name if found and name else None
