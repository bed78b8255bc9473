"""The one way a command's change reaches the disk and history.

lock, finish what an interrupted write left, identity, journal, write, commit,
close the journal. A kill between any two steps leaves a state from which the
next command's second step arrives at the same end.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from register.git.blobs import hash_blob
from register.git.commit import Committed, commit_files, read_identity
from register.git.repository import check_branch, check_place, read_own_marker
from register.git.wrapper import require_git
from register.storage import journal, keeping
from register.storage.folder import find_above, list_temporaries, read_file
from register.storage.lock import fleet_lock
from register.storage.writing import (
    FileChange,
    check_inside,
    check_path,
    write_changes,
)
from register.trouble import Exit, RegisterError

NO_HISTORY = "not a git repository: saved on disk, no history"


class Applied(Struct, frozen=True):
    """What was done: the commit, what an earlier write left, what to know.

    `commit` is None where nothing had to be committed or there is no history;
    `adopted` are the paths an interrupted write had left outside history.
    """

    commit: str | None
    adopted: tuple[str, ...]
    note: str | None


def apply_changes(root: Path, changes: Sequence[FileChange], message: str) -> Applied:
    """Write the changes and commit exactly their files under `message`.

    A change whose `before` equals its `after` writes nothing and commits what
    is on the disk. Raises RegisterError; only `saved-not-in-history` is raised
    after anything was written, and the next command then finishes the write.
    """
    for change in changes:
        check_path(change.path)
    if not check_place(root):
        with fleet_lock(root):
            write_changes(root, changes)
        return Applied(None, (), NO_HISTORY)
    with fleet_lock(root):
        identity = prepare(root)
        adopted, notes = recover(root, identity)
        if not changes:
            return Applied(None, adopted, _join(notes))
        hashes = {one.path: journal.hash_bytes(one.after) for one in changes}
        entry = _open_entry(root, changes, hashes, message)
        try:
            write_changes(root, changes)
        except RegisterError as error:
            close_if_undone(root, entry, hashes, changes, error)
            raise
        done = _commit_written(root, changes, message, identity)
        closed = close_entry(root, entry) if done.index_done else None
    notes = (*notes, done.note, closed, _note_hand_edits(changes, done))
    return Applied(done.commit if done.changed else None, adopted, _join(notes))


def save_paths(root: Path, paths: Sequence[str], message: str) -> Applied:
    """Commit these files as they are on the disk, a missing one as removed."""
    for path in paths:
        check_inside(path)
    if not check_place(root):
        return Applied(None, (), NO_HISTORY)
    with fleet_lock(root):
        identity = prepare(root)
        adopted, notes = recover(root, identity)
        files = {path: read_file(root, path) for path in paths}
        hashes = {path: journal.hash_or_gone(data) for path, data in files.items()}
        # Nothing is written, but git can die and leave its locks.
        entry = journal.open_entry(root, hashes, message, hashes)
        with saved_at_least():
            done = commit_files(root, files, message, identity)
        closed = close_entry(root, entry) if done.index_done else None
    notes = (*notes, done.note, closed)
    return Applied(done.commit if done.changed else None, adopted, _join(notes))


def find_work_tree(root: Path) -> Path | None:
    """Return the nearest folder, from `root` upwards, that has a `.git`.

    No git is run.
    """
    return find_above(root, keeping.GIT_FOLDER)


def recover(root: Path, identity: bytes) -> tuple[tuple[str, ...], tuple[str | None, ...]]:
    """Finish what interrupted writes left. The fleet's lock must be held.

    A write of which any file is in place is completed from its temporary files;
    what stands on the disk with the journal's hash is committed under the
    journal's message. A write of which nothing is in place is dropped. Temporary
    files are moved to `.git/tailsheaf/rescue`. Returns the paths that
    came into history, and notes. `identity` is what read_identity said.
    """
    adopted: list[str] = []
    notes: list[str | None] = []
    keeping.rescue_temporaries(root)
    for entry in journal.read_entries(root):
        journal.finish_entry(root, entry)
        _rescue_left_overs(root, entry)
        journal.renew_entry(root, entry)
        files = _read_completed(root, dict(entry.files))
        if files:
            done = commit_files(root, files, entry.message, identity)
            adopted.extend(path for path, _ in done.changed)
            if done.note:
                notes.append(done.note)
            if not done.index_done or _find_left_locks(root, entry.id):
                continue
        journal.close_entry(root, entry.id)
    return tuple(adopted), tuple(notes)


def prepare(root: Path) -> bytes:
    """Make sure, before any file is written, that a commit can be made.

    Returns whose commit it will be, as git writes it.
    """
    require_git(root)
    check_branch(root)
    return read_identity(root)


def _open_entry(
    root: Path, changes: Sequence[FileChange], hashes: Mapping[str, str], message: str
) -> str:
    before = {one.path: journal.hash_bytes(one.before) for one in changes if one.before is not None}
    return journal.open_entry(root, hashes, message, before)


def close_entry(root: Path, entry: str) -> str | None:
    """Close the entry of a write that is in history; return what to say if that fails.

    It stays open where git could not remove a lock of its own: by the entry the
    next command knows whose lock that is.
    """
    if _find_left_locks(root, entry):
        return None
    try:
        journal.close_entry(root, entry)
    except RegisterError as error:
        return f"in history, but {error.says}; the next command that writes tidies up"
    return None


def _commit_written(
    root: Path, changes: Sequence[FileChange], message: str, identity: bytes
) -> Committed:
    with saved_at_least():
        files = {change.path: read_file(root, change.path) for change in changes}
        # A file that vanished since it was written is no wish to remove it.
        there = {path: data for path, data in files.items() if data is not None}
        return commit_files(root, there, message, identity)


@contextlib.contextmanager
def saved_at_least() -> Iterator[None]:
    """Whatever stops a commit: say that the files are on the disk and need no second typing."""
    try:
        yield
    except RegisterError as error:
        raise _saved_only(error.says, error.mend) from error
    except KeyboardInterrupt as error:
        raise _saved_only("interrupted", "tailsheaf save", exit_code=Exit.INTERRUPTED) from error


def _saved_only(says: str, mend: str, exit_code: Exit = Exit.CANNOT_RUN) -> RegisterError:
    return RegisterError(
        f"saved on disk, not yet in history; the next command finishes it ({says})",
        mend=mend,
        exit_code=exit_code,
        code="saved-not-in-history",
    )


def finish_writes(root: Path) -> tuple[str, ...]:
    """Finish what interrupted lines left, if anything; return what came into history.

    For a line that may have nothing of its own to write.
    """
    if not check_place(root) or not keeping.list_kept(root, journal.PENDING):
        return ()
    return apply_changes(root, (), "").adopted


def close_if_undone(
    root: Path,
    entry: str,
    hashes: Mapping[str, str],
    changes: Sequence[FileChange],
    error: RegisterError,
) -> None:
    """Close the entry of a write that was taken back, keep that of one that was not.

    Raises RegisterError `saved-not-in-history` where any new file still stands.
    """
    standing = _read_completed(root, hashes)
    if any(one.path in standing and one.before != one.after for one in changes):
        raise _saved_only(error.says, error.mend) from error
    # What refused the write may refuse this as well; an entry without files is harmless.
    with contextlib.suppress(RegisterError):
        journal.close_entry(root, entry)


def _read_completed(root: Path, hashes: Mapping[str, str]) -> dict[str, bytes | None]:
    """Return the files that stand on the disk with the hash they were to have."""
    files: dict[str, bytes | None] = {}
    for path, hash in hashes.items():
        data = read_file(root, path)
        if journal.hash_or_gone(data) == hash:
            files[path] = data
    return files


def _rescue_left_overs(root: Path, entry: journal.Entry) -> None:
    """Move aside what a dead writer left lying: its temporary files, git's locks."""
    left = list(_find_left_locks(root, entry.id))
    for folder in {path.rpartition("/")[0] for path, _ in entry.files}:
        left.extend(list_temporaries(root, folder))
    for path in left:
        keeping.move_to_rescue(root, path)


def _find_left_locks(root: Path, entry: str) -> tuple[str, ...]:
    branch = read_own_marker(root).branch
    return keeping.find_left_locks(root, branch, journal.kept_name(entry))


def _note_hand_edits(changes: Sequence[FileChange], done: Committed) -> str | None:
    """Say where the commit also holds edits that were not in history before."""
    before = {change.path: change.before for change in changes}
    edited = [
        path
        for path, there in done.changed
        if (old := before[path]) is not None
        and there is not None
        and hash_blob(old, there) != there
    ]
    if not edited:
        return None
    return f"also in this commit: your own edits to {', '.join(edited)}"


def _join(notes: Sequence[str | None]) -> str | None:
    said = dict.fromkeys(note for note in notes if note)
    return "; ".join(said) or None
