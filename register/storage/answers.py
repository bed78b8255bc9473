"""Answers kept for the same question over the same files: replayed, never trusted on doubt.

Kept in `.git/tailsheaf/answers`, never synced, never needed. An answer is found again
only if every record file has the stamp it had then (size, times, inode), the program is
the same, the words and the width are the same, and the day has not passed. Each is
sealed with a key that lies outside the fleet, so that a folder from elsewhere cannot
bring answers of its own.

This module is on the path of every command before anything else is loaded: it imports
next to nothing.
"""

from __future__ import annotations

import contextlib
import marshal
import os
import time
from hashlib import blake2b

FOLDERS = ("kits", "programmes", "aircraft", "parts", "papers", "clashes")
#: Record folders whose own folders are each a sheaf.
SHEAVES = ("aircraft", "parts")
TOP_FILES = ("fleet.yaml", "private.yaml", "stock.yaml")
KEPT = ".git/tailsheaf/answers"
MARKER = ".git/tailsheaf/fleet"
MOST_ANSWERS = 48
SEAL_BYTES = 32
NAME_LENGTH = 40
#: File stamps younger than this may not show a second change: nothing is kept over them.
RACY_NS = 2_000_000_000


def find_root(start: str) -> str | None:
    """The nearest folder upwards that holds a fleet.yaml."""
    folder = os.path.abspath(start)
    while True:
        with contextlib.suppress(OSError):
            os.stat(f"{folder}/fleet.yaml")
            return folder
        above = os.path.dirname(folder)
        if above == folder:
            return None
        folder = above


def is_ours(root: str) -> bool:
    """Was this folder made, joined or adopted by tailsheaf? Only there is anything kept."""
    try:
        os.lstat(f"{root}/{MARKER}")
    except OSError:
        return False
    return True


class Walk:
    """What the system says of every file below the record folders, sheaf by sheaf.

    A sheaf is the folder of one aircraft or part, by its fleet-relative path; everything
    else is the sheaf named "". `stamps` gives for each a digest of the names and stamps in
    it and the newest time among them; `taken` is when the walk began, in nanoseconds.
    """

    __slots__ = ("digest", "newest", "root", "stamps", "taken")

    def __init__(self, root: str, taken: int, stamps: dict[str, tuple[bytes, int]]):
        self.root = root
        self.taken = taken
        self.stamps = stamps
        self.newest = max(newest for _, newest in stamps.values())
        mixed = blake2b(digest_size=32)
        for name in sorted(stamps):
            mixed.update(name.encode("utf-8", "surrogatepass") + b"\0" + stamps[name][0])
        self.digest = mixed.digest()


def walk_files(root: str) -> Walk:
    """Look at every file below the record folders; open none.

    Anything there counts, whatever its kind: a link, a stray copy, an empty folder.
    """
    taken, skip = time.time_ns(), len(root)
    lines: list[object] = []
    newest = 0
    for name in TOP_FILES:
        with contextlib.suppress(OSError):
            found = os.lstat(f"{root}/{name}")
            lines.append((name, found.st_size, found.st_mtime_ns, found.st_ctime_ns))
            newest = max(newest, found.st_mtime_ns, found.st_ctime_ns)
    with contextlib.suppress(OSError):
        lines.extend(sorted(os.listdir(root)))
    stamps: dict[str, tuple[bytes, int]] = {}
    for top in FOLDERS:
        below: list[str] = []
        newest = max(newest, _look(f"{root}/{top}", skip, lines, below))
        for folder in below if top in SHEAVES else ():
            mine: list[object] = []
            young = _look_below([folder], skip, mine)
            stamps[f"{top}/{folder.rpartition('/')[2]}"] = _digest(mine), young
        if top not in SHEAVES:
            newest = max(newest, _look_below(below, skip, lines))
    stamps[""] = _digest(lines), newest
    return Walk(root, taken, stamps)


def _look_below(waiting: list[str], skip: int, lines: list[object]) -> int:
    """Note every name and stamp in these folders and below. The newest time."""
    newest = 0
    while waiting:
        found = _look(waiting.pop(), skip, lines, waiting)
        if found > newest:
            newest = found
    return newest


def _look(folder: str, skip: int, lines: list[object], below: list[str]) -> int:
    """Note every name and stamp of one folder; its folders go to `below`. The newest time.

    Of the folder's own path the first `skip` letters lead to the fleet and are left out.
    """
    newest = 0
    lines.append(folder[skip:])
    try:
        # In the order of the system: it stays while nothing in the folder changes.
        with os.scandir(folder) as entries:
            for entry in entries:
                if entry.is_dir(follow_symlinks=False):
                    below.append(entry.path)
                    lines.append(entry.name)
                    continue
                found = entry.stat(follow_symlinks=False)
                changed, noted = found.st_mtime_ns, found.st_ctime_ns
                lines.append(
                    (entry.name, found.st_size, changed, noted, found.st_ino, found.st_mode)
                )
                if changed > newest or noted > newest:
                    newest = max(changed, noted, newest)
    except OSError as error:
        lines.append(error.errno)
    return newest


