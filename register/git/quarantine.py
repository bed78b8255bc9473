"""A bundle from a stranger, opened in a repository of its own and looked through before use.

git's own checks come first, then ours over every object, every tree and every path of every
revision. Nothing is checked out, and nothing of the fleet is touched.
"""

from __future__ import annotations

import re
from pathlib import Path

from msgspec import Struct

from register.git.blame import blames_disk
from register.git.handing import (
    PASSING,
    PastCommit,
    check_repository,
    list_past_of,
    make_repository,
)
from register.git.wrapper import build_environment, git_failed, start_git
from register.storage.names import fold_name, is_reserved
from register.storage.parcel import refuse_file
from register.trouble import RegisterError

MAIN = "refs/heads/main"
MOST_OBJECTS = 200_000
MOST_COMMITS = 50_000
LARGEST_RECORD = 256 * 1024
LARGEST_ATTACHMENT = 20 * 1024 * 1024
LARGEST_ALL = 200 * 1024 * 1024
_NAME = re.compile(r"[a-z0-9](?:[a-z0-9._-]{0,120}[a-z0-9])?")
#: Where records and pictures of a handover may lie.
_PATHS = re.compile(
    r"fleet\.yaml|(?:kits|programmes)/[a-z0-9-]+\.yaml|aircraft/[a-z0-9-]+/aircraft\.yaml"
    r"|parts/[a-z0-9-]+/part\.yaml"
    r"|(?:aircraft|parts)/[a-z0-9-]+/events/\d{4}/\d{2}/[a-z0-9-]+\.yaml"
    r"|(?:aircraft|parts)/[a-z0-9-]+/attachments/[a-z0-9-]+\.(?:jpg|png)"
)


class Opened(Struct, frozen=True):
    """A bundle that kept all rules: its newest commit, the files there, the past."""

    tip: str
    files: dict[str, bytes]
    past: tuple[PastCommit, ...]


def open_bundle(folder: Path, bundle: Path) -> Opened:
    """Open a bundle in `folder`, an empty one of the caller's, and hold it to the rules.

    Raises RegisterError (REFUSED `file-refused`) naming what broke which rule.
    """
    make_repository(folder)
    _git(
        folder,
        [
            "-c",
            "protocol.file.allow=always",
            "-c",
            "fetch.fsckObjects=true",
            "-c",
            "pack.threads=1",
            "-c",
            "core.bigFileThreshold=1m",
            "fetch",
            "--quiet",
            "--no-tags",
            "--no-write-fetch-head",
            "--no-auto-maintenance",
            "--no-recurse-submodules",
            "--",
            str(bundle),
            f"+{MAIN}:{MAIN}",
        ],
        "it is no whole bundle of history",
    )
    _check_sizes(folder)
    try:
        check_repository(folder)
    except RegisterError as error:
        raise refuse_file(f"git finds it damaged ({error.says})") from error
    past = list_past_of(folder)
    for commit in past:
        for path, _ in commit.changes:
            if not _PATHS.fullmatch(path):
                raise refuse_file(f"commit {commit.id[:12]} holds {path[:120]!a}")
    tip = _git(folder, ["rev-parse", MAIN], "it has no history").strip().decode("ascii")
    if _git(folder, ["rev-list", "--count", "--merges", MAIN], "it has no history").strip() != b"0":
        raise refuse_file("its history is not one line")
    _check_trees(folder)
    return Opened(tip, _read_files(folder, tip), past)


def _check_sizes(folder: Path) -> None:
    """By what git says of each object, before any is read."""
    said = _git(
        folder,
        [
            "cat-file",
            "--batch-all-objects",
            "--unordered",
            "--batch-check=%(objecttype) %(objectsize)",
        ],
        "its objects cannot be listed",
    )
    lines = said.splitlines()
    if len(lines) > MOST_OBJECTS:
        raise refuse_file(f"it holds more than {MOST_OBJECTS} objects")
    if sum(line.startswith(b"commit ") for line in lines) > MOST_COMMITS:
        raise refuse_file(f"it holds more than {MOST_COMMITS} commits")
    total = 0
    for line in lines:
        kind, _, size = line.partition(b" ")
        total += int(size)
        if kind == b"tag" or (kind != b"blob" and int(size) > LARGEST_ATTACHMENT):
            raise refuse_file("it holds an object that no handover has")
        if int(size) > LARGEST_ATTACHMENT:
            raise refuse_file(f"it holds a file of more than {LARGEST_ATTACHMENT // 2**20} MB")
    if total > LARGEST_ALL:
        raise refuse_file(f"it holds more than {LARGEST_ALL // 2**20} MB")


