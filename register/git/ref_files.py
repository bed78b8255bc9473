"""The text of git's files of names: refs, packed refs and reflogs.

Pure: bytes in, what holds and what does not out.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from msgspec import Struct

_ID = re.compile(rb"[0-9a-f]{40}(?:[0-9a-f]{24})?")
_PACKED = re.compile(rb"([0-9a-f]{40}(?:[0-9a-f]{24})?) (refs/[^\s~^:?*\[\\\x00-\x20\x7f]+)")
_LOG = re.compile(rb"([0-9a-f]{40}(?:[0-9a-f]{24})?) ([0-9a-f]{40}(?:[0-9a-f]{24})?) ([^\x00\n]*)")
_BAD_NAME = re.compile(r"[\x00-\x20\x7f~^:?*\[\\]|\.\.|@\{|//|/\.|\.lock(?:/|$)|[./]$")


class Packed(Struct, frozen=True):
    """A packed-refs file: its names with their ids, its good lines, and its bad ones."""

    ids: dict[str, str]
    kept: bytes
    bad: tuple[int, ...]


def read_ref(data: bytes | None) -> str | None:
    """Return the object id a ref's file holds, or None where it holds none."""
    text = (data or b"").strip()
    return text.decode("ascii") if _ID.fullmatch(text) else None


def read_target(data: bytes | None) -> str | None:
    """Return the branch that a `ref: refs/heads/...` file names, or None."""
    start = b"ref: refs/heads/"
    if not data or not data.startswith(start):
        return None
    name = data.removeprefix(start).strip().decode("utf-8", "replace")
    return name if name and is_ref_name(f"refs/heads/{name}") else None


def is_ref_name(name: str) -> bool:
    """Whether git takes this name for a ref (git-check-ref-format's rules)."""
    return _BAD_NAME.search(name) is None and "\ufffd" not in name


def read_packed(data: bytes) -> Packed:
    """Read packed-refs; `bad` are the numbers of lines that git would die on, from 1.

    `kept` bears no header: git then trusts neither an order nor that every tag's
    target is written beside it, which the lost lines may have broken.
    """
    ids: dict[str, str] = {}
    kept: list[bytes] = []
    bad: list[int] = []
    after_name = False
    for number, line in enumerate(data.split(b"\n"), 1):
        if not line or (line.startswith(b"#") and number == 1):
            continue
        found = _PACKED.fullmatch(line)
        if found and is_ref_name(found[2].decode("utf-8", "replace")):
            ids[found[2].decode("utf-8", "replace")] = found[1].decode("ascii")
            kept.append(line)
            after_name = True
        elif line.startswith(b"^") and _ID.fullmatch(line[1:]) and after_name:
            kept.append(line)
            after_name = False
        else:
            bad.append(number)
            after_name = False
    # A last line without its end was cut: git takes it for broken too.
    if data and not data.endswith(b"\n") and not bad and kept:
        bad.append(data.count(b"\n") + 1)
    return Packed(ids, b"".join(line + b"\n" for line in kept), tuple(bad))


def drop_packed(kept: bytes, names: set[str]) -> bytes:
    """Return packed-refs without these names and what belongs to them."""
    lines: list[bytes] = []
    dropping = False
    for line in kept.split(b"\n")[:-1]:
        if not line.startswith(b"^"):
            dropping = line.partition(b" ")[2].decode("utf-8", "replace") in names
        if not dropping:
            lines.append(line + b"\n")
    return b"".join(lines)


def read_log(data: bytes) -> tuple[str, ...]:
    """Return the ids a ref has had, oldest first, as its reflog tells."""
    found = (_LOG.fullmatch(line) for line in data.split(b"\n"))
    return tuple(line[2].decode("ascii") for line in found if line)


def mend_log(data: bytes, is_there: Callable[[str], bool]) -> bytes:
    """Return a reflog without lines that are broken or name an object that is gone.

    Each line kept starts from the one before it, as `git reflog delete --rewrite` does.
    """
    kept: list[bytes] = []
    last: bytes | None = None
    for line in data.split(b"\n"):
        found = _LOG.fullmatch(line)
        if found is None or not (_is_zero(found[2]) or is_there(found[2].decode("ascii"))):
            continue
        old = found[1]
        if not (_is_zero(old) or is_there(old.decode("ascii"))):
            old = last or b"0" * len(old)
        kept.append(b"%s %s %s\n" % (old, found[2], found[3]))
        last = found[2]
    return b"".join(kept)


def _is_zero(id: bytes) -> bool:
    return not id.strip(b"0")
