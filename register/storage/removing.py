"""Remove files that history holds: each only while it still has the bytes it is known by."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from register.storage.disk import disk_error, flush_folder
from register.storage.folder import exists, read_file
from register.storage.writing import check_inside
from register.trouble import Exit, RegisterError


def remove_files(root: Path, files: Mapping[str, bytes]) -> None:
    """Remove each file that has exactly these bytes; one that is gone already is no trouble.

    The caller has made sure that history holds them. Folders left empty stay: another program
    may be about to write there. Raises RegisterError: REFUSED `changed-meanwhile` before
    anything is removed, CANNOT_RUN where the disk refuses.
    """
    for path in files:
        check_inside(path)
    there = [path for path, data in files.items() if _is_there(root, path, data)]
    for path in there:
        target = root / path
        try:
            target.unlink(missing_ok=True)
            flush_folder(target.parent)
        except OSError as error:
            raise disk_error(error, f"remove {path}") from error


def _is_there(root: Path, path: str, data: bytes) -> bool:
    found = read_file(root, path)
    if found is None and not exists(root, path):
        return False
    if found != data:
        raise RegisterError(
            f"{path} was changed meanwhile; nothing was removed",
            mend="repeat the line: it will start from the file as it is now",
            exit_code=Exit.REFUSED,
            code="changed-meanwhile",
        )
    return True