def _check_trees(folder: Path) -> None:
    """Names and kinds of every entry of every tree there is, reachable or not."""
    listed = _git(
        folder,
        [
            "cat-file",
            "--batch-all-objects",
            "--unordered",
            "--batch-check=%(objecttype) %(objectname)",
        ],
        "its objects cannot be listed",
    )
    ids = [line.split(b" ")[1] for line in listed.splitlines() if line.startswith(b"tree ")]
    said = _git(
        folder, ["cat-file", "--batch"], "its folders cannot be read", b"\n".join([*ids, b""])
    )
    folded: dict[bytes, str] = {}
    at = 0
    while at < len(said):
        end = said.index(b"\n", at)
        size = int(said[at:end].split(b" ")[2])
        _check_tree(said[end + 1 : end + 1 + size], folded)
        at = end + 1 + size + 1


def _check_tree(data: bytes, folded: dict[bytes, str]) -> None:
    """`folded` are names found good before: most stand in every revision of their folder."""
    seen: set[str] = set()
    at = 0
    while at < len(data):
        end = data.index(b"\0", at)
        mode, _, raw = data[at:end].partition(b" ")
        if mode not in (b"100644", b"40000"):
            raise refuse_file(f"{_tell(raw)} is a link, a program or another repository")
        if raw not in folded:
            folded[raw] = _check_name(raw)
        if folded[raw] in seen:
            raise refuse_file(f"{_tell(raw)} stands twice in one folder")
        seen.add(folded[raw])
        at = end + 21


def _check_name(raw: bytes) -> str:
    """A name that every system can hold, as two names meet on some of them."""
    name = raw.decode("utf-8", "backslashreplace")
    if not _NAME.fullmatch(name) or is_reserved(name):
        raise refuse_file(f"{_tell(raw)} is no name that every system can hold")
    return fold_name(name)


def _tell(raw: bytes) -> str:
    return ascii(raw.decode("utf-8", "backslashreplace")[:80])


def _read_files(folder: Path, tip: str) -> dict[str, bytes]:
    listed = _git(folder, ["ls-tree", "-r", "-z", "-l", "--full-tree", tip], "it cannot be read")
    ids: dict[str, bytes] = {}
    for line in listed.split(b"\0")[:-1]:
        head, _, raw = line.partition(b"\t")
        _, _, id_, length = head.split()
        path = raw.decode("utf-8", "backslashreplace")
        if path.endswith(".yaml") and int(length) > LARGEST_RECORD:
            raise refuse_file(f"{path[:120]} is larger than a record can be")
        ids[path] = id_
    said = _git(
        folder,
        ["cat-file", "--batch"],
        "its files cannot be read",
        b"".join(id_ + b"\n" for id_ in ids.values()),
    )
    files: dict[str, bytes] = {}
    at = 0
    for path in ids:
        end = said.index(b"\n", at)
        size = int(said[at:end].split(b" ")[2])
        files[path] = said[end + 1 : end + 1 + size]
        at = end + 1 + size + 1
    return files


def _git(folder: Path, args: list[str], fault: str, stdin: bytes | None = None) -> bytes:
    env = build_environment(None)
    env.update(GIT_DIR=str(folder), GIT_ALLOW_PROTOCOL="file")
    result = start_git([*PASSING, *args], env, stdin)
    if result.returncode != 0:
        if blames_disk(result.stderr):
            # The disk's trouble is not the file's.
            raise git_failed("fetch" if "fetch" in args else args[0], result.stderr)
        raise refuse_file(fault)
    return result.stdout