def _digest(lines: list[object]) -> bytes:
    # The second form of marshal is the same for the same values, and is made in no time.
    return blake2b(marshal.dumps(lines, 2), digest_size=32).digest()


def stamp_program(folders: tuple[str, ...]) -> bytes:
    """A digest of the stamps of the program's own files: another program, other answers."""
    lines: list[str] = []
    waiting = list(folders)
    while waiting:
        folder = waiting.pop()
        with contextlib.suppress(OSError), os.scandir(folder) as entries:
            for entry in entries:
                if entry.name.endswith((".py", ".yaml")):
                    found = entry.stat()
                    lines.append(f"{entry.path} {found.st_size} {found.st_mtime_ns}")
                elif "." not in entry.name and entry.name != "__pycache__" and entry.is_dir():
                    waiting.append(entry.path)
    return blake2b("\n".join(sorted(lines)).encode(), digest_size=32).digest()


def stamp_carriers(root: str) -> str:
    """A stamp of the list of carriers; empty where this machine has none."""
    try:
        found = os.stat(f"{root}/.git/tailsheaf/carriers.json", follow_symlinks=False)
    except OSError:
        return ""
    return f"{found.st_size} {found.st_mtime_ns} {found.st_ino}"


def make_name(parts: tuple[bytes, ...]) -> str:
    """The name under which an answer is kept."""
    mixed = blake2b(digest_size=20)
    for part in parts:
        mixed.update(len(part).to_bytes(8, "big"))
        mixed.update(part)
    return mixed.hexdigest()


def read_key(path: str) -> bytes | None:
    """The key that seals answers, or None when there is none."""
    try:
        with open(path, "rb") as file:
            key = file.read(64)
    except OSError:
        return None
    return key if len(key) == 32 else None


def make_key(path: str) -> bytes | None:
    """Make the key, readable by its owner alone; None where it cannot be kept."""
    key = os.urandom(32)
    try:
        os.makedirs(os.path.dirname(path), mode=0o700, exist_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            os.write(handle, key)
        finally:
            os.close(handle)
    except OSError:
        return read_key(path)
    return key


def read_answer(root: str, name: str, key: bytes, now: float) -> tuple[int, str, str] | None:
    """Exit code, output and errors of a kept answer that still holds."""
    body = read_sealed(root, name, key)
    if body is None:
        return None
    try:
        head, _, rest = body.decode("utf-8").partition("\n")
        since, until, code, length = head.split(" ")
        if not float(since) <= now < float(until):
            return None
        return int(code), rest[: int(length)], rest[int(length) :]
    except ValueError:
        return None


def keep_answer(
    root: str, name: str, key: bytes, span: tuple[float, float], answer: tuple[int, str, str]
) -> None:
    """Keep an answer that holds from `span[0]` until `span[1]`; failing to is no harm."""
    code, out, err = answer
    head = f"{span[0]} {span[1]} {code} {len(out)}\n"
    write_sealed(root, name, key, f"{head}{out}{err}".encode("utf-8", "backslashreplace"))
    with contextlib.suppress(OSError):
        _make_room(f"{root}/{KEPT}")


def read_sealed(root: str, name: str, key: bytes) -> bytes | None:
    """Bytes kept under a name, if their seal holds."""
    try:
        with open(f"{root}/{KEPT}/{name}", "rb") as file:
            data = file.read()
    except OSError:
        return None
    body = data[SEAL_BYTES:]
    return body if data[:SEAL_BYTES] == _seal(name, body, key) else None


def write_sealed(root: str, name: str, key: bytes, body: bytes | None) -> None:
    """Keep bytes under a name, or take them away; failing to is no harm."""
    folder = f"{root}/{KEPT}"
    fresh = f"{folder}/.{name}.{os.getpid()}.tmp"
    try:
        if body is None:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(f"{folder}/{name}")
            return
        os.makedirs(folder, exist_ok=True)
        with open(fresh, "xb") as file:
            file.write(_seal(name, body, key) + body)
        os.replace(fresh, f"{folder}/{name}")
    except OSError:
        with contextlib.suppress(OSError):
            os.unlink(fresh)


def _make_room(folder: str) -> None:
    found = [entry for entry in os.scandir(folder) if len(entry.name) == NAME_LENGTH]
    kept = sorted(found, key=lambda entry: entry.stat().st_mtime_ns)
    for entry in kept[: max(len(kept) - MOST_ANSWERS, 0)]:
        os.unlink(entry.path)


def _seal(name: str, body: bytes, key: bytes) -> bytes:
    return blake2b(name.encode() + b"\0" + body, key=key, digest_size=SEAL_BYTES).digest()
