"""The leak scan: every byte that is to go is searched for everything that must not.

Each token is looked for as it is, in lower case, composed, without its spaces and hyphens,
percent-encoded, in hexadecimal, and in base64 at each of its three alignments. A short word is
looked for as a whole word and in texts only: in compressed or encoded bytes it means nothing.
"""

from __future__ import annotations

import base64
import re
import unicodedata
from collections.abc import Iterable, Iterator
from urllib.parse import quote

from msgspec import Struct

from register.transfer.masking import Tokens, fold

#: From this length on a token is looked for inside words and in encoded forms as well.
LONG = 6


class Leak(Struct, frozen=True):
    """A token found where it must not be. `form` says how it was written there."""

    token: str
    where: str
    form: str


class _Sought(Struct, frozen=True):
    token: str
    form: str
    needle: bytes


class Scanner:
    """Looks through named pieces of bytes."""

    def __init__(self, tokens: Tokens, extra: Iterable[str] = ()):
        words = tuple(dict.fromkeys((*tokens.all, *extra)))
        self._plain: list[_Sought] = []
        self._bare: list[_Sought] = []
        self._exact: list[_Sought] = []
        short = []
        for word in words:
            if len(word) >= LONG:
                self._add_long(word)
            else:
                short.append(word)
        self._short = _whole_words(short)

    def _add_long(self, word: str) -> None:
        folded = fold(word)
        for form, text in (
            ("as it is", folded),
            ("decomposed", unicodedata.normalize("NFD", folded)),
            ("percent-encoded", quote(word).lower()),
            ("escaped", word.encode("unicode_escape").decode("ascii").lower()),
            ("hexadecimal", word.encode().hex()),
            ("hexadecimal", folded.encode().hex()),
        ):
            self._plain.append(_Sought(word, form, text.encode()))
        bare = re.sub(r"[\s\-]", "", folded)
        if len(bare) >= LONG:
            self._bare.append(_Sought(word, "without spaces", bare.encode()))
        for text in {word, folded}:
            for needle in _base64_forms(text.encode()):
                self._exact.append(_Sought(word, "base64", needle))

    def scan(self, where: str, data: bytes, *, is_text: bool = True) -> Iterator[Leak]:
        """Every leak in one piece. `is_text` false: compressed or a picture's pixels."""
        folded = _fold_bytes(data)
        yield from _find(self._plain, folded, where)
        yield from _find(self._exact, data, where)
        if not is_text:
            return
        if self._bare:
            yield from _find(self._bare, re.sub(rb"[\s\-]", b"", folded), where)
        if self._short is not None:
            for match in self._short.finditer(folded.decode("utf-8", "replace")):
                yield Leak(match.group(), where, "whole word")


def _find(sought: list[_Sought], data: bytes, where: str) -> Iterator[Leak]:
    for item in sought:
        if item.needle in data:
            yield Leak(item.token, where, item.form)


def _fold_bytes(data: bytes) -> bytes:
    try:
        return fold(data.decode("utf-8")).encode()
    except UnicodeDecodeError:
        return data.lower()


def _whole_words(words: list[str]) -> re.Pattern[str] | None:
    if not words:
        return None
    parts = sorted((re.escape(fold(word)) for word in words), key=len, reverse=True)
    return re.compile(r"(?<![\w.])(?:" + "|".join(parts) + r")(?![\w.]\w|\w)")


def _base64_forms(data: bytes) -> Iterator[bytes]:
    """What a text becomes in base64 behind 0, 1 or 2 other bytes, its unsure ends cut off."""
    for shift in range(3):
        coded = base64.b64encode(b"\0" * shift + data).rstrip(b"=")
        start = (0, 2, 3)[shift]
        end = len(coded) - (1 if (shift + len(data)) % 3 else 0)
        if end - start >= LONG:
            yield coded[start:end]
