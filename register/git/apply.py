"""The one way a command's change reaches the disk and history.

lock, finish what an interrupted write left, identity, journal, write, commit,
close the journal. A kill between any two steps leaves a state from which the
next command's second step arrives at the same end.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

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


@dataclass(frozen=True, slots=True)
class Applied:
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
        identity = _prepare(root)
        adopted, notes = recover(root, identity)
        if not changes:
            return Applied(None, adopted, _join(notes))
        hashes = {one.path: journal.hash_bytes(one.after) for one in changes}
        entry = journal.open_entry(root, hashes, message)
        try:
            write_changes(root, changes)
        except RegisterError:
            _close_if_undone(root, entry, hashes)
            raise
        done = _commit_written(root, changes, message, identity)
        if done.index_done:
            journal.close_entry(root, entry)
    notes = (*notes, done.note, _note_hand_edits(changes, done))
    return Applied(done.commit if done.changed else None, adopted, _join(notes))


def save_paths(root: Path, paths: Sequence[str], message: str) -> Applied:
    """Commit these files as they are on the disk, a missing one as removed."""
    for path in paths:
        check_inside(path)
    if not check_place(root):
        return Applied(None, (), NO_HISTORY)
    with fleet_lock(root):
        identity = _prepare(root)
        adopted, notes = recover(root, identity)
        files = {path: read_file(root, path) for path in paths}
        done = commit_files(root, files, message, identity)
    notes = (*notes, done.note)
    return Applied(done.commit if done.changed else None, adopted, _join(notes))


def find_work_tree(root: Path) -> Path | None:
    """Return the nearest folder, from `root` upwards, that has a `.git`.

    No git is run.
    """
    return find_above(root, keeping.GIT_FOLDER)


def recover(root: Path, identity: bytes) -> tuple[tuple[str, ...], tuple[str | None, ...]]:
    """Finish what interrupted writes left. The fleet's lock must be held.

    A file that stands on the disk with the journal's hash is committed under
    the journal's message; one that was never completed is dropped from it.
    Temporary files are moved to `.git/tailsheaf/rescue`. Returns the paths that
    came into history, and notes. `identity` is what read_identity said.
    """
    adopted: list[str] = []
    notes: list[str | None] = []
    keeping.rescue_temporaries(root)
    for entry in journal.read_entries(root):
        _rescue_left_overs(root, entry)
        files = _read_completed(root, dict(entry.files))
        if files:
            done = commit_files(root, files, entry.message, identity)
            adopted.extend(path for path, _ in done.changed)
            if done.note:
                notes.append(done.note)
            if not done.index_done:
                continue
        journal.close_entry(root, entry.id)
    return tuple(adopted), tuple(notes)


def _prepare(root: Path) -> bytes:
    """Make sure, before any file is written, that a commit can be made.

    Returns whose commit it will be, as git writes it.
    """
    require_git(root)
    check_branch(root)
    return read_identity(root)


def _commit_written(
    root: Path, changes: Sequence[FileChange], message: str, identity: bytes
) -> Committed:
    try:
        files = {change.path: read_file(root, change.path) for change in changes}
        # A file that vanished since it was written is no wish to remove it.
        there = {path: data for path, data in files.items() if data is not None}
        return commit_files(root, there, message, identity)
    except RegisterError as error:
        raise RegisterError(
            f"saved on disk, not yet in history; the next command finishes it ({error.says})",
            mend=error.mend,
            exit_code=Exit.CANNOT_RUN,
            code="saved-not-in-history",
        ) from error


def _close_if_undone(root: Path, entry: str, hashes: Mapping[str, str]) -> None:
    """Close the entry of a write that was taken back, keep that of one that was not."""
    if not _read_completed(root, hashes):
        journal.close_entry(root, entry)


def _read_completed(root: Path, hashes: Mapping[str, str]) -> dict[str, bytes | None]:
    """Return the files that stand on the disk with the hash they were to have."""
    files: dict[str, bytes | None] = {}
    for path, hash in hashes.items():
        data = read_file(root, path)
        if data is not None and journal.hash_bytes(data) == hash:
            files[path] = data
    return files


def _rescue_left_overs(root: Path, entry: journal.Entry) -> None:
    """Move aside what a dead writer left lying: its temporary files, git's locks."""
    branch = read_own_marker(root).branch
    left = list(keeping.find_left_locks(root, branch, entry.kept_as))
    for folder in {path.rpartition("/")[0] for path, _ in entry.files}:
        left.extend(list_temporaries(root, folder))
    for path in left:
        keeping.move_to_rescue(root, path)


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
