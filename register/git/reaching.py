"""Whether those who know some commits arrive at another by themselves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from register.git.merging import WORDS, MergeTrees, join_tips
from register.git.wrapper import run_git


def find_commits(root: Path, prefixes: Iterable[str]) -> dict[str, str]:
    """The full id of each commit that is here, by the beginning of its id."""
    wanted = list(dict.fromkeys(prefixes))
    if not wanted:
        return {}
    asked = b"".join(f"{prefix}^{{commit}}\n".encode("ascii") for prefix in wanted)
    said = run_git(root, ["cat-file", "--batch-check=%(objectname)"], stdin=asked)
    lines = said.decode("ascii", "replace").splitlines()
    return {
        prefix: line
        for prefix, line in zip(wanted, lines, strict=False)
        if line.startswith(prefix) and " " not in line
    }


def is_reached(root: Path, tip: str, known: Sequence[str], merge: MergeTrees) -> bool:
    """Whether a machine that knows these commits has `tip`, or makes it by joining them.

    A joined commit follows from what it joins, so it is sent only where others cannot make it.
    """
    if not known:
        return False
    listed = "".join(f"^{id_}\n" for id_ in sorted(set(known)))
    said = run_git(
        root, ["rev-list", "--format=%s", "--stdin"], stdin=f"{tip}\n{listed}".encode("ascii")
    )
    words = [line for line in said.splitlines() if not line.startswith(b"commit ")]
    if not words:
        return True
    if any(line != WORDS.strip() for line in words):
        return False
    return join_tips(root, known, merge).commit == tip
