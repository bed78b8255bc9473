"""Whose fault it is that git failed: the system's, or that of what it was given to read."""

from __future__ import annotations

import re

_DISK_TROUBLE = re.compile(
    rb"No space|Read-only|Input/output|Permission denied|quota|write error|cannot (?:write|store)|"
    rb"unable to (?:create|write|append|rename|link|unlink|set)|could(?:n't| not) (?:write|set)|"
    rb"fsync",
    re.IGNORECASE,
)


def blames_disk(stderr: bytes) -> bool:
    """Whether git failed because the system refused, whatever it was given to read."""
    return _DISK_TROUBLE.search(stderr) is not None
