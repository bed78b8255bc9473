"""What a report is made of: chapters of words, tables and places for plots."""

from __future__ import annotations

from msgspec import Struct

from register.pages.blocks import Table, Words
from register.views.trend import TrendLine


class Plot(Struct, frozen=True):
    """A place for a plot: which, what it shows, and of which series, if of one."""

    kind: str
    title: str
    note: str = ""
    line: TrendLine | None = None


Part = Words | Table | Plot


class Chapter(Struct, frozen=True):
    """A section of the report: its anchor, title, the answer in one line, and its parts."""

    anchor: str
    title: str
    answer: str
    parts: tuple[Part, ...]
