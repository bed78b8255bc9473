"""Text on its way into a page: cleaned of what no reader can see, then escaped."""

from __future__ import annotations

import re
import unicodedata

from register.text.unseen import clean_text

_ESCAPES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}
_SPECIAL = re.compile("[&<>\"']")


def clean_markup(text: str) -> str:
    """Words of a record for a page: nothing hidden, nothing that could be markup."""
    return _SPECIAL.sub(lambda found: _ESCAPES[found[0]], clean_text(text))


def widths_of(text: str) -> float:
    """How wide a text is, in widths of an ordinary letter: capitals and wide signs count more."""
    total = 0.0
    for char in text:
        if unicodedata.combining(char):
            continue
        if unicodedata.east_asian_width(char) in "WF":
            total += 1.9
        elif char in "mwMW@%—":
            total += 1.55
        elif char.isupper():
            total += 1.15
        else:
            total += 0.55 if char in "iljt.,:;'|!() " else 1.0
    return total


def wrap_widths(text: str, width: float, most: int) -> list[str]:
    """Words in at most `most` lines no wider than `width`; what is cut off ends in …"""
    lines: list[str] = [""]
    for word in _short_words(text.split(" "), width):
        longer = f"{lines[-1]} {word}".strip()
        if widths_of(longer) <= width:
            lines[-1] = longer
        elif len(lines) == most:
            lines[-1] = _cut(lines[-1] + " …", width)
            return lines
        else:
            lines.append(word)
    return [line for line in lines if line]


def _short_words(words: list[str], width: float) -> list[str]:
    """Words longer than a line broken into pieces."""
    found = []
    for word in words:
        while widths_of(word) > width:
            head = _head(word, width)
            found.append(head)
            word = word[len(head) :]
        found.append(word)
    return found


def _head(word: str, width: float) -> str:
    end = 1
    while end < len(word) and widths_of(word[: end + 1]) <= width:
        end += 1
    return word[:end]


def _cut(line: str, width: float) -> str:
    while widths_of(line) > width and len(line) > 2:
        line = line[:-3].rstrip() + " …"
    return line
