"""How git names a file's bytes."""

from __future__ import annotations

from hashlib import sha1, sha256


def hash_blob(data: bytes, like: str) -> str:
    """Return git's object id of `data`, by the hash that made the id `like`."""
    algorithm = sha256 if len(like) == 64 else sha1
    # An object's name, not a protection.
    return algorithm(b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()
