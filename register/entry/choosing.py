"""Whether a name as typed means a thing that is there, or one to be made."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from register.entry.naming import match_name

_TYPO = 0.75


def choose_name(
    typed: str,
    names: Iterable[str],
    what: str,
    *,
    add: bool,
    given: bool,
    line: str,
) -> tuple[str, bool]:
    """The name, and whether it is new.

    With `add` it is new. Without, a name that is there is meant if it or its beginning
    fits; with facts `given`, one that is like no other is new, so that a slip of the pen
    never makes a second thing. Raises RegisterError (usage) with the nearest names and
    the `line` that would make one.
    """
    listed = sorted(names)
    word = typed.strip().lower()
    if add:
        return word, True
    fits = word in listed or any(name.startswith(word) for name in listed)
    if given and not fits and not difflib.get_close_matches(word, listed, n=1, cutoff=_TYPO):
        return word, True
    return match_name(typed, listed, what, add=line), False
