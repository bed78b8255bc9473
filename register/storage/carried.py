"""Whether a folder is one that a file-sync service carries, as far as its signs tell.

Known by what the services leave in the folder they carry, by how they name it, and by the
variables some of them set (common practice of those services, no source; from memory).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from register.storage.disk import kind_of

#: Files and folders that stand at the top of a carried folder.
_SIGNS = (
    ".stfolder", ".dropbox", ".dropbox.cache", ".sync", ".owncloudsync.log",
    ".nextcloudsync.log", ".tmp.drivedownload", ".tmp.driveupload",
)  # fmt: skip
_NAMES = re.compile(
    r"(?:dropbox|onedrive|google ?drive|my drive|nextcloud|owncloud|syncthing|icloud ?drive"
    r"|mobile documents|com~apple~clouddocs|cloudstorage|pcloud ?drive|box sync|megasync|mega)"
    r"(?:[ -].*)?",
    re.IGNORECASE,
)
_VARIABLES = ("OneDrive", "OneDriveConsumer", "OneDriveCommercial")


def find_carried(folder: Path, environment: Mapping[str, str]) -> Path | None:
    """The nearest folder, from this one upwards, that looks carried by a service; else None."""
    named = {Path(value) for name in _VARIABLES if (value := environment.get(name))}
    for place in (folder, *folder.parents):
        if place in named or _NAMES.fullmatch(place.name):
            return place
        try:
            if any(kind_of(place / sign) != "absent" for sign in _SIGNS):
                return place
        except OSError:
            # A folder that may not be looked into shows no signs.
            continue
    return None
