"""A mailbox: a folder that a stick or a file-sync service carries from machine to machine.

Each machine writes only in its own subfolder, and each letter once: a bundle of history and
beside it the SHA-256 of its bytes. What is half-copied, withheld or doubled is waited for or
left alone; nothing of another machine is ever changed or removed.

    <box>/<fleet>/<machine>/000012-<tip>.bundle      and  000012-<tip>.sha256
"""

from __future__ import annotations

import os
import re
from hashlib import sha256
from pathlib import Path

from msgspec import Struct

from register.storage import keeping
from register.storage.disk import disk_error, flush_folder, is_folder, write_temporary
from register.trouble import Exit, RegisterError

_LETTER = re.compile(r"(\d{6})-([0-9a-f]{12})\.bundle")
_FLEET = re.compile(r"fleet-[0-9a-f]{12}")
_MACHINE = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,30}[a-z0-9])?")
#: Bytes; a letter that is larger is not read.
LARGEST_LETTER = 512 * 1024 * 1024
_CHUNK = 1024 * 1024


class Letter(Struct, frozen=True):
    """One bundle that a machine has put in a box. `tip` begins the id of its newest commit."""

    machine: str
    number: int
    tip: str
    path: Path


def list_letters(box: Path, fleet: str) -> dict[str, tuple[Letter, ...]]:
    """The letters of each machine, in the order of their numbers.

    Raises RegisterError (CANNOT_RUN `carrier-silent`) where the box is not there.
    """
    if not is_folder(box):
        raise RegisterError(
            f"the mailbox {box} is not there",
            mend="put the stick in, or start what carries the folder, then: tailsheaf sync",
            exit_code=Exit.CANNOT_RUN,
            code="carrier-silent",
        )
    found: dict[str, list[Letter]] = {}
    for machine in _names(box / fleet):
        if not _MACHINE.fullmatch(machine):
            continue
        for name in _names(box / fleet / machine):
            match = _LETTER.fullmatch(name)
            if match:
                path = box / fleet / machine / name
                letter = Letter(machine, int(match[1]), match[2], path)
                found.setdefault(machine, []).append(letter)
    return {machine: tuple(_sorted(letters)) for machine, letters in sorted(found.items())}


def _sorted(letters: list[Letter]) -> list[Letter]:
    return sorted(letters, key=lambda letter: (letter.number, letter.tip))


def _names(folder: Path) -> list[str]:
    try:
        return sorted(os.listdir(folder))
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise disk_error(error, f"look into {folder}") from error


def list_fleets(box: Path) -> tuple[str, ...]:
    """The fleets that have letters in a box."""
    return tuple(name for name in _names(box) if _FLEET.fullmatch(name))


def fetch_letter(root: Path, letter: Letter) -> Path | None:
    """A copy of a letter inside git's folder, if it is whole; None if not, or not yet.

    The caller removes it with `drop_letter`.
    """
    wanted = _read_sum(letter.path.with_suffix(".sha256"))
    if wanted is None:
        return None
    folder = keeping.make_keeping_folder(root, "mail")
    target = folder / f"{letter.machine}-{letter.path.name}"
    try:
        digest = _copy(letter.path, target)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise disk_error(error, f"read {letter.path}") from error
    if digest == wanted:
        return target
    drop_letter(target)
    return None


def drop_letter(copy: Path) -> None:
    """Remove a copy made by `fetch_letter`, or a bundle made to be posted."""
    copy.unlink(missing_ok=True)


def new_letter(root: Path) -> Path:
    """A free place inside git's folder for a bundle that is to be posted."""
    target = keeping.make_keeping_folder(root, "mail") / "outgoing.bundle"
    target.unlink(missing_ok=True)
    return target


def post_letter(box: Path, fleet: str, machine: str, number: int, tip: str, bundle: Path) -> None:
    """Put a bundle into this machine's own part of the box: first the bytes, then their sum.

    Raises RegisterError (CANNOT_RUN) where the box refuses or is full; a half-written letter
    then has no sum, and no reader takes it.
    """
    folder = box / fleet / machine
    name = f"{number:06d}-{tip[:12]}.bundle"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        beside = folder / f".{name}.new"
        digest = _copy(bundle, beside)
        beside.replace(folder / name)
        sum_line = f"{digest}  {name}\n".encode("ascii")
        write_temporary(folder, sum_line).replace((folder / name).with_suffix(".sha256"))
        flush_folder(folder)
    except OSError as error:
        raise disk_error(error, f"write into the mailbox {box}") from error


def _copy(source: Path, target: Path) -> str:
    """Copy a file, flushed, and return the SHA-256 of what was copied."""
    digest = sha256()
    size = 0
    with open(source, "rb") as reader, open(target, "wb") as writer:
        while chunk := reader.read(_CHUNK):
            size += len(chunk)
            if size > LARGEST_LETTER:
                break
            digest.update(chunk)
            writer.write(chunk)
        writer.flush()
        os.fsync(writer.fileno())
    return digest.hexdigest() if size <= LARGEST_LETTER else ""


def _read_sum(path: Path) -> str | None:
    try:
        with open(path, "rb") as reader:
            words = reader.read(200).split()
    except OSError:
        return None
    found = words[0].decode("ascii", "replace") if words else ""
    return found if re.fullmatch(r"[0-9a-f]{64}", found) else None
