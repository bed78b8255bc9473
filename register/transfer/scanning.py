"""The leak scan: every byte that is to go is searched for everything that must not.

Each token is looked for as it is, in lower case, composed and decomposed, with other or no
spaces and hyphens, percent-encoded, escaped, in hexadecimal, and in base64 at each of its
three alignments. A short word is looked for as a whole word and in texts only: in compressed
or encoded bytes it means nothing.
"""

from __future__ import annotations

import base64
import html
import re
import unicodedata
from collections.abc import Iterable, Iterator
from urllib.parse import quote

from msgspec import Struct

from register.transfer.masking import (
    LONG,
    MONEY,
    Tokens,
    fold,
    is_number,
    joined_words,
    name_patterns,
    pattern_of,
    token_patterns,
)

#: What a piece is: a record, other text (of the program's making), or no text at all.
RECORD, TEXT, BYTES = "record", "text", "bytes"
#: A quoted value of a record, as the program writes it.
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"')


class Leak(Struct, frozen=True):
    """A token found where it must not be. `form` says how it was written there."""

    token: str
    where: str
    form: str


class _Sought(Struct, frozen=True):
    token: str
    form: str
    needle: bytes


class _Short(Struct, frozen=True):
    """A whole word to look for, and a run of signs that stands wherever it does."""

    needle: str
    pattern: re.Pattern[str]


class Scanner:
    """Looks through named pieces of bytes."""

    def __init__(self, tokens: Tokens, extra: Iterable[str] = ()):
        words = tuple(dict.fromkeys((*tokens.all, *extra)))
        self._plain: list[_Sought] = []
        self._bare: list[_Sought] = []
        self._exact: list[_Sought] = []
        self._own = [word.encode() for word in sorted(tokens.own, key=len, reverse=True)]
        self._short: list[_Short] = []
        quoted: list[str] = []
        for word in words:
            strength = tokens.strength(word)
            if strength == "strong":
                self._add_long(word)
                if not is_number(word) and re.search(r"[\s\-]", word):
                    first = max(re.split(r"[\s\-]+", fold(word)), key=len)
                    self._add_short(first, joined_words(fold(word)))
            elif strength == "short":
                whole = fold(word)
                self._add_short(whole, rf"(?<![\w.]){re.escape(whole)}(?![\w.]\w|\w)")
            else:
                quoted.extend(token_patterns(tokens, word))
        plain = [word for word in tokens.names if fold(word) not in tokens.common]
        both = [word for word in tokens.names if fold(word) in tokens.common]
        quoted.extend((*name_patterns(both, tokens.common), MONEY.pattern))
        self._names = pattern_of(tokens, name_patterns(plain, tokens.common))
        self._quoted = pattern_of(tokens, quoted)

    def _add_short(self, needle: str, pattern: str) -> None:
        self._short.append(_Short(_undotted(needle), re.compile(f"(?i:{pattern})")))

    def _add_long(self, word: str) -> None:
        folded = fold(word)
        for form, text in (
            ("as it is", folded),
            ("decomposed", unicodedata.normalize("NFD", folded)),
            ("percent-encoded", quote(word).lower()),
            ("escaped", word.encode("unicode_escape").decode("ascii").lower()),
            ("escaped", html.escape(folded)),
            ("hexadecimal", word.encode().hex()),
            ("hexadecimal", folded.encode().hex()),
        ):
            sought = _Sought(word, form, text.encode())
            if all(sought.needle != other.needle for other in self._plain[-7:]):
                self._plain.append(sought)
        bare = re.sub(r"[\s\-]", "", folded)
        if is_number(word) and len(bare) >= LONG:
            self._bare.append(_Sought(word, "without spaces", bare.encode()))
        for text in {word, folded}:
            for needle in _base64_forms(text.encode()):
                self._exact.append(_Sought(word, "base64", needle))

    def scan(self, where: str, data: bytes, what: str = TEXT) -> Iterator[Leak]:
        """Every leak in one piece."""
        folded = self._without_own(_fold_bytes(data))
        yield from _find(self._plain, folded, where)
        yield from _find(self._exact, data, where)
        if what == BYTES:
            return
        if self._bare:
            yield from _find(self._bare, re.sub(rb"[ \t\-]", b"", folded), where)
        if self._short:
            words = folded.decode("utf-8", "replace")
            # Nearly all are nowhere, and a run of signs is looked for much faster than a word.
            undotted = _undotted(words)
            for short in self._short:
                if short.needle in undotted:
                    for match in short.pattern.finditer(words):
                        yield Leak(match.group(), where, "whole word")
        text = data.decode("utf-8", "replace")
        yield from _find_words(self._names, text, where, "word of a name")
        if what == RECORD:
            for value in _QUOTED.findall(text):
                yield from _find_words(self._quoted, value[1:-1], where, "word of a text")

    def scan_all(self, pieces: Iterable[tuple[str, bytes, str]]) -> list[Leak]:
        """Every leak in many pieces, of which most lines are alike."""
        lines: dict[str, set[bytes]] = {}
        kept: list[tuple[str, bytes, str]] = []
        for where, data, what in pieces:
            kept.append((where, data, what))
            lines.setdefault(what, set()).update(data.split(b"\n"))
        leaks: list[Leak] = []
        for what, some in lines.items():
            together = b"\n".join(sorted(some))
            if next(self.scan("", together, what), None) is not None:
                for where, data, kind in kept:
                    if kind == what:
                        leaks.extend(self.scan(where, data, kind))
        return leaks

    def is_clean(self, text: str) -> bool:
        """Whether nothing would be found in a text that has yet to be written."""
        quoted = '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'
        return next(self.scan("", quoted.encode("utf-8", "replace"), RECORD), None) is None

    def _without_own(self, data: bytes) -> bytes:
        for word in self._own:
            data = data.replace(word, b"\0")
        return data


def _undotted(text: str) -> str:
    """A folded text in which no pattern that disregards case finds an i that is not there."""
    return text.replace("\N{LATIN SMALL LETTER DOTLESS I}", "i")


def _find_words(
    pattern: re.Pattern[str] | None, text: str, where: str, form: str
) -> Iterator[Leak]:
    for match in pattern.finditer(text) if pattern is not None else ():
        if match.lastgroup != "own":
            yield Leak(match.group(), where, form)


def _find(sought: list[_Sought], data: bytes, where: str) -> Iterator[Leak]:
    for item in sought:
        if item.needle in data:
            yield Leak(item.token, where, item.form)


def _fold_bytes(data: bytes) -> bytes:
    try:
        return fold(data.decode("utf-8")).encode()
    except UnicodeDecodeError:
        return data.lower()


def _base64_forms(data: bytes) -> Iterator[bytes]:
    """What a text becomes in base64 behind 0, 1 or 2 other bytes, its unsure ends cut off."""
    for shift in range(3):
        coded = base64.b64encode(b"\0" * shift + data).rstrip(b"=")
        start = (0, 2, 3)[shift]
        end = len(coded) - (1 if (shift + len(data)) % 3 else 0)
        if end - start >= LONG:
            yield coded[start:end]
