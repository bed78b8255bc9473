"""A mailbox: a folder that a stick or a file-sync service carries from machine to machine.

Each machine writes only in its own subfolder, and each letter once: a bundle of history and
beside it the SHA-256 of its bytes. What is half-copied, withheld or doubled is waited for or
left alone; nothing of another machine is ever changed or removed.

    <box>/<fleet>/<machine>/000012-<tip>.bundle      and  000012-<tip>.sha256
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterator, Sequence
from hashlib import sha256
from pathlib import Path

from msgspec import Struct

from register.storage import keeping
from register.storage.beside import clear_halves, write_beside
from register.storage.disk import (
    NotPlainFileError,
    disk_error,
    is_folder,
    kind_of,
    open_plain_file,
    read_plain_file,
)
from register.storage.lock import take_hold
from register.trouble import Exit, RegisterError

_LETTER = re.compile(r"(\d{6})-([0-9a-f]{12})\.bundle")
_FLEET = re.compile(r"fleet-[0-9a-f]{12}")
_MACHINE = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,30}[a-z0-9])?")
#: Bytes; a letter that is larger is not read.
LARGEST_LETTER = 4 * 1024**3
#: Where bundles are made before they are posted, inside the program's own folder.
MAIL = "mail"
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


@contextlib.contextmanager
def open_letter(letter: Letter) -> Iterator[int | None]:
    """The open file of a letter that is whole, from its beginning; None if it is not, or not yet.

    Nothing but a plain file is opened, and nothing is waited for.
    """
    handle: int | None = None
    try:
        try:
            handle = open_plain_file(letter.path, LARGEST_LETTER)
            if handle is not None and not _is_whole(letter, handle):
                os.close(handle)
                handle = None
        except OSError:
            # Gone, withheld, a link or a pipe, or on a stick that was pulled: not there yet.
            pass
        yield handle
    finally:
        if handle is not None:
            os.close(handle)


def _is_whole(letter: Letter, handle: int) -> bool:
    wanted = _read_sum(letter.path.with_suffix(".sha256"))
    if wanted is None:
        return False
    digest = sha256()
    while chunk := os.read(handle, _CHUNK):
        digest.update(chunk)
    os.lseek(handle, 0, os.SEEK_SET)
    return digest.hexdigest() == wanted


def clear_own(box: Path, fleet: str, machine: str) -> tuple[Letter, ...]:
    """Take away half-files that a sync of this machine left; return its letters without a sum."""
    folder = box / fleet / machine
    clear_halves(folder)
    try:
        names = set(_names(folder))
    except RegisterError:
        return ()
    found = [match for name in sorted(names) if (match := _LETTER.fullmatch(name))]
    return tuple(
        Letter(machine, int(match[1]), match[2], folder / match[0])
        for match in found
        if f"{match[0].removesuffix('.bundle')}.sha256" not in names
    )


def drop_halves(letters: Sequence[Letter]) -> None:
    """Remove letters of this machine that never got their sum, so that no reader took them.

    The caller has made sure that all they hold is here. Where another sync of this machine is
    at work, or the box refuses, they stay for the next.
    """
    for letter in letters:
        with contextlib.suppress(OSError), _held(letter.path.parent):
            if kind_of(letter.path.with_suffix(".sha256")) == "absent":
                letter.path.unlink(missing_ok=True)


@contextlib.contextmanager
def _held(folder: Path) -> Iterator[None]:
    """Hold a folder against another sync of this machine. Raises BlockingIOError."""
    handle = take_hold(folder)
    try:
        yield
    finally:
        if handle is not None:
            os.close(handle)


def drop_letter(made: Path) -> None:
    """Remove a bundle that was made to be posted; the next sync clears up what stays."""
    with contextlib.suppress(OSError):
        made.unlink(missing_ok=True)


def new_letter(root: Path) -> Path:
    """A free place inside git's folder for a bundle that is to be posted."""
    target = keeping.make_keeping_folder(root, MAIL) / "outgoing.bundle"
    for left in (target, target.with_name(f"{target.name}.lock")):
        drop_letter(left)
    return target


def post_letter(box: Path, fleet: str, machine: str, number: int, tip: str, bundle: Path) -> None:
    """Put a bundle into this machine's own part of the box: first the bytes, then their sum.

    Raises RegisterError (CANNOT_RUN) where the box refuses or is full; a half-written letter
    then has no sum, and no reader takes it.
    """
    name = f"{number:06d}-{tip[:12]}.bundle"
    try:
        folder = _make_own_folder(box, fleet, machine)
        with _held(folder):
            write_beside(folder, name, _read_parts(bundle))
            sum_line = f"{_hash(bundle)}  {name}\n".encode("ascii")
            write_beside(folder, f"{name.removesuffix('.bundle')}.sha256", [sum_line])
    except BlockingIOError as error:
        raise RegisterError(
            "another sync of this machine is writing into the mailbox",
            mend="wait until it has finished, then: tailsheaf sync",
            exit_code=Exit.CANNOT_RUN,
            code="carrier-busy",
        ) from error
    except OSError as error:
        raise disk_error(error, f"write into the mailbox {box}") from error


def _make_own_folder(box: Path, fleet: str, machine: str) -> Path:
    """This machine's part of the box; a link planted in its place leads nowhere."""
    folder = box
    for part in (fleet, machine):
        folder = folder / part
        with contextlib.suppress(FileExistsError):
            folder.mkdir()
        if kind_of(folder) != "folder":
            raise RegisterError(
                f"{folder} is not a real folder, and nothing was put there",
                mend="move it elsewhere, then: tailsheaf sync",
                exit_code=Exit.CANNOT_RUN,
                code="carrier-silent",
            )
    return folder


def _read_parts(source: Path) -> Iterator[bytes]:
    with open(source, "rb") as reader:
        while chunk := reader.read(_CHUNK):
            yield chunk


def _hash(path: Path) -> str:
    digest = sha256()
    with open(path, "rb") as reader:
        while chunk := reader.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _read_sum(path: Path) -> str | None:
    try:
        words = (read_plain_file(path, 200) or b"").split()
    except (NotPlainFileError, OSError):
        return None
    found = words[0].decode("ascii", "replace") if words else ""
    return found if re.fullmatch(r"[0-9a-f]{64}", found) else None
