"""Take what other machines wrote into the fleet: files first, then the branch.

Lock, finish what an interrupted write left, join the tips, check that no file to be changed has
an edit that is not in history, journal, write and remove files, move the branch from the tip
that was read, tell the index. A kill between any two steps leaves files that the next command
puts into history; joining again then gives the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from register.git.apply import close_entry, close_if_undone, prepare, recover, saved_at_least
from register.git.blobs import hash_blob
from register.git.commit import update_index
from register.git.heads import read_blobs, read_tip, read_tree
from register.git.merging import JOINED, Joined, MergeTrees, join_tips
from register.git.repository import read_head_branch, read_own_marker
from register.git.wrapper import build_environment, git_failed, run_git, start_git
from register.storage import journal, keeping
from register.storage.folder import exists, read_file
from register.storage.lock import fleet_lock
from register.storage.removing import remove_files
from register.storage.scratch import find_own_locks
from register.storage.writing import FileChange, write_changes
from register.trouble import Exit, RegisterError

WORDS = "Take in what other machines wrote"
_SHOWN = 6


class Taken(Struct, frozen=True):
    """What came in: the branch's tip before and after, and the paths added, changed, removed."""

    before: str | None
    after: str
    added: tuple[str, ...]
    changed: tuple[str, ...]
    removed: tuple[str, ...]
    adopted: tuple[str, ...]
    note: str | None

    @property
    def is_new(self) -> bool:
        """Whether anything came in."""
        return self.before != self.after


def take_tips(root: Path, tips: Sequence[str], merge: MergeTrees) -> Taken:
    """Join these commits and the fleet's own, and bring folder and branch there.

    Raises RegisterError as `take_joined` does, and REFUSED `other-fleet`.
    """
    return take_joined(root, lambda own: join_tips(root, [*tips, *([own] if own else [])], merge))


def take_joined(root: Path, join: Callable[[str | None], Joined]) -> Taken:
    """Bring folder and branch to the commit that `join` makes from the branch's tip.

    Raises RegisterError: REFUSED `history-odd`, `edits-unsaved` (nothing changed) or
    `branch-other`; CANNOT_RUN where disk or git refuse.
    """
    with fleet_lock(root):
        identity = prepare(root)
        branch = read_own_marker(root).branch
        if read_head_branch(root) != branch:
            raise RegisterError(
                f"you are not on the register's branch {branch}; nothing was taken in",
                mend=f"git switch {branch}   then the same line again",
                exit_code=Exit.REFUSED,
                code="branch-other",
            )
        for lock in find_own_locks(root):
            keeping.move_to_rescue(root, lock)
        adopted, notes = recover(root, identity)
        own = read_tip(root, f"refs/heads/{branch}")
        joined = join(own)
        if joined.commit == own:
            # A line that was cut short may have left it.
            _forget_joined(root)
            return Taken(own, joined.commit, (), (), (), adopted, _join(notes))
        taken = _bring(root, branch, own, joined)
    return Taken(own, joined.commit, *taken, adopted, _join(notes))


def _bring(
    root: Path, branch: str, own: str | None, joined: Joined
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    old = read_tree(root, own) if own else {}
    new = joined.tree
    paths = sorted(path for path in {*old, *new} if old.get(path) != new.get(path))
    blobs = read_blobs(root, (new[path] for path in paths if path in new))
    there = _read_disk(root, paths, old, new)
    changes = [FileChange(path, there[path], blobs[new[path]]) for path in paths if path in new]
    gone = {path: data for path in paths if path not in new and (data := there[path]) is not None}
    hashes = {change.path: journal.hash_bytes(change.after) for change in changes}
    hashes.update(dict.fromkeys(gone, journal.GONE))
    before = {path: journal.hash_bytes(data) for path, data in there.items() if data is not None}
    entry = journal.open_entry(root, hashes, WORDS, before)
    try:
        write_changes(root, changes)
    except RegisterError as error:
        close_if_undone(root, entry, hashes, changes, error)
        raise
    with saved_at_least():
        remove_files(root, gone)
        _move_branch(root, branch, own, joined.commit)
        refused = update_index(root, {path: new.get(path) for path in paths}, joined.commit)
    if refused is None:
        close_entry(root, entry)
    return (
        tuple(path for path in paths if path not in old),
        tuple(path for path in paths if path in old and path in new),
        tuple(path for path in paths if path not in new),
    )


def _read_disk(
    root: Path, paths: Sequence[str], old: Mapping[str, str], new: Mapping[str, str]
) -> dict[str, bytes | None]:
    """What stands on the disk at these paths: as history had it, or already as it will be."""
    found: dict[str, bytes | None] = {}
    edited = []
    for path in paths:
        data = read_file(root, path)
        found[path] = data
        if data is None:
            known = (path not in old or path not in new) and not exists(root, path)
        else:
            like = old.get(path) or new.get(path) or ""
            known = hash_blob(data, like) in (old.get(path), new.get(path))
        if not known:
            edited.append(path)
    if edited:
        raise _unsaved(edited)
    return found


def _unsaved(edited: Sequence[str]) -> RegisterError:
    shown = ", ".join(edited[:_SHOWN])
    more = f" and {len(edited) - _SHOWN} more" if len(edited) > _SHOWN else ""
    return RegisterError(
        f"these files have edits that are not in history, and what comes in changes them too: "
        f"{shown}{more}; nothing was taken in",
        mend="tailsheaf save   puts your edits into history; then the same line again",
        exit_code=Exit.REFUSED,
        code="edits-unsaved",
    )


def _move_branch(root: Path, branch: str, own: str | None, commit: str) -> None:
    """Move the branch from the tip it had; refused where it moved meanwhile."""
    ref = f"refs/heads/{branch}"
    command = ["update-ref", ref, commit, own or "0" * len(commit)]
    result = start_git(command, build_environment(root))
    if result.returncode != 0:
        raise git_failed("update-ref", result.stderr)
    _forget_joined(root)


def _forget_joined(root: Path) -> None:
    run_git(root, ["update-ref", "-d", JOINED], check=False)


def _join(notes: Sequence[str | None]) -> str | None:
    return "; ".join(dict.fromkeys(note for note in notes if note)) or None
