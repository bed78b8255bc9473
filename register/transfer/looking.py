"""Words that are left in what goes and look private: the owner is asked about them.

A dealer's short name, a street, an amount without its currency: parts of what private.yaml holds
whole. They may be ordinary words as well, so they are shown and not masked.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from register.transfer.masking import Tokens, fold, is_number
from register.transfer.rewriting import FreeText
from register.transfer.vocabulary import program_words

#: Letters that say anything at least.
SHORTEST = 3
_WORD = re.compile(r"[^\W\d_]+(?:['\u2019][^\W\d_]+)*")


class Look(Struct, frozen=True):
    """A word left in texts that looks private: why, and in how many of them it stands."""

    word: str
    why: str
    texts: int


def find_looks(texts: Sequence[FreeText], tokens: Tokens) -> tuple[Look, ...]:
    """Every such word, the most frequent first."""
    spared = {fold(word) for word in (*tokens.unheeded, *_words(tokens.own))}
    asked = {word: why for word, why in _candidates(tokens) if fold(word) not in spared}
    found: list[Look] = []
    for word, why in asked.items():
        pattern = look_pattern(word)
        count = sum(pattern.search(text.text) is not None for text in texts)
        if count:
            found.append(Look(word, why, count))
    return tuple(sorted(found, key=lambda look: (-look.texts, look.word)))


def look_pattern(word: str) -> re.Pattern[str]:
    """How a word that looks private stands in a text: whole, as written or in capitals."""
    if is_number(word):
        return re.compile(rf"(?<![\w.,:/-]){re.escape(word)}(?![\w:/-]|[.,]\d)")
    forms = "|".join(re.escape(form) for form in sorted({word, word.upper()}))
    return re.compile(rf"(?<!\w)(?:{forms})(?!\w)")


def _candidates(tokens: Tokens) -> Iterator[tuple[str, str]]:
    """Single words with a capital, and figures, of what is private as a whole; and names in
    small letters. What the program says itself tells nothing."""
    said = program_words()
    for value in tokens.private:
        text = unicodedata.normalize("NFC", value)
        for word in _WORD.findall(text):
            if len(word) >= SHORTEST and not word.islower() and fold(word) not in said:
                yield word, "of private.yaml, a paper or the like"
    for figure in tokens.figures:
        yield figure, "an amount of private.yaml"
    for name in tokens.names:
        if not name.islower() and fold(name) not in said:
            yield name.lower(), "a name of private.yaml in small letters"


def _words(names: Iterable[str]) -> Iterator[str]:
    for name in names:
        yield from _WORD.findall(name)


def never_line(never: Iterable[str], looks: Iterable[Look]) -> str:
    """The line of private.yaml that leaves these words out, with those that stand there."""
    words = dict.fromkeys((*never, *(look.word for look in looks)))
    listed = ", ".join('"' + word.replace("\\", "\\\\").replace('"', '\\"') + '"' for word in words)
    return f"never: [{listed}]"
