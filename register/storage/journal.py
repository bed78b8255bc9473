"""The write's own journal: what a command is about to write and commit.

An entry is on the disk before the first file is touched and goes away when
the commit stands. One that is still there tells the next command what an
interrupted write left, and nothing but that is ever adopted.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path

from msgspec import Struct

from register.storage import keeping
from register.storage.folder import list_temporaries, read_file
from register.storage.removing import remove_files
from register.storage.writing import FileChange, check_inside, write_changes
from register.trouble import Exit, RegisterError

PENDING = "pending"
GONE = "gone"
_MACHINE = "machine"
_FORMAT = 1
_MACHINE_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,30}[a-z0-9])?")


class Entry(Struct, frozen=True):
    """A write that was begun: path and SHA-256 of each file, and its message.

    GONE for a hash stands for a file that is to be missing. `before` holds the
    hashes of those files that the write found there.
    """

    id: str
    files: tuple[tuple[str, str], ...]
    message: str
    before: tuple[tuple[str, str], ...] = ()

    @property
    def kept_as(self) -> str:
        """Its file's name within the program's own folder."""
        return kept_name(self.id)


def kept_name(id: str) -> str:
    """Return the name of an entry's file within the program's own folder."""
    return f"{PENDING}/{id}.json"


def hash_bytes(data: bytes) -> str:
    """Return the SHA-256 of `data` in lower-case hexadecimal."""
    return sha256(data).hexdigest()


def hash_or_gone(data: bytes | None) -> str:
    """Return the SHA-256 of `data`, or GONE where there is no file."""
    return GONE if data is None else hash_bytes(data)


def open_entry(
    root: Path, paths: Mapping[str, str], message: str, before: Mapping[str, str] | None = None
) -> str:
    """Put an entry on the disk and return its id.

    `paths` maps each fleet-relative path to the SHA-256 of the bytes to come,
    `before` to that of the bytes it has, where there are any.
    """
    entry = Entry(secrets.token_hex(8), tuple(paths.items()), message)
    body = {
        "format": _FORMAT,
        "files": dict(entry.files),
        "before": dict(before or {}),
        "message": message,
    }
    data = json.dumps(body, ensure_ascii=True, indent=1).encode("ascii")
    keeping.write_kept(root, entry.kept_as, data)
    return entry.id


def close_entry(root: Path, id: str) -> None:
    """Remove an entry: its write is finished or was taken back."""
    keeping.remove_kept(root, kept_name(id))


def renew_entry(root: Path, entry: Entry) -> None:
    """Date an entry to now: whoever finishes it may die as well, and leave git's locks."""
    with contextlib.suppress(OSError):
        os.utime(root / keeping.KEEPING / entry.kept_as)


def finish_entry(root: Path, entry: Entry) -> None:
    """Write what is missing where a dead writer had put only some files in place.

    It had written the others beside their places first. One whose place is not
    as that writer found it is left alone. The fleet's lock must be held; raises
    RegisterError where the disk refuses.
    """
    before = dict(entry.before)
    standing = {path for path, hash in entry.files if _hash_there(root, path) == hash}
    if all(before.get(path) == hash for path, hash in entry.files if path in standing):
        return
    for path, hash in entry.files:
        there = read_file(root, path)
        if path in standing or hash_or_gone(there) != before.get(path, GONE):
            continue
        if hash == GONE:
            if there is not None:
                remove_files(root, {path: there})
            continue
        for left in list_temporaries(root, path.rpartition("/")[0]):
            data = read_file(root, left)
            if data is not None and hash_bytes(data) == hash:
                write_changes(root, [FileChange(path, there, data)])
                break


def _hash_there(root: Path, path: str) -> str:
    return hash_or_gone(read_file(root, path))


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
        before = tuple((str(path), str(hash)) for path, hash in body.get("before", {}).items())
        for path, _ in pairs:
            check_inside(path)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, RegisterError):
        return None
    return Entry(id, pairs, message, before)


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
