"""Files outside the fleet: one that is to come into it, one that a command writes for the owner."""

from __future__ import annotations

from pathlib import Path

from register.storage.beside import write_beside
from register.storage.disk import NotPlainFileError, disk_error, read_plain_file, resolve_path
from register.trouble import Exit, RegisterError


def read_outside(path: Path, limit: int) -> bytes:
    """The bytes of a file of the owner's, at most `limit` of them.

    A link is followed: the owner named it. Raises RegisterError (USAGE) where there is no
    such plain file or it is larger, CANNOT_RUN where the system refuses.
    """
    try:
        data = read_plain_file(resolve_path(path), limit)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise RegisterError(
            f"there is no file {str(path)[:120]!r}",
            mend="give the path of the file as it is from here",
            code="file-missing",
        ) from error
    except (NotPlainFileError, IsADirectoryError) as error:
        raise RegisterError(
            f"{str(path)[:120]!r} is a folder, pipe or device, not a file",
            mend="name one file",
            code="file-not-plain",
        ) from error
    except (OSError, ValueError, RuntimeError) as error:
        if isinstance(error, OSError):
            raise disk_error(error, f"read {path}") from error
        raise RegisterError(
            f"{str(path)[:120]!r} is no path", mend="name one file", code="file-missing"
        ) from error
    if data is None:
        raise RegisterError(
            f"{path.name[:80]} is larger than {limit // 10**6} MB",
            mend="make it smaller, or keep it elsewhere and note where",
            code="file-too-large",
        )
    return data


def write_outside(path: Path, data: bytes, ours: bytes) -> None:
    """Write a file for the owner, wholly or not at all.

    Raises RegisterError: REFUSED where a file is there already that does not begin with
    `ours`, CANNOT_RUN where the system refuses.
    """
    try:
        try:
            there = read_plain_file(path)
        except FileNotFoundError:
            there = None
        if there is not None and not there.startswith(ours):
            raise RegisterError(
                f"{str(path)[:120]} is there already and was not written by this command",
                mend="give another name, or remove it first",
                exit_code=Exit.REFUSED,
                code="file-there",
            )
        write_beside(path.parent, path.name, [data])
    except (NotPlainFileError, IsADirectoryError) as error:
        raise RegisterError(
            f"{str(path)[:120]} is a folder, link or device",
            mend="name a file to write",
            code="file-not-plain",
        ) from error
    except FileNotFoundError as error:
        raise RegisterError(
            f"there is no folder {str(path.parent)[:120]!r}",
            mend="make it, or name a file in one that is there",
            code="folder-missing",
        ) from error
    except OSError as error:
        raise disk_error(error, f"write {path}") from error
