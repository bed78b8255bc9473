"""The texts of git's objects: names and words, without ids, which look like anything."""

from __future__ import annotations


def texts_of(kind: str, data: bytes) -> bytes:
    """What a person could read in an object: a blob whole, names of a tree, words of a commit."""
    if kind == "tree":
        return b"\n".join(_names(data))
    if kind in ("commit", "tag"):
        head, _, words = data.partition(b"\n\n")
        kept = [
            line
            for line in head.split(b"\n")
            if not line.startswith((b"tree ", b"parent ", b"object "))
        ]
        return b"\n".join([*kept, words])
    return data


def _names(data: bytes) -> list[bytes]:
    found = []
    at = 0
    while at < len(data):
        end = data.index(b"\0", at)
        found.append(data[at:end].partition(b" ")[2])
        # Ids of SHA-1; this program makes no other repository for a handover.
        at = end + 1 + 20
    return found
