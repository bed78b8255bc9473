"""The two kinds of trouble, never mixed.

Wrong data is a `Problem`: a value, collected, all of them shown at once.
Being unable to go on is a `RegisterError`: raised once, caught once, at the edge.
"""

from __future__ import annotations

import enum
from typing import Literal, NamedTuple

from msgspec import Struct

Level = Literal["error", "warning"]


class Place(NamedTuple):
    """Where something stands: fleet-relative path with `/`, line and column from 1."""

    file: str
    line: int = 1
    column: int = 1
    end_column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class Problem(Struct, frozen=True):
    """Something wrong with the data, with its place and the line that mends it.

    `code` is a stable kebab-case word. `mend` is required: what to type, in the
    imperative, with a ready line where there is one.
    """

    place: Place
    code: str
    says: str
    mend: str
    level: Level = "error"
    related: tuple[Place, ...] = ()

    @property
    def order(self) -> tuple[str, int, int, str]:
        """Sort key: by place, then by code."""
        return (self.place.file, self.place.line, self.place.column, self.code)


class Exit(enum.IntEnum):
    """Exit codes of the command line."""

    ANSWERED = 0
    RECORDS = 1
    USAGE = 2
    CANNOT_RUN = 3
    REFUSED = 4
    BUG = 70
    INTERRUPTED = 130


class RegisterError(Exception):
    """The command cannot go on. Carries an exit code and the way out."""

    def __init__(
        self,
        says: str,
        *,
        mend: str,
        exit_code: Exit = Exit.USAGE,
        code: str = "cannot",
        problems: tuple[Problem, ...] = (),
    ) -> None:
        super().__init__(says)
        self.says = says
        self.mend = mend
        self.exit_code = exit_code
        self.code = code
        self.problems = problems
