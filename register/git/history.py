"""Ask history: what is not in it yet, and who changed a file when."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from register.git.blobs import hash_blob
from register.git.repository import read_own_marker
from register.git.wrapper import (
    build_environment,
    find_git,
    read_marker,
    run_git,
    settings,
)
from register.storage.folder import (
    RECORD_FOLDERS,
    TOP_FILES,
    exists,
    read_file,
    read_fleet,
)
from register.storage.gathered import SourceFile
from register.storage.writing import check_inside
from register.trouble import Exit, RegisterError

if TYPE_CHECKING:
    import git

_PLAIN_MODES = (b"100644", b"100755")


class Revision(Struct, frozen=True):
    """One commit that touched a file: id, author's name, author's time, first line."""

    commit: str
    author: str
    when: datetime
    subject: str


def paths_not_in_history(root: Path, files: Sequence[SourceFile] | None = None) -> tuple[str, ...]:
    """Return the record files whose bytes differ from the register's branch, sorted.

    Also those history does not know, and those it knows that are gone from the
    disk. The bytes themselves are compared: ignore rules, filters, line-ending
    rules and index flags hide nothing. `files` saves reading the fleet again.
    Empty where the folder has no history of its own.
    """
    marker = read_marker(root)
    if marker is None:
        return ()
    if files is None:
        files, _ = read_fleet(root)
    known = _list_records(root, f"refs/heads/{marker.branch}")
    found = []
    for file in files:
        id = known.pop(file.path, "")
        if not id or hash_blob(file.data, id) != id:
            found.append(file.path)
    # What is left was not read as a record: gone, or there but not readable.
    found.extend(path for path, id in known.items() if _differs(root, path, id))
    return tuple(sorted(found))


def read_history(root: Path, path: str, limit: int) -> tuple[Revision, ...]:
    """Return the newest `limit` commits that touched a path, newest first.

    Empty where the branch has no commit. Raises RegisterError where the folder
    is not ours or its history cannot be read.
    """
    check_inside(path)
    marker = read_own_marker(root)
    with _open_repository(root) as repo:
        if marker.branch not in (head.name for head in repo.heads):
            return ()
        commits = repo.iter_commits(
            f"refs/heads/{marker.branch}", paths=[path], max_count=max(limit, 0)
        )
        return tuple(
            Revision(
                commit.hexsha,
                str(commit.author.name or ""),
                _when(int(commit.authored_date), int(commit.author_tz_offset)),
                str(commit.summary),
            )
            for commit in commits
        )


def _when(seconds: int, west: int) -> datetime:
    """Return an author's time in the author's own offset (git counts west in seconds)."""
    return datetime.fromtimestamp(seconds, timezone(timedelta(seconds=-west)))


@contextmanager
def _open_repository(root: Path) -> Iterator[git.Repo]:
    """Open the fleet's repository for reading with the library.

    The library runs git itself: it gets the same environment and settings.
    """
    import git

    git.refresh(find_git())
    env = build_environment(root)
    folder = Path(env["GIT_DIR"])
    # The library adds to the process's environment and cannot take from it.
    env["GIT_INDEX_FILE"] = str(folder / "index")
    env["GIT_OBJECT_DIRECTORY"] = str(folder / "objects")
    env["GIT_ALTERNATE_OBJECT_DIRECTORIES"] = ""
    pairs = settings()
    env["GIT_CONFIG_COUNT"] = str(len(pairs))
    for number, (key, value) in enumerate(pairs):
        env[f"GIT_CONFIG_KEY_{number}"] = key
        env[f"GIT_CONFIG_VALUE_{number}"] = value
    try:
        with closing(git.Repo(root)) as repo:
            repo.git.update_environment(**env)
            yield repo
    except (git.GitError, ValueError, OverflowError, OSError) as error:
        raise RegisterError(
            f"the history cannot be read ({type(error).__name__})",
            mend="look at the repository with: git fsck",
            exit_code=Exit.CANNOT_RUN,
            code="git-failed",
        ) from error


def _list_records(root: Path, ref: str) -> dict[str, str]:
    """Return path and object id of every record file at the branch's tip.

    The id is empty for what is not a plain file there.
    """
    if not run_git(root, ["for-each-ref", "--format=%(objectname)", ref]).strip():
        return {}
    where = [*RECORD_FOLDERS, *TOP_FILES]
    said = run_git(root, ["ls-tree", "-r", "-z", "--full-tree", ref, "--", *where])
    records = {}
    for line in said.split(b"\0")[:-1]:
        head, _, name = line.partition(b"\t")
        mode, _, id = head.split(b" ")
        path = os.fsdecode(name)
        if path.endswith(".yaml") and "/attachments/" not in path:
            records[path] = id.decode("ascii") if mode in _PLAIN_MODES else ""
    return records


def _differs(root: Path, path: str, id: str) -> bool:
    data = read_file(root, path)
    if data is not None:
        return not id or hash_blob(data, id) != id
    return bool(id) or not exists(root, path)
