"""History as one plain file: written for a mailbox, read from one.

A file from a mailbox is a stranger's until it is read: git is never pointed at it. Its head is
read here, and its pack goes through `git index-pack --strict`, which checks every object before
any is kept (a fetch from a bundle checks none in git 2.39: tried).
"""

from __future__ import annotations

import re
from collections.abc import Collection
from pathlib import Path

from msgspec import Struct

from register.git.blame import blames_disk
from register.git.heads import read_tip
from register.git.wrapper import build_environment, git_failed, run_git, start_git
from register.storage.disk import read_start, stand_at

_SENDING = "refs/tailsheaf/sending"
#: The ref that a bundle carries, and all that one may carry.
_REF = _SENDING.encode("ascii")
_SIGN = b"# v2 git bundle\n"
_LINE = re.compile(rb"(-?)([0-9a-f]{40})(?: ([^\n]*))?\n")
_LONGEST_HEAD = 64 * 1024


class BundleHead(Struct, frozen=True):
    """What a bundle says of itself: its newest commit, what it builds on, its pack's place."""

    tip: str
    needs: tuple[str, ...]
    pack_at: int


def write_bundle(root: Path, target: Path, commit: str, known: Collection[str]) -> None:
    """Write a bundle of everything in the past of `commit` that none of `known` has.

    `target` must not exist.
    """
    run_git(root, ["update-ref", _SENDING, commit])
    wanted = [_SENDING, *(f"^{id_}" for id_ in sorted(known))]
    command = ["bundle", "create", "--quiet", "--version=2", str(target), *wanted]
    run_git(root, command)


def parse_bundle_head(data: bytes) -> BundleHead | None:
    """Read the head of a bundle as this program writes it; None for anything else."""
    if not data.startswith(_SIGN):
        return None
    at = len(_SIGN)
    needs: list[str] = []
    tips: list[str] = []
    while data[at : at + 1] != b"\n":
        line = _LINE.match(data, at)
        if line is None:
            return None
        if line[1]:
            needs.append(line[2].decode("ascii"))
        elif line[3] == _REF:
            tips.append(line[2].decode("ascii"))
        else:
            return None
        at = line.end()
    return BundleHead(tips[0], tuple(needs), at + 1) if len(tips) == 1 else None


def read_bundle_head(handle: int) -> BundleHead | None:
    """The head of a bundle in an open file."""
    return parse_bundle_head(read_start(handle, _LONGEST_HEAD))


def keep_bundle(root: Path, handle: int, head: BundleHead) -> bool:
    """Bring a bundle's objects here, each checked first; False where any is not as git wants it.

    What it builds on must be here already. No ref is made.
    """
    stand_at(handle, head.pack_at)
    command = ["index-pack", "--stdin", "--strict", "--fix-thin"]
    result = start_git(command, build_environment(root), handle)
    if result.returncode != 0:
        if blames_disk(result.stderr):
            # The disk's trouble is not the letter's.
            raise git_failed("index-pack", result.stderr)
        return False
    return read_tip(root, head.tip) == head.tip
