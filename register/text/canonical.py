"""The fast reader of the canonical form: one regular expression, no YAML library.

It accepts a narrow form whose meaning is the same for every YAML reader, and
declines (None) on the least doubt; the careful reader then judges. What it accepts
it reads to the same nodes in the same places: a property test holds that.

Accepted: block mappings and lists indented by two, one value to a line; values in
double quotes with simple escapes, plain words and numbers, `[]`, `{}` and one-line
lists of those; blank lines and lines that hold only a comment.
"""

from __future__ import annotations

import re
import unicodedata

from register.text.limits import MAX_DEPTH, MAX_NODES
from register.text.nodes import Entry, Mapping, Node, Scalar, Sequence
from register.trouble import Place

# Printable characters less quote and backslash: the complement of guard.FORBIDDEN.
_SIGNS = r"\x20\x21\x23-\x5b\x5d-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd"
_SIGNS += r"\U00010000-\U0010ffff"
_ESCAPE = r'\\(?:["\\/bfnrt]|u(?![dD][89a-fA-F])[0-9a-fA-F]{4})'
_QUOTED = rf'"(?:[{_SIGNS}]++|{_ESCAPE})*+"'
_SHORT_QUOTED = rf'"(?:[{_SIGNS}]|{_ESCAPE}){{0,150}}+"'
_KEY = rf"(?:[A-Za-z_][\w.-]{{0,150}}+|{_SHORT_QUOTED})"
_WORD = r"-?\w[\w.+/-]*+"
_WORDS = r"-?\w[\w.+/()',-]*+(?:\x20[\w.+/()',-]++)*+"
_LIST = rf"\[(?:(?:{_WORD}|{_QUOTED})(?:,\x20(?:{_WORD}|{_QUOTED}))*+)?\]"
_END = r"(?:\n|\Z)"

# One match is one line: (indent, dash, key, value, ""). A line of another form takes
# all that is left into the last group, so a hostile file costs one look.
_ROW = re.compile(
    rf"(\x20*+)(-(?:\x20|(?=\n|\Z)))?(?:({_KEY}):(?:\x20|(?=\n|\Z)))?"
    rf"({_QUOTED}|{_WORDS}|{_LIST}|\{{\}})?{_END}"
    rf'|\x20*+#[{_SIGNS}"\\\t]*+{_END}'
    r"|([\s\S]++)"
)
_ITEM = re.compile(rf"{_WORD}|{_QUOTED}")
_ONE_ESCAPE = re.compile(_ESCAPE)
_MEANS = {"b": "\b", "f": "\f", "n": "\n", "r": "\r", "t": "\t"}

# (key, its place, line and column of an empty value); a dash has the key "".
_Pending = tuple[str, Place, int, int]
_NOWHERE = Place("")
_Row = tuple[str, str, str, str, str]


class _DeclineError(Exception):
    """Not the canonical form: the careful reader judges."""


def read_canonical(file: str, text: str) -> Mapping | None:
    """The tree of a text in canonical form, or None for every other text.

    `text` has LF line ends and no byte order mark; its size was checked.
    """
    rows: list[_Row] = _ROW.findall(text)
    if len(rows) > 1 and rows[-2][4]:
        return None
    # No line makes more than four nodes, a list none without a comma or a line.
    if len(rows) * 4 > MAX_NODES or len(rows) * 4 + text.count(",") > MAX_NODES:
        return None
    try:
        return _Reader(file, exact=text.isascii() and "\\" not in text).read(rows)
    except _DeclineError:
        return None


class _Frame:
    """A mapping or list still open: its column from 0, and the key or dash without a value."""

    __slots__ = ("column", "entries", "is_list", "items", "line", "pending")

    def __init__(self, line: int, column: int, *, is_list: bool) -> None:
        self.line = line
        self.column = column
        self.is_list = is_list
        self.entries: list[Entry] = []
        self.items: list[Node] = []
        self.pending: _Pending | None = None


