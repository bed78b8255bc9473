"""What must not be found in anything that goes: private values, and the names of other things.

Free text is masked word by word; structured fields that are private never get so far, because
only fields on the allow-list do.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping

from msgspec import Struct

from register.text.nodes import Plain

MASK = "[left out]"
OTHER = "another aircraft"
#: A value shorter than this, or a bare number of fewer digits, says nothing by itself.
SHORTEST = 3
SHORTEST_NUMBER = 4
#: Keys of any record whose values are the owner's own.
PRIVATE_KEYS = frozenset(
    (
        "cost", "costs", "price", "prices", "paid", "supplier", "suppliers", "shop", "account",
        "order", "order_number", "invoice", "site", "where", "location", "address", "phone",
        "email", "gps", "private", "private_note", "insured_for", "value_estimate",
    )
)  # fmt: skip
_MAIL = re.compile(r"[\w.+-]+@[\w-]+(?:\.[\w-]+)+")
#: Begins with + or 0, as numbers are dialled; a date does not.
_PHONE = re.compile(r"(?<![\w.+])(?:\+\d|0\d)(?:[ ()/-]?\d){6,13}(?![\w.])")
_COORDINATES = re.compile(r"(?<![\w.])-?\d{1,2}\.\d{4,}\s*[,;/ ]\s*-?\d{1,3}\.\d{4,}(?![\w.])")


class Tokens(Struct, frozen=True):
    """Words that must not go: private values, and other aircraft by name, title or mark."""

    private: tuple[str, ...]
    others: tuple[str, ...]

    @property
    def all(self) -> tuple[str, ...]:
        """Both, without doubles."""
        return tuple(dict.fromkeys((*self.private, *self.others)))


def collect_private(data: Plain, found: set[str]) -> None:
    """Every value in a mapping that is private as a whole (private.yaml), keys included."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            if is_telling(str(key)):
                found.add(str(key))
            collect_private(value, found)
    elif isinstance(data, list):
        for item in data:
            collect_private(item, found)
    elif data is not None and not isinstance(data, bool) and is_telling(str(data)):
        found.add(str(data).strip())


def collect_marked(data: Plain, found: set[str]) -> None:
    """The values under keys that are private wherever they stand."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            if str(key).lower() in PRIVATE_KEYS:
                collect_private(value, found)
            else:
                collect_marked(value, found)
    elif isinstance(data, list):
        for item in data:
            collect_marked(item, found)


def is_telling(text: str) -> bool:
    """Whether a value is long enough to be looked for."""
    word = text.strip()
    if re.fullmatch(r"[\d.,:/ -]*", word):
        return sum(char.isdigit() for char in word) >= SHORTEST_NUMBER
    return len(word) >= SHORTEST


def make_tokens(private: Iterable[str], others: Iterable[str], kept: Iterable[str]) -> Tokens:
    """Tokens without the words that belong to the aircraft itself."""
    own = {fold(word) for word in kept}
    return Tokens(
        tuple(sorted({word for word in private if fold(word) not in own}, key=_longest)),
        tuple(sorted({word for word in others if fold(word) not in own}, key=_longest)),
    )


def _longest(word: str) -> tuple[int, str]:
    return -len(word), word


def fold(text: str) -> str:
    """A text as it is compared: composed, lower case."""
    return unicodedata.normalize("NFC", text).casefold()


class Masker:
    """Masks texts. `masked` counts how often each kind of thing was found."""

    def __init__(self, tokens: Tokens):
        self.tokens = tokens
        self.masked = 0
        self._private = _pattern(tokens.private)
        self._others = _pattern(tokens.others)

    def mask(self, text: str) -> str:
        """The text without what must not go."""
        result = unicodedata.normalize("NFC", text)
        for pattern, word in (
            (self._private, MASK),
            (_MAIL, MASK),
            (_COORDINATES, MASK),
            (_PHONE, MASK),
            (self._others, OTHER),
        ):
            if pattern is not None:
                result, count = pattern.subn(word, result)
                self.masked += count
        return text if result == unicodedata.normalize("NFC", text) else result


def _pattern(words: Iterable[str]) -> re.Pattern[str] | None:
    """Whole words, however they are spaced, hyphenated or written in capitals."""
    parts = []
    for word in words:
        pieces = [re.escape(piece) for piece in re.split(r"[\s\-]+", word) if piece]
        if pieces:
            parts.append(r"[\s\-]*".join(pieces))
    if not parts:
        return None
    return re.compile(r"(?<!\w)(?:" + "|".join(parts) + r")(?!\w)", re.IGNORECASE)
