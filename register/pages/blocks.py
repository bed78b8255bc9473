"""What a page is made of, before it is a page or plain text: both say the same words."""

from __future__ import annotations

from msgspec import Struct

from register.pages.damage_svg import PageFigure

#: How a paragraph or row stands out: what stops, what asks for a look, what is said in small.
PLAIN, STOP, ATTEND, FINE = "plain", "stop", "attend", "fine"


class Words(Struct, frozen=True):
    """A paragraph."""

    text: str
    tone: str = PLAIN


class Head(Struct, frozen=True):
    """A heading inside a section."""

    text: str


class Pairs(Struct, frozen=True):
    """Short answers, each behind its name."""

    rows: tuple[tuple[str, str], ...]


class Row(Struct, frozen=True):
    """One row of a table; its tone marks the first cell."""

    cells: tuple[str, ...]
    tone: str = PLAIN


class Table(Struct, frozen=True):
    """A table. Columns whose names begin with `>` hold figures, and stand right.

    A narrow one is made for the width of a telephone: there it stays a table, where another
    becomes a card for each row.
    """

    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    narrow: bool = False


class Listed(Struct, frozen=True):
    """Items in a list."""

    items: tuple[str, ...]


class Boxes(Struct, frozen=True):
    """Things to do, each with a box to tick, under their heads; with why or how in small."""

    groups: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]


class Figure(Struct, frozen=True):
    """A drawing, and in one line what plain text has of it."""

    drawing: PageFigure
    instead: str


class Picture(Struct, frozen=True):
    """One photo with its caption."""

    data: bytes
    caption: str


class Pictures(Struct, frozen=True):
    """Photos, several in a row where there is room."""

    shown: tuple[Picture, ...]


Block = Words | Head | Pairs | Table | Listed | Boxes | Figure | Pictures


class Section(Struct, frozen=True):
    """A part of the page: its anchor, its title, and the answer in one line."""

    anchor: str
    title: str
    answer: str
    blocks: tuple[Block, ...]


class Reader(Struct, frozen=True):
    """Somebody who looks for something: what they ask, and the anchors that answer."""

    who: str
    asks: tuple[tuple[str, str], ...]


class Document(Struct, frozen=True):
    """The whole: a head, the first page, who finds what where, and the sections."""

    title: str
    under: str
    key: Pairs
    first: tuple[Section, ...]
    readers: tuple[Reader, ...]
    sections: tuple[Section, ...]
    foot: tuple[str, ...]
