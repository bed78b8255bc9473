"""Put files into history, touching nothing but those files.

A commit is made from the old tip of the register's branch with only the given
paths changed, and the branch moves only forward from that tip. The user's
index is then told of these paths and of no other, so that staged work, an
unfinished merge or another checked-out branch stay as they are.
"""

from __future__ import annotations

import contextlib
import os
import re
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from register.git.blobs import hash_blob
from register.git.history import paths_not_in_history, read_history
from register.git.repository import (
    adopt_marker,
    check_branch,
    init_repository,
    read_head_branch,
    read_own_marker,
)
from register.git.wrapper import (
    build_environment,
    git_failed,
    is_ours,
    plain_words,
    run_git,
    start_git,
)
from register.git.writers import sign_message
from register.storage import keeping
from register.storage.folder import read_file
from register.storage.writing import check_inside
from register.trouble import Exit, RegisterError

__all__ = [
    "Committed",
    "adopt_marker",
    "check_identity",
    "commit_files",
    "commit_paths",
    "init_repository",
    "paths_not_in_history",
    "read_history",
]

_TRIES = 5
_CRASH = re.compile(rb"fast_import_crash_\d+")
_INDEX_PAUSES = (0.05, 0.1, 0.2, 0.4, 0.8)
"""Seconds to wait for another program's hold on the index, in turn."""


class Committed(Struct, frozen=True):
    """What a commit did.

    `commit` is the branch's tip afterwards (None: the branch has no commit),
    `changed` the paths that were new to history with the object id they had
    there before, `index_done` whether the user's index now shows them, `note`
    what the user should know.
    """

    commit: str | None
    changed: tuple[tuple[str, str | None], ...]
    index_done: bool
    note: str | None


class _Tip(Struct, frozen=True):
    """A branch's tip (None: unborn) and the object ids of some paths in it."""

    commit: str | None
    blobs: Mapping[str, str | None]


def check_identity(root: Path) -> tuple[str, str]:
    """Return the name and e-mail commits are made under.

    They come from the environment or git's configuration, never from a guess.
    Raises RegisterError (CANNOT_RUN `no-identity`) where either is missing.
    """
    name, _, rest = read_identity(root).decode("utf-8", "replace").rpartition(" <")
    return name, rest.partition(">")[0]


def commit_paths(
    root: Path, paths: Sequence[str], message: str, *, allow_missing: bool = False
) -> str:
    """Commit exactly these paths' bytes as they are on the disk; return the tip's id.

    Nothing is committed where history already has them. With `allow_missing` a
    path that is gone from the disk is removed from history's tip as well;
    without it, that is an error. The id is empty on a branch without a commit.
    """
    files: dict[str, bytes | None] = {}
    for path in paths:
        check_inside(path)
        data = read_file(root, path)
        if data is None and not allow_missing:
            raise RegisterError(
                f"{path} is not there as a plain file and cannot be committed",
                mend="put the file back, then: tailsheaf save",
                exit_code=Exit.CANNOT_RUN,
                code="file-missing",
            )
        files[path] = data
    return commit_files(root, files, message).commit or ""


def commit_files(
    root: Path,
    files: Mapping[str, bytes | None],
    message: str,
    identity: bytes | None = None,
) -> Committed:
    """Commit these bytes at these paths on the register's branch.

    None removes the path. `identity` is what read_identity said, if it was asked
    already. Raises RegisterError where git fails or another
    program moves the branch five times in a row; the disk is not touched.
    """
    check_branch(root)
    branch = read_own_marker(root).branch
    head = read_head_branch(root)
    ref = f"refs/heads/{branch}"
    moved = b""
    message = sign_message(root, message)
    for _ in range(_TRIES):
        tip = _read_tip(root, ref, tuple(files))
        fresh = _pick_fresh(files, tip)
        if not fresh:
            return _finish(root, files, tip.commit, (), branch, head)
        identity = identity or read_identity(root)
        stream = _build_stream(ref, tip.commit, fresh, message, identity)
        commit, moved = _import(root, ref, tip.commit, stream)
        if commit is not None:
            changed = tuple((path, tip.blobs[path]) for path in fresh)
            return _finish(root, files, commit, changed, branch, head)
    raise git_failed("fast-import", moved)


def read_identity(root: Path) -> bytes:
    """Return git's line for the author: name, e-mail, seconds and offset.

    Raises RegisterError as check_identity does.
    """
    env = build_environment(root if is_ours(root) else None)
    result = start_git(["var", "GIT_AUTHOR_IDENT"], env)
    if result.returncode == 0:
        return result.stdout.strip()
    said = result.stderr.lower()
    if b"ident" not in said and b"user.useconfigonly" not in said:
        raise git_failed("var", result.stderr)
    raise RegisterError(
        "git does not know who you are, so nothing can be put into history",
        mend=(
            'git config --global user.name "Your Name"\n'
            'git config --global user.email "you@example.org"'
        ),
        exit_code=Exit.CANNOT_RUN,
        code="no-identity",
    )


