"""The write's own journal: what a command is about to write and commit.

An entry is on the disk before the first file is touched and goes away when
the commit stands. One that is still there tells the next command what an
interrupted write left, and nothing but that is ever adopted.
"""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from register.storage import keeping
from register.storage.writing import check_inside
from register.trouble import Exit, RegisterError

PENDING = "pending"
_MACHINE = "machine"
_FORMAT = 1
_MACHINE_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,30}[a-z0-9])?")


@dataclass(frozen=True, slots=True)
class Entry:
    """A write that was begun: path and SHA-256 of each file, and its message."""

    id: str
    files: tuple[tuple[str, str], ...]
    message: str

    @property
    def kept_as(self) -> str:
        """Its file's name within the program's own folder."""
        return f"{PENDING}/{self.id}.json"


def hash_bytes(data: bytes) -> str:
    """Return the SHA-256 of `data` in lower-case hexadecimal."""
    return sha256(data).hexdigest()


def open_entry(root: Path, paths: Mapping[str, str], message: str) -> str:
    """Put an entry on the disk and return its id.

    `paths` maps each fleet-relative path to the SHA-256 of the bytes to come.
    """
    entry = Entry(secrets.token_hex(8), tuple(paths.items()), message)
    body = {"format": _FORMAT, "files": dict(entry.files), "message": message}
    data = json.dumps(body, ensure_ascii=True, indent=1).encode("ascii")
    keeping.write_kept(root, entry.kept_as, data)
    return entry.id


def close_entry(root: Path, id: str) -> None:
    """Remove an entry: its write is finished or was taken back."""
    keeping.remove_kept(root, f"{PENDING}/{id}.json")


def read_entries(root: Path) -> tuple[Entry, ...]:
    """Return the open entries, in the order of their ids.

    One that cannot be read, or points out of the fleet, is moved to the rescue
    folder: an entry is whole before any file is written, so it has nothing to
    adopt.
    """
    entries = []
    for name in keeping.list_kept(root, PENDING):
        if not name.endswith(".json"):
            continue
        data = keeping.read_kept(root, f"{PENDING}/{name}")
        entry = None if data is None else _parse(name.removesuffix(".json"), data)
        if entry is None:
            keeping.move_to_rescue(root, f"{keeping.KEEPING}/{PENDING}/{name}")
        else:
            entries.append(entry)
    return tuple(entries)


def _parse(id: str, data: bytes) -> Entry | None:
    try:
        body = json.loads(data)
        files = body["files"]
        message = body["message"]
        if body["format"] != _FORMAT or not isinstance(message, str):
            return None
        pairs = tuple((str(path), str(hash)) for path, hash in files.items())
        for path, _ in pairs:
            check_inside(path)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, RegisterError):
        return None
    return Entry(id, pairs, message)


def machine_id(root: Path) -> str | None:
    """Return this machine's random name in the fleet, or None where it has none."""
    if not keeping.has_own_git(root):
        return None
    data = keeping.read_kept(root, _MACHINE)
    if data is None:
        return None
    name = data.decode("ascii", "replace").strip()
    return name if _MACHINE_NAME.fullmatch(name) else None


def write_machine_id(root: Path, value: str) -> None:
    """Keep this machine's name, where the fleet has a git folder to keep it in.

    Raises RegisterError (USAGE) for a name not of a-z, 0-9 and '-', 32 at most.
    """
    if not _MACHINE_NAME.fullmatch(value):
        raise RegisterError(
            f"{value!r} cannot name a machine",
            mend="use up to 32 of the letters a-z, digits and '-'",
            exit_code=Exit.USAGE,
            code="name-bad",
        )
    if keeping.has_own_git(root):
        keeping.write_kept(root, _MACHINE, value.encode("ascii") + b"\n")
