"""Private words where a file cannot be read: none may go missing because of a typing slip.

What stands on the disk now can be mended, so a handover waits for that. A revision of the past
cannot: what its lines say is sought as if it had been read.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from register.transfer.masking import is_telling
from register.trouble import Exit, Problem, RegisterError

#: Where everything is private, so that nothing is known of what cannot be read.
WHOLLY_PRIVATE = ("private", "stock")
#: Warnings after which not all private words are known.
_UNKNOWN = ("conflict-copy", "never-odd")
_BETWEEN = re.compile(r"[{}\[\],\"'#]|:(?:\s|$)|^\s*(?:-\s+)+|&\S+|!\S+", re.MULTILINE)


def is_wholly_private(path: str) -> bool:
    """Whether a file, or a second version of it beside it, holds private values only."""
    folder, _, name = path.rpartition("/")
    return folder == "papers" or (not folder and name.lower().startswith(WHOLLY_PRIVATE))


def refuse_unread(problems: Iterable[Problem]) -> None:
    """Raises RegisterError (REFUSED `private-unread`) where a private file cannot be read whole.

    Words in it would be neither left out nor sought. A file that holds nothing has none.
    """
    odd = tuple(
        problem
        for problem in problems
        if is_wholly_private(problem.place.file)
        and (problem.level == "error" or problem.code in _UNKNOWN)
        and problem.code != "yaml-empty"
    )
    if odd:
        first = odd[0]
        more = f"; {len(odd) - 1} more like it" if len(odd) > 1 else ""
        raise RegisterError(
            f"{first.place} cannot be read, and what is private in it could not be left out: "
            f"{first.says}{more}; nothing was written",
            mend=f"{first.mend}\ntailsheaf check   shows the line; then the handover again",
            exit_code=Exit.REFUSED,
            code="private-unread",
            problems=odd,
        )


def salvage_words(data: bytes) -> set[str]:
    """Every value and key that the lines of an unreadable text seem to hold."""
    found: set[str] = set()
    for line in data.decode("utf-8", "replace").splitlines():
        pieces = (piece.strip() for piece in _BETWEEN.split(line))
        found.update(piece for piece in pieces if piece and is_telling(piece))
    return found