def _read_tip(root: Path, ref: str, paths: Sequence[str]) -> _Tip:
    """Ask for the tip and all paths in one run of git."""
    wanted = [os.fsencode(ref), *(os.fsencode(f"{ref}:{path}") for path in paths)]
    said = run_git(
        root,
        ["cat-file", "--batch-check=%(objectname)"],
        stdin=b"".join(line + b"\n" for line in wanted),
    )
    lines = said.split(b"\n")
    if len(lines) != len(wanted) + 1:
        raise git_failed("cat-file", said)
    ids = [None if b" " in line else line.decode("ascii") for line in lines[:-1]]
    return _Tip(ids[0], dict(zip(paths, ids[1:], strict=True)))


def _pick_fresh(files: Mapping[str, bytes | None], tip: _Tip) -> dict[str, bytes | None]:
    """Return the files that the tip does not have with these bytes."""
    fresh = {}
    for path, data in files.items():
        there = tip.blobs[path]
        known = None if there is None or data is None else hash_blob(data, there)
        if there != known or (there is None and data is not None):
            fresh[path] = data
    return fresh


def _import(root: Path, ref: str, tip: str | None, stream: bytes) -> tuple[str | None, bytes]:
    """Make the commit and move the branch from `tip`.

    Returns the commit's id, or None and git's words where the branch had moved.
    """
    result = start_git(
        ["fast-import", "--quiet", "--done", "--date-format=raw"],
        build_environment(root),
        stream,
    )
    if result.returncode == 0:
        return result.stdout.strip().decode("ascii"), b""
    move_crash_report(root, result.stderr)
    if b"Not updating" in result.stderr or _read_tip(root, ref, ()).commit != tip:
        return None, result.stderr
    raise git_failed("fast-import", result.stderr)


def move_crash_report(root: Path, stderr: bytes) -> None:
    """Move aside what git writes into its folder when an import fails: it says all of it again."""
    found = _CRASH.search(stderr)
    if found is not None:
        with contextlib.suppress(RegisterError):
            keeping.move_to_rescue(root, f"{keeping.GIT_FOLDER}/{found[0].decode('ascii')}")


def _build_stream(
    ref: str,
    tip: str | None,
    files: Mapping[str, bytes | None],
    message: str,
    identity: bytes,
) -> bytes:
    """Return the commit as git's import stream (git-fast-import's manual page)."""
    text = message.replace("\0", " ").strip().encode("utf-8", "replace") + b"\n"
    parts = [
        b"commit " + ref.encode("ascii"),
        b"mark :1",
        b"author " + identity,
        b"committer " + identity,
        b"data %d\n" % len(text) + text,
    ]
    if tip is not None:
        parts.append(b"from " + tip.encode("ascii"))
    for path, data in sorted(files.items()):
        name = quote_path(path)
        if data is None:
            parts.append(b"D " + name)
        else:
            parts.append(b"M 100644 inline " + name)
            parts.append(b"data %d\n" % len(data) + data)
    parts.extend((b"", b"get-mark :1", b"done", b""))
    return b"\n".join(parts)


def quote_path(path: str) -> bytes:
    raw = os.fsencode(path)
    if not raw.startswith(b'"'):
        return raw
    return b'"' + raw.replace(b"\\", b"\\\\").replace(b'"', b'\\"') + b'"'


def _finish(
    root: Path,
    files: Mapping[str, bytes | None],
    commit: str | None,
    changed: tuple[tuple[str, str | None], ...],
    branch: str,
    head: str | None,
) -> Committed:
    """Tell the index where HEAD is on the register's branch; elsewhere leave it."""
    if commit is None:
        return Committed(None, changed, True, None)
    if head != branch:
        where = "no branch" if head is None else f"branch {head}"
        note = f"committed to branch {branch}; you are on {where}, which was left alone"
        return Committed(commit, changed, True, note)
    try:
        ids = {
            path: None if data is None else hash_blob(data, commit) for path, data in files.items()
        }
        refused = update_index(root, ids, commit)
    except RegisterError as error:
        # The commit stands, and that must be what is said.
        refused = error.says
    if refused is None:
        return Committed(commit, changed, True, None)
    note = (
        f"in history, but git's index could not be told ({refused}); "
        "the next command that writes tells it"
    )
    return Committed(commit, changed, False, note)


def update_index(root: Path, ids: Mapping[str, str | None], commit: str) -> str | None:
    """Set these paths' object ids in the index; return why not, or None when done.

    The object ids are given, so git reads no file and no filter can run.
    """
    lines = [
        b"0 " + b"0" * len(commit) + b"\t" + os.fsencode(path)
        if id_ is None
        else b"100644 %s\t%s" % (id_.encode(), os.fsencode(path))
        for path, id_ in ids.items()
    ]
    stdin = b"".join(line + b"\0" for line in lines)
    env = build_environment(root)
    command = ["update-index", "-z", "--index-info"]
    result = start_git(command, env, stdin)
    for pause in _INDEX_PAUSES:
        if result.returncode == 0 or b"index.lock" not in result.stderr:
            break
        time.sleep(pause)
        result = start_git(command, env, stdin)
    if result.returncode == 0:
        return None
    if b"index.lock" in result.stderr:
        return "another program holds .git/index.lock"
    return plain_words(result.stderr)
