"""What a file's name alone says: plain, odd, a copy left by a sync service.

Pure: nothing here touches the disk.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from typing import Literal

LONGEST_PATH = 180
"""Characters of a fleet-relative path: leaves room for the folders above it
under the 260 that older Windows programs allow."""

TEMPORARY_START = ".tailsheaf-"
TEMPORARY_END = ".tmp"
"""How the program's own temporary files are called: `.tailsheaf-<random>.tmp`."""

ATTACHMENTS = "attachments"
"""The folder of files that are kept with an aircraft or part and are no records."""

NameSort = Literal["record", "copy", "not-loaded", "nothing"]

# Device names of Windows, which no file there may bear, with any ending.
_DEVICE = r"(?:con|prn|aux|nul|com[1-9]|lpt[1-9])(?:\..*)?"
_RESERVED = re.compile(_DEVICE, re.IGNORECASE)
_PLAIN = re.compile(rf"(?!{_DEVICE}\Z)[a-z0-9]+(?:[.-]+[a-z0-9]+)*")
_FORBIDDEN = re.compile(r'[\x00-\x1f\x7f<>:"|?*\\]')

_COPY_MARKS = re.compile(
    r"\.sync-conflict-\d{8}-\d{6}(?:-[A-Z0-9]+)?"
    r"| ?\([^)]*(?:conflicted copy|case conflict|sfconflict)[^)]*\)"
    r"|\.conflict(?=[.-])",
    re.I,
)
# "x (1).yaml", "x 2.yaml" and "x-LAPTOP7.yaml" are copies only beside "x.yaml".
_NUMBERED = re.compile(r"(?P<stem>.+?)(?: \(\d+\)| \d+)(?P<end>\.ya?ml)", re.I)
_BY_HOST = re.compile(r"(?P<stem>.+?)-(?=[0-9-]*[A-Z])[A-Z0-9-]+(?P<end>\.yaml)")
_COPY_END = re.compile(r" \(\d+\)| \d+|-(?=[0-9-]*[A-Z])[A-Z0-9-]+")
_IN_FLIGHT = re.compile(r"~\$|\.~lock|\.#|#.*#$", re.I)
_LEFT_OVER = re.compile(r"\.(?:tmp|partial|crdownload|icloud)$", re.I)


def is_attachment(path: str) -> bool:
    """Whether a fleet-relative path is of a file kept beside the records, not of a record."""
    parts = path.split("/")
    return len(parts) == 4 and parts[0] in ("aircraft", "parts") and parts[2] == ATTACHMENTS


def fold_name(name: str) -> str:
    """Return the form under which two names meet on some file systems."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def is_plain(name: str) -> bool:
    """Whether a folder's or file's name is one this program would give."""
    return _PLAIN.fullmatch(name) is not None


def is_plain_record(name: str) -> bool:
    """Whether the name is a plain one ending in `.yaml`."""
    return name.endswith(".yaml") and _PLAIN.fullmatch(name) is not None


def is_reserved(name: str) -> bool:
    """Whether a common system keeps this name for a device, or cuts its end off."""
    return _RESERVED.fullmatch(name) is not None or name[-1:] in (".", " ")


def has_forbidden(name: str) -> bool:
    """Whether the name holds a character some common file system refuses."""
    return _FORBIDDEN.search(name) is not None


def is_temporary(name: str) -> bool:
    """Whether this is one of the program's own temporary files."""
    return name.startswith(TEMPORARY_START) and name.endswith(TEMPORARY_END)


def is_marked_copy(name: str) -> bool:
    """Whether a sync service marked this name as a second version."""
    return _COPY_MARKS.search(name) is not None


def original_of(name: str) -> str:
    """Return the name a marked copy was made from, or the name itself."""
    return _COPY_MARKS.sub("", name)


def copied_from(name: str, siblings: Collection[str]) -> str:
    """The name that a copy was made from: by its mark, or by the sibling that it is beside."""
    plain = original_of(name)
    if plain != name:
        return plain
    for pattern in (_NUMBERED, _BY_HOST):
        found = pattern.fullmatch(name)
        if found and found["stem"] + found["end"] in siblings:
            return found["stem"] + found["end"]
    for sibling in siblings:
        # Names without an ending: a branch of git's.
        if name.startswith(sibling) and _COPY_END.fullmatch(name, len(sibling)):
            return sibling
    return name


def sort_name(name: str, siblings: Collection[str]) -> NameSort:
    """Say what a file's name makes of it.

    `siblings` are the names in its folder. `copy` is a sync service's or
    editor's second version of a record, `not-loaded` something that could be
    taken for a record and is not, `nothing` a file this program has no word on.
    """
    lower = name.lower()
    if is_temporary(name):
        return "nothing"
    if ".yaml" not in lower and ".yml" not in lower:
        left_over = _IN_FLIGHT.match(name) or _LEFT_OVER.search(name)
        return "not-loaded" if left_over else "nothing"
    if is_marked_copy(name) or _is_copy_of_sibling(name, siblings):
        return "copy"
    if name.startswith(".") or _IN_FLIGHT.match(name) or not lower.endswith(".yaml"):
        return "not-loaded"
    return "record"


def _is_copy_of_sibling(name: str, siblings: Collection[str]) -> bool:
    for pattern in (_NUMBERED, _BY_HOST):
        found = pattern.fullmatch(name)
        if found and found["stem"] + found["end"] in siblings:
            return True
    return False
