"""Values on one line for the fast reader: quoted texts, words, and lists and mappings
between brackets, also inside each other.

Only forms that every YAML reader takes alike are read; all others raise
`DeclineError`, and the careful reader judges.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from register.text.nodes import Entry, Mapping, Node, Scalar, Sequence
from register.trouble import Place

# No character class here reaches beyond ASCII: such a class takes milliseconds to
# compile. Characters that may not stand in a record are looked for once, in the text.
_ESCAPE = r'\\(?:["\\/bfnrt]|u(?![dD][89a-fA-F])[0-9a-fA-F]{4})'
QUOTED = rf'"(?:[^"\\\n\t]++|{_ESCAPE})*"'
_SHORT_QUOTED = rf'"(?:[^"\\\n\t]|{_ESCAPE}){{0,150}}"'
KEY = rf"(?:[A-Za-z_][\w.-]{{0,150}}+|{_SHORT_QUOTED})"
"""A key, less its colon: far shorter than the 1,024 characters YAML allows."""
WORDS = r"-?\w[\w.+/()',-]*+(?:\x20[\w.+/()',-]++)*"
"""A plain value of a whole line: words with one space between."""
FLOW = rf"[\[{{](?:[\w\x20.+/(),:\[\]{{}}-]++|{QUOTED})*"
"""Whatever may be a value between brackets, spaces after it included; `read_flow` judges."""

_FLOW_WORDS = r"-?\w[\w.+/()-]*+(?:\x20[\w.+/()-]++)*"
# One match is (key, text or word, mark with the spaces around it). All that is left of
# another form goes without a group, so that hostile text costs one look.
_TOKEN = re.compile(
    rf"(?:({KEY}):\x20)?({QUOTED}|{_FLOW_WORDS})?(\x20*+[\[\]{{}},]\x20*+)|[\s\S]++"
)
_NUMBERS = re.compile(r"\[-?\w[\w.+-]*+(?:,\x20-?\w[\w.+-]*+)*\]")
_ONE_ESCAPE = re.compile(_ESCAPE)
_MEANS = {"b": "\b", "f": "\f", "n": "\n", "r": "\r", "t": "\t"}

_Token = tuple[str, str, str]
_NO_TOKEN: _Token = ("", "", "")


class DeclineError(Exception):
    """Not a form the fast reader is sure of: the careful reader judges."""


def read_flow(
    file: str, line: int, column: int, written: str, *, room: int, exact: bool
) -> Mapping | Sequence:
    """The node of a value between brackets; `column` is counted from 1.

    `room` is how many levels may still stand inside each other, `exact` as in
    `check_keys`. Raises `DeclineError`.
    """
    if room and _NUMBERS.fullmatch(written):
        return _read_numbers(file, line, column, written)
    tokens: list[_Token] = _TOKEN.findall(written)
    reader = _Flow(file, line, column, iter(tokens), exact=exact)
    opening = next(reader.tokens, _NO_TOKEN)
    node = reader.nested(column, opening[2], room)
    if opening[0] or opening[1] or next(reader.tokens, None) is not None:
        raise DeclineError
    return node


def _read_numbers(file: str, line: int, column: int, written: str) -> Sequence:
    """A list of numbers or single words: what a day's flights hold, so it is read faster."""
    new, at = tuple.__new__, column + 1
    items: list[Node] = []
    for word in written[1:-1].split(", "):
        end = at + len(word)
        items.append(new(Scalar, (new(Place, (file, line, at, end)), word, True)))
        at = end + 2
    return Sequence(new(Place, (file, line, column, at - 1)), tuple(items))


class _Flow:
    """Folds the tokens of one line into nodes. `at` is the column of the next token."""

    __slots__ = ("at", "exact", "file", "line", "tokens")

    def __init__(
        self, file: str, line: int, column: int, tokens: Iterator[_Token], *, exact: bool
    ) -> None:
        self.file = file
        self.line = line
        self.at = column
        self.tokens = tokens
        self.exact = exact

    def nested(self, column: int, mark: str, room: int) -> Mapping | Sequence:
        """The list or mapping that `mark` opens at `column`."""
        if not room:
            raise DeclineError
        self.at = column + len(mark)
        if mark[:1] == "{":
            return self._mapping(column, room - 1)
        if mark[:1] == "[":
            return self._sequence(column, room - 1)
        raise DeclineError

    def _mapping(self, column: int, room: int) -> Mapping:
        file, line, new = self.file, self.line, tuple.__new__
        entries: list[Entry] = []
        for key, word, mark in self.tokens:
            start = self.at
            if key:
                after = start + len(key)
                node, mark = self._value(after + 2, word, mark, room)
                place = new(Place, (file, line, start, after))
                entries.append(new(Entry, (key if key[0] != '"' else unquote(key), place, node)))
            elif word or entries or mark.strip() != "}":
                raise DeclineError
            else:
                self.at = start + len(mark)
            sign = mark.strip()
            if sign == "}":
                check_keys(entries, exact=self.exact)
                return Mapping(self._place(column, mark), tuple(entries))
            if sign != ",":
                raise DeclineError
        raise DeclineError

    def _sequence(self, column: int, room: int) -> Sequence:
        items: list[Node] = []
        for key, word, mark in self.tokens:
            if key:
                raise DeclineError
            sign = mark.strip()
            if sign == "]" and not word and not items:
                self.at += len(mark)
            else:
                node, mark = self._value(self.at, word, mark, room)
                items.append(node)
                sign = mark.strip()
            if sign == "]":
                return Sequence(self._place(column, mark), tuple(items))
            if sign != ",":
                raise DeclineError
        raise DeclineError

    def _value(self, column: int, word: str, mark: str, room: int) -> tuple[Node, str]:
        """A value and the mark after it; `at` is then the column after that mark."""
        if not word:
            node: Node = self.nested(column, mark, room)
            key, word, mark = next(self.tokens, _NO_TOKEN)
            if key or word:
                raise DeclineError
            self.at += len(mark)
            return node, mark
        new, end = tuple.__new__, column + len(word)
        place = new(Place, (self.file, self.line, column, end))
        self.at = end + len(mark)
        if word[0] == '"':
            return new(Scalar, (place, unquote(word), False)), mark
        return new(Scalar, (place, word, True)), mark

    def _place(self, column: int, mark: str) -> Place:
        """From the opening bracket to the one in `mark`, which was just read."""
        end = self.at - len(mark.lstrip()) + 1
        return tuple.__new__(Place, (self.file, self.line, column, end))


def check_keys(entries: list[Entry], *, exact: bool) -> None:
    """Raise `DeclineError` when a key stands twice.

    `exact`: two keys are the same only when they are equal character by character.
    """
    names = {entry.key for entry in entries}
    if not exact:
        names = {unicodedata.normalize("NFC", name) for name in names}
    if len(names) != len(entries):
        raise DeclineError


def unquote(written: str) -> str:
    """The text between double quotes, escapes resolved."""
    inner = written[1:-1]
    return _ONE_ESCAPE.sub(_meaning, inner) if "\\" in inner else inner


def _meaning(match: re.Match[str]) -> str:
    escape = match.group()
    if escape[1] == "u":
        return chr(int(escape[2:], 16))
    return _MEANS.get(escape[1], escape[1])
