"""Every text from a record passes here before a screen or a page shows it."""

from __future__ import annotations

import re

_UNSEEN = re.compile(
    "[\x00-\x08\x0a-\x1f\x7f-\x9f\u200b\u200c\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff"
    "\ud800-\udfff\ufff9-\ufffb\ufffe\uffff]"
)


def clean_text(text: str) -> str:
    """Control, bidirectional and zero-width characters as visible \\x1b forms; tab as a space."""
    if text.isascii() and text.isprintable():
        return text
    return _UNSEEN.sub(_visible, text.replace("\t", " ").replace("\r\n", "\n")).replace("\n", " ")


def _visible(found: re.Match[str]) -> str:
    number = ord(found[0])
    if number == 10:
        return " "
    return f"\\x{number:02x}" if number < 256 else f"\\u{number:04x}"