class _Reader:
    """Folds the lines of one file into nodes."""

    __slots__ = ("exact", "file", "frames")

    def __init__(self, file: str, *, exact: bool) -> None:
        self.file = file
        # Whether two keys are the same only when they are equal character by character.
        self.exact = exact
        self.frames = [_Frame(1, 0, is_list=False)]

    def read(self, rows: list[_Row]) -> Mapping | None:
        """The root mapping; None when there is none. Raises `_DeclineError`.

        The commonest line, `key: value` in the mapping on top, is read here without a
        call, for this loop is most of a cold start; all others go by `_row`.
        """
        file, new = self.file, tuple.__new__
        level, entries = 0, self.frames[0].entries
        item_level, items = -1, list[Node]()
        for line, (indent, dash, key, value, _) in enumerate(rows, 1):
            if value and key and not dash and len(indent) == level:
                after = level + len(key) + 1
                first = value[0]
                if first in "[{" or "\\" in value:
                    node = self._value(line, after + 2, value)
                else:
                    place = new(Place, (file, line, after + 2, after + 2 + len(value)))
                    plain = first != '"'
                    node = new(Scalar, (place, value if plain else value[1:-1], plain))
                place = new(Place, (file, line, level + 1, after))
                entries.append(new(Entry, (key if key[0] != '"' else _unquote(key), place, node)))
            elif value and dash and not key and len(indent) == item_level:
                items.append(self._value(line, item_level + 3, value))
            elif key or dash or value:
                top = self._row(line, len(indent), dash, key, value)
                level = item_level = -1
                if top.pending is None and top.is_list:
                    item_level, items = top.column, top.items
                elif top.pending is None:
                    level, entries = top.column, top.entries
        return self._finish()

    def _row(self, line: int, column: int, dash: str, key: str, value: str) -> _Frame:
        """Any line but the commonest; returns the frame that is now on top."""
        top = self._fit(line, column, is_list=dash != "")
        if dash:
            if value and not key:
                top.items.append(self._value(line, column + 3, value))
                return top
            top.pending = ("", _NOWHERE, line, column + 2)
            if not key:
                return top
            column += 2
            top = self._open(line, column, is_list=False)
        elif not key:
            raise _DeclineError
        after = column + len(key) + 1
        key_place = tuple.__new__(Place, (self.file, line, column + 1, after))
        top.pending = (key if key[0] != '"' else _unquote(key), key_place, line, after + 1)
        if value:
            self._attach(top, self._value(line, after + 2, value))
        return top

    def _open(self, line: int, column: int, *, is_list: bool) -> _Frame:
        if len(self.frames) == MAX_DEPTH:
            raise _DeclineError
        frame = _Frame(line, column, is_list=is_list)
        self.frames.append(frame)
        return frame

    def _fit(self, line: int, column: int, *, is_list: bool) -> _Frame:
        """The frame this line belongs to: a new one, the same, or one further out."""
        top = self.frames[-1]
        if top.pending is not None and column == top.column + 2:
            return self._open(line, column, is_list=is_list)
        while column < top.column and len(self.frames) > 1:
            self._close()
            top = self.frames[-1]
        if column != top.column or is_list != top.is_list:
            raise _DeclineError
        if top.pending is not None:
            self._attach(top, self._empty(top.pending))
        return top

    def _empty(self, pending: _Pending) -> Scalar:
        """The value of a key or dash with nothing after it."""
        _, _, line, column = pending
        return Scalar(Place(self.file, line, column, column), "", plain=True)

    def _attach(self, frame: _Frame, node: Node) -> None:
        """Give the pending key or dash its value."""
        pending = frame.pending
        if pending is None:
            raise _DeclineError
        if frame.is_list:
            frame.items.append(node)
        else:
            frame.entries.append(tuple.__new__(Entry, (pending[0], pending[1], node)))
        frame.pending = None

    def _close(self) -> Mapping | Sequence:
        frame = self.frames.pop()
        if frame.pending is not None:
            self._attach(frame, self._empty(frame.pending))
        place = Place(self.file, frame.line, frame.column + 1, 0)
        node: Mapping | Sequence
        if frame.is_list:
            node = Sequence(place, tuple(frame.items))
        else:
            self._check_keys(frame.entries)
            node = Mapping(place, tuple(frame.entries))
        if self.frames:
            self._attach(self.frames[-1], node)
        return node

    def _finish(self) -> Mapping | None:
        root = self.frames[0]
        while len(self.frames) > 1:
            self._close()
        if root.entries:
            root.line = root.entries[0].key_place.line
        elif root.pending is not None:
            root.line = root.pending[2]
        else:
            return None
        node = self._close()
        return node if isinstance(node, Mapping) else None

    def _check_keys(self, entries: list[Entry]) -> None:
        names = {entry.key for entry in entries}
        if not self.exact:
            names = {unicodedata.normalize("NFC", name) for name in names}
        if len(names) != len(entries):
            raise _DeclineError

    def _value(self, line: int, column: int, written: str) -> Node:
        """The node of a value on one line; `column` is counted from 1."""
        place = tuple.__new__(Place, (self.file, line, column, column + len(written)))
        first = written[0]
        if first == '"':
            return tuple.__new__(Scalar, (place, _unquote(written), False))
        if first not in "[{":
            return tuple.__new__(Scalar, (place, written, True))
        if len(self.frames) >= MAX_DEPTH:
            raise _DeclineError
        if first == "{":
            return Mapping(place, ())
        return Sequence(place, tuple(self._items(line, column, written)))

    def _items(self, line: int, column: int, written: str) -> list[Node]:
        """The items between brackets."""
        if '"' in written:
            found = _ITEM.finditer(written, 1)
            return [self._value(line, column + item.start(), item.group()) for item in found]
        items: list[Node] = []
        new, at = tuple.__new__, column + 1
        for word in written[1:-1].split(", ") if len(written) > 2 else ():
            end = at + len(word)
            items.append(new(Scalar, (new(Place, (self.file, line, at, end)), word, True)))
            at = end + 2
        return items


def _unquote(written: str) -> str:
    inner = written[1:-1]
    return _ONE_ESCAPE.sub(_meaning, inner) if "\\" in inner else inner


def _meaning(match: re.Match[str]) -> str:
    escape = match.group()
    if escape[1] == "u":
        return chr(int(escape[2:], 16))
    return _MEANS.get(escape[1], escape[1])
