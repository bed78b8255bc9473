"""Names as typed: exact, else by unambiguous prefix, else the nearest are offered."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import Protocol

from register.records.scalars import NAME_PATTERN
from register.storage.names import is_reserved
from register.trouble import Exit, RegisterError

#: Names are offered that are as near as "tug" is to "tag"; what is further off is no slip.
_NEAR = 0.65
#: A word of so many letters is looked for inside names as well.
_HELD = 3


def match_name(typed: str, names: Iterable[str], what: str, *, add: str = "") -> str:
    """The one name meant. `what` is a word for it; `add` is the line that would make one."""
    word = typed.strip().lower()
    listed = sorted(names)
    if word in listed:
        return word
    starting = [name for name in listed if word and name.startswith(word)]
    if len(starting) == 1:
        return starting[0]
    if len(starting) > 1:
        raise RegisterError(
            f"{typed!r} could be {_join(starting)}",
            mend="type a letter or two more",
            code=f"{what.replace(' ', '-')}-ambiguous",
        )
    holding = [name for name in listed if len(word) >= _HELD and word in name]
    near = holding or difflib.get_close_matches(word, listed, n=3, cutoff=_NEAR)
    if near:
        mend = f"did you mean {_join(near)}?"
    elif listed:
        mend = f"known: {_join(listed)}"
    else:
        mend = add or f"there is no {what} yet"
    if add and listed:
        mend += f"  Or: {add}"
    raise RegisterError(
        f"no {what} is called {typed[:60]!r}", mend=mend, code=f"{what.replace(' ', '-')}-unknown"
    )


class Known(Protocol):
    """A thing that may have borne other names with owners before."""

    @property
    def aliases(self) -> tuple[str, ...]:
        """Those names."""


def read_alias(typed: str, *shelves: Mapping[str, Known]) -> str:
    """The name here of the one thing that once bore the name typed; else what was typed.

    A name that something bears here, or begins with, is meant before any alias.
    """
    word = typed.strip().lower()
    if not word or any(word in shelf for shelf in shelves):
        return typed
    found = {name for shelf in shelves for name, file in shelf.items() if word in file.aliases}
    return found.pop() if len(found) == 1 else typed


def check_new_name(typed: str, taken: Iterable[str], what: str) -> str:
    """A new name, lower-cased: a-z, 0-9 and -, not reserved by a file system, not taken."""
    word = typed.strip().lower()
    if not NAME_PATTERN.fullmatch(word) or is_reserved(word):
        raise RegisterError(
            f"{typed[:60]!r} cannot be the name of {_with_article(what)}",
            mend="use a-z, 0-9 and -, at most 63 characters, not con, nul or the like",
            code="name-wrong",
        )
    if word in set(taken):
        raise RegisterError(
            f"there is already {_with_article(what)} called {word}",
            mend="choose another name",
            code="name-taken",
            exit_code=Exit.REFUSED,
        )
    return word


def _with_article(what: str) -> str:
    return f"{'an' if what[:1] in 'aeio' else 'a'} {what}"


def _join(words: list[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    shown = words[:6]
    more = f" (and {len(words) - 6} more)" if len(words) > 6 else ""
    return ", ".join(shown[:-1]) + " or " + shown[-1] + more
