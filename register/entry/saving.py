"""Which hand edits are meant to be saved, and how the commit says so."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

from register.trouble import RegisterError


def choose_edits(
    edited: Sequence[str], known: Iterable[str], wanted: Sequence[str]
) -> tuple[str, ...]:
    """The edited paths at or below any wanted one; all of them when none is named.

    Raises RegisterError (USAGE) on a path the fleet does not have. One that is in history
    as it stands is passed over.
    """
    if not wanted:
        return tuple(edited)
    chosen: list[str] = []
    listed = set(known)
    for path in wanted:
        word = path.rstrip("/")
        below = [item for item in edited if _is_below(item, word)]
        chosen.extend(below)
        if below or any(_is_below(item, word) for item in listed):
            continue
        near = difflib.get_close_matches(word, [*edited, *listed], n=2, cutoff=0.6)
        raise RegisterError(
            f"save takes paths of files, and no record of this fleet stands at {path[:120]!r}",
            mend=f"did you mean {' or '.join(near)}?"
            if near
            else "tailsheaf save   saves them all",
            code="path-unknown",
        )
    return tuple(sorted(set(chosen)))


def _is_below(path: str, word: str) -> bool:
    return word in ("", ".") or path == word or path.startswith(word + "/")


def tell_edits(paths: Sequence[str]) -> str:
    """The commit's message."""
    if len(paths) == 1:
        return f"Save the hand edit of {paths[0]}"
    return f"Save hand edits of {len(paths)} files"
