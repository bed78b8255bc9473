"""A screen before it is drawn: titles, lines and tables, each piece with a meaning.

Meanings, not colours, are chosen here; the words alone must carry every state.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from msgspec import Struct

Meaning = Literal[
    "plain", "strong", "faint", "stop", "limit", "attend", "unsure", "well", "heading", "command"
]


class Span(Struct, frozen=True):
    """Some words with one meaning."""

    text: str
    meaning: Meaning = "plain"


Words: TypeAlias = "str | Span | Sequence[str | Span]"


def spans_of(words: Words) -> tuple[Span, ...]:
    """Any words as spans."""
    if isinstance(words, str):
        return (Span(words),)
    if isinstance(words, Span):
        return (words,)
    return tuple(item if isinstance(item, Span) else Span(item) for item in words)


def text_of(words: Words) -> str:
    """The bare text."""
    return "".join(span.text for span in spans_of(words))


class Title(Struct, frozen=True):
    """The first line: what this is, and of which day."""

    left: Words
    right: Words = ""


class Line(Struct, frozen=True):
    """One line of words; wrapped rows stand `hang` columns further in than `indent`."""

    words: Words
    indent: int = 0
    hang: int = 0


class Gap(Struct, frozen=True):
    """An empty line."""


class Column(Struct, frozen=True):
    """A column of a table. The one `flexible` column takes what width is left and wraps."""

    head: str
    right: bool = False
    flexible: bool = False


class Table(Struct, frozen=True):
    """Rows of words under heads. A row of one cell is a heading over those that follow."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Words, ...], ...]
    indent: int = 0
    heads: bool = True


Block: TypeAlias = Title | Line | Gap | Table


@dataclass
class Screen:
    """Blocks in order."""

    blocks: list[Block] = field(default_factory=list)

    def title(self, left: Words, right: Words = "") -> None:
        """Add a title."""
        self.blocks.append(Title(left, right))

    def line(self, words: Words, indent: int = 0, hang: int = 0) -> None:
        """Add a line."""
        self.blocks.append(Line(words, indent, hang))

    def gap(self) -> None:
        """Add an empty line, never two."""
        if self.blocks and not isinstance(self.blocks[-1], Gap):
            self.blocks.append(Gap())

    def table(
        self,
        columns: Sequence[Column],
        rows: Sequence[Sequence[Words]],
        *,
        indent: int = 0,
        heads: bool = True,
    ) -> None:
        """Add a table, unless it has no rows."""
        if rows:
            self.blocks.append(
                Table(tuple(columns), tuple(tuple(row) for row in rows), indent, heads)
            )
