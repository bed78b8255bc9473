"""Folding one line of an acknowledgement, so that what is to be typed can still be copied."""

from __future__ import annotations

import re
from collections.abc import Iterator

from cli.render.layout import width_of

#: A line to type: it ends where words go on, which is told by two spaces or by a sign.
_COMMAND = re.compile(r"(?<!\S)\(?(?:tailsheaf [a-z]|--[a-z])(?:(?! {2,}|; |\)| , |, or ).)*")
#: Words between which a line may be broken, each with the spaces before it.
_WORD = re.compile(r" *[^ ]+")


def fold_line(lead: str, text: str, width: int, hang: int) -> Iterator[str]:
    """The rows of a line that begins with `lead`; those after the first stand `hang` in.

    A command stays whole: it goes on a row of its own where it does not fit, and where it is
    wider than any row it runs over, because a broken one cannot be copied.
    """
    if width_of(lead) + width_of(text) <= width:
        yield lead + text
        return
    row, used = lead, False
    for piece in _pieces(text):
        if used and width_of(row) + width_of(piece) > width:
            yield row.rstrip()
            row, piece = " " * hang, piece.lstrip()
        row += piece
        used = True
    yield row.rstrip()


def _pieces(text: str) -> Iterator[str]:
    at = 0
    for found in _COMMAND.finditer(text):
        # A bracket that touches the command goes with it, and so does the gap before.
        before = text[at : found.start()]
        start = at + len(before[: before.rfind(" ") + 1].rstrip(" "))
        yield from _words(text[at:start])
        end = found.start() + len(found[0].rstrip())
        while end < len(text) and text[end] != " ":
            end += 1
        yield text[start:end]
        at = end
    yield from _words(text[at:])


def _words(text: str) -> Iterator[str]:
    for found in _WORD.finditer(text):
        yield found[0]
