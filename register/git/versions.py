"""Every version that history has of one file."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from register.git.heads import read_blobs
from register.git.repository import read_own_marker
from register.git.wrapper import run_git

MOST = 500


class Version(Struct, frozen=True):
    """One version of a file: since when (seconds, as that machine's clock said), its bytes."""

    since: int
    data: bytes


def read_versions(root: Path, path: str) -> tuple[Version, ...]:
    """The newest versions of a file, newest first; none where history never had it."""
    branch = read_own_marker(root).branch
    command = ["log", f"--max-count={MOST}", "--format=%H %ct", f"refs/heads/{branch}", "--", path]
    lines = [line.split(" ") for line in run_git(root, command, check=False).decode().splitlines()]
    asked = "".join(f"{commit}:{path}\n" for commit, _ in lines if "\n" not in path)
    said = run_git(root, ["cat-file", "--batch-check"], stdin=asked.encode("utf-8"))
    kinds = [line.split() for line in said.decode().splitlines()]
    found = [
        (int(when), words[0])
        for (_, when), words in zip(lines, kinds, strict=True)
        if words[1:2] == ["blob"]
    ]
    blobs = read_blobs(root, (id_ for _, id_ in found))
    return tuple(Version(when, blobs[id_]) for when, id_ in found)
