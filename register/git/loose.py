"""Whether a loose object's file holds what its name promises.

Pure: bytes and name in, a fault in words out (gitformat-pack and git's
object naming: the hash of kind, size and content).
"""

from __future__ import annotations

import re
import zlib
from hashlib import sha1, sha256

_PLACE = re.compile(r"\.git/objects/([0-9a-f]{2})/([0-9a-f]{38}|[0-9a-f]{62})")
_HEAD = re.compile(rb"(blob|tree|commit|tag) (0|[1-9][0-9]{0,15})\0")
_STEP = 1 << 20


def id_of_place(path: str) -> str | None:
    """Return the object id a path stands for, or None where it is not a loose object's."""
    found = _PLACE.fullmatch(path)
    return found[1] + found[2] if found else None


def find_fault(data: bytes, id: str) -> str | None:
    """Return what is wrong with a loose object's bytes, or None."""
    if not data:
        return "is empty"
    unpack = zlib.decompressobj()
    made = (sha256 if len(id) == 64 else sha1)(usedforsecurity=False)
    try:
        block = unpack.decompress(data, _STEP)
        head = _HEAD.match(block)
        if head is None:
            return "is no object"
        size = head.end() + int(head[2])
        taken = 0
        while block:
            taken += len(block)
            if taken > size:
                return "is longer than it says"
            made.update(block)
            block = unpack.decompress(unpack.unconsumed_tail, _STEP)
    except zlib.error:
        return "cannot be unpacked"
    if taken < size or not unpack.eof:
        return "is cut short"
    return None if made.hexdigest() == id else "does not hold what its name says"
