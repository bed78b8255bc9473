"""Write files so that each is wholly there or not at all, and on the disk.

Every file is checked against the bytes its change was made from, so that work
done meanwhile by another program or by hand is never overwritten.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
from collections.abc import Sequence
from pathlib import Path, PureWindowsPath

from msgspec import Struct

from register.storage import names
from register.storage.disk import (
    NotPlainFileError,
    disk_error,
    flush_folder,
    kind_of,
    read_plain_file,
    write_temporary,
)
from register.trouble import Exit, RegisterError


class FileChange(Struct, frozen=True):
    """One file's new bytes, and the bytes the change was made from.

    `path` is fleet-relative with `/`. `before` None: the file must not exist yet.
    """

    path: str
    before: bytes | None
    after: bytes


class _Ready(Struct, frozen=True):
    """A change whose bytes lie on the disk under a temporary name."""

    change: FileChange
    target: Path
    temporary: Path


def check_path(path: str) -> None:
    """Refuse a path that leaves the fleet or that some file system cannot hold.

    Raises RegisterError (USAGE). Upper case, accents and blanks are allowed:
    a hand-made name that was read can also be written.
    """
    _refuse(path, _escape_fault(path) or _portable_fault(path))


def check_inside(path: str) -> None:
    """Refuse a path that leaves the fleet, leads into git's folder or hides a sign.

    Raises RegisterError (USAGE). Enough for a file that is there already.
    """
    _refuse(path, _escape_fault(path))


def _refuse(path: str, fault: str | None) -> None:
    if fault is not None:
        raise RegisterError(
            f"{path!a} cannot be a path of the fleet: {fault}",
            mend="use a name of lower-case letters a-z, digits, '-' and '.'",
            exit_code=Exit.USAGE,
            code="path-bad",
        )


def _escape_fault(path: str) -> str | None:
    if path.startswith("/") or PureWindowsPath(path).drive:
        return "it does not start in the fleet's folder"
    if "\\" in path or any(char < " " or char == "\x7f" for char in path):
        return "it holds a backslash or a control character"
    parts = path.split("/")
    if any(part in ("", ".", "..") for part in parts):
        return "it has an empty part, '.' or '..'"
    # The second is the short form under which some systems reach the first.
    if any(names.fold_name(part) in (".git", "git~1") for part in parts):
        return "it leads into git's own folder"
    return None


def _portable_fault(path: str) -> str | None:
    if len(path) > names.LONGEST_PATH:
        return f"it is longer than {names.LONGEST_PATH} characters"
    if path.startswith("-"):
        return "it starts with '-'"
    if names.has_forbidden(path) or not path.isprintable():
        return "it holds a character that not every system allows"
    if any(names.is_reserved(part) for part in path.split("/")):
        return "a part of it is a device name or ends in a dot or blank"
    return None


def write_changes(root: Path, changes: Sequence[FileChange]) -> None:
    """Write all changes, or none where a check or the disk refuses.

    Returns with files and folders flushed. Raises RegisterError: REFUSED
    `changed-meanwhile` where a file no longer has its `before` bytes, REFUSED
    `path-not-ours` where a folder is a link, CANNOT_RUN where the disk refuses.
    A call that is killed leaves each file old or new, never half, and where one
    is new already, the others' bytes are there under temporary names.
    """
    for change in changes:
        check_path(change.path)
    for change in changes:
        _check_before(root, change)
    wanted = [change for change in changes if change.before != change.after]
    ready: list[_Ready] = []
    doing = "write"
    try:
        for change in wanted:
            doing = f"write {change.path}"
            ready.append(_write_beside(root, change))
        for one in ready:
            doing = f"write {one.change.path}"
            _put_in_place(root, one)
        for folder in {one.target.parent for one in ready}:
            flush_folder(folder)
        # Not sooner: from them a write that died half-way is finished.
        _drop_temporaries(ready)
    except BaseException as error:
        if _take_back(ready):
            _drop_temporaries(ready)
        if isinstance(error, OSError):
            raise disk_error(error, doing) from error
        raise


def _check_before(root: Path, change: FileChange) -> None:
    """Refuse where the file on the disk is not the one the change was made from."""
    _check_folders(root, change.path)
    target = root / change.path
    try:
        there: bytes | None = read_plain_file(target)
    except FileNotFoundError:
        there = None
    except NotPlainFileError as error:
        raise _not_ours(change.path) from error
    except IsADirectoryError as error:
        raise _not_ours(change.path) from error
    except OSError as error:
        raise disk_error(error, f"read {change.path}") from error
    if there != change.before:
        raise _changed_meanwhile(change.path)


def _check_folders(root: Path, path: str) -> None:
    folder = root
    for part in path.split("/")[:-1]:
        folder = folder / part
        try:
            kind = kind_of(folder)
        except OSError as error:
            raise disk_error(error, f"look at {path}") from error
        if kind == "absent":
            return
        if kind != "folder":
            raise _not_ours(folder.relative_to(root).as_posix())


def _write_beside(root: Path, change: FileChange) -> _Ready:
    target = root / change.path
    _make_folders(root, change.path)
    mode = None
    if change.before is not None:
        mode = stat.S_IMODE(os.lstat(target).st_mode)
    return _Ready(change, target, write_temporary(target.parent, change.after, mode))


def _make_folders(root: Path, path: str) -> None:
    """Make the missing folders on the way, each flushed into its parent."""
    folder = root
    for part in path.split("/")[:-1]:
        parent, folder = folder, folder / part
        try:
            folder.mkdir()
        except FileExistsError:
            if kind_of(folder) != "folder":
                raise _not_ours(folder.relative_to(root).as_posix()) from None
        else:
            flush_folder(parent)


def _put_in_place(root: Path, one: _Ready) -> None:
    _check_before(root, one.change)
    if one.change.before is not None:
        one.temporary.replace(one.target)
        return
    try:
        _link_new(one)
    except FileExistsError as error:
        raise _changed_meanwhile(one.change.path) from error


def _link_new(one: _Ready) -> None:
    """Give the file its name only if nothing bears it yet.

    A rename would overwrite, so it serves only where the file system has no
    hard links (FAT, some network drives), and only a moment after a look.
    """
    try:
        os.link(one.temporary, one.target, follow_symlinks=False)
    except FileExistsError:
        raise
    except (OSError, NotImplementedError):
        if kind_of(one.target) != "absent":
            raise FileExistsError(errno.EEXIST, "the name is taken") from None
        one.temporary.rename(one.target)


def _take_back(ready: Sequence[_Ready]) -> bool:
    """Undo what was put in place, as far as nobody has changed it since.

    Returns whether nothing of it stands any more.
    """
    for one in reversed(ready):
        with contextlib.suppress(OSError):
            if not _stands(one):
                continue
            if one.change.before is None:
                one.target.unlink()
            else:
                mode = stat.S_IMODE(os.lstat(one.target).st_mode)
                beside = write_temporary(one.target.parent, one.change.before, mode)
                beside.replace(one.target)
            flush_folder(one.target.parent)
    return not any(_stands(one) for one in ready)


def _stands(one: _Ready) -> bool:
    """Whether this write put the file in its place; where that cannot be told, it did.

    Its temporary name is then gone or another name of the same file. The bytes
    alone could be somebody else's.
    """
    try:
        if read_plain_file(one.target) != one.change.after:
            return False
        return kind_of(one.temporary) == "absent" or one.temporary.samefile(one.target)
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError:
        return True


def _drop_temporaries(ready: Sequence[_Ready]) -> None:
    """Remove the temporary names. One that stays is only untidy, but worth a second try."""
    for one in (*ready, *ready):
        with contextlib.suppress(OSError):
            one.temporary.unlink(missing_ok=True)


def _changed_meanwhile(path: str) -> RegisterError:
    return RegisterError(
        f"{path} was changed meanwhile; nothing was written",
        mend="repeat the line: it will start from the file as it is now",
        exit_code=Exit.REFUSED,
        code="changed-meanwhile",
    )


def _not_ours(path: str) -> RegisterError:
    return RegisterError(
        f"{path} is a link or not what its name says; nothing was written through it",
        mend="put a real folder or plain file of the fleet there",
        exit_code=Exit.REFUSED,
        code="path-not-ours",
    )
