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


class More(Struct, frozen=True):
    """Something said in small ("" for nothing), and the line that tells more of it.

    The line is for the owner's screen: whoever is handed the page has no use for it.
    """

    text: str
    line: str

    @property
    def whole(self) -> str:
        """Both, for a screen."""
        return f"{self.text}: {self.line}" if self.text else self.line


Part = Words | Table | Plot | More


class Chapter(Struct, frozen=True):
    """A section of the report: its anchor, title, the answer in one line, and its parts.

    `findings` are what the answer comes to, one by one, where there are several.
    """

    anchor: str
    title: str
    answer: str
    parts: tuple[Part, ...]
    findings: tuple[str, ...] = ()
