"""The fast reader of records: one regular expression to a line, no YAML library.

It accepts a narrow form whose meaning is the same for every YAML reader, and
declines (None) on the least doubt; the careful reader then judges. What it accepts
it reads to the same nodes in the same places: a property test holds that.

Accepted: block mappings and lists indented by two, one value to a line; values in
double quotes with simple escapes, plain words and numbers, lists and mappings between
brackets on one line; comments, except where the careful reader may warn; blank lines.
"""

from __future__ import annotations

import re

from register.text.flow import (
    FLOW,
    KEY,
    QUOTED,
    WORDS,
    DeclineError,
    check_keys,
    read_flow,
    unquote,
)
from register.text.guard import is_clean
from register.text.limits import MAX_DEPTH, MAX_NODES
from register.text.nodes import Entry, Mapping, Node, Scalar, Sequence
from register.trouble import Place

# One match is one line: (indent, dash, key, value, comment, ""). A line of another form
# takes all that is left into the last group, so a hostile file costs one look.
_ROW = re.compile(
    r"(\x20*+)(-(?:\x20|(?=\n|\Z)))?"
    rf"(?:({KEY}):(?:\x20|(?=\n|\Z)))?({QUOTED}|{WORDS}|{FLOW})?"
    r"\x20*+((?<![^\x20\n])#.*+)?(?:\n|\Z)"
    r"|([\s\S]++)"
)

# (key, its place, line and column of an empty value, whether a comment stands after it);
# a dash has the key "".
_Pending = tuple[str, Place, int, int, bool]
_NOWHERE = Place("")
_Row = tuple[str, str, str, str, str, str]


def read_canonical(file: str, text: str) -> Mapping | None:
    """The tree of a text in canonical form, or None for every other text.

    `text` has LF line ends and no byte order mark; its size was checked.
    """
    rows: list[_Row] = _ROW.findall(text)
    if len(rows) > 1 and rows[-2][5]:
        return None
    # No line makes more than four nodes, less what stands between brackets.
    most = len(rows) * 4
    if most + len(text) > MAX_NODES and most + _count_inner(text) > MAX_NODES:
        return None
    if not is_clean(text):
        return None
    try:
        return _Reader(file, exact=text.isascii() and "\\" not in text).read(rows)
    except DeclineError:
        return None


def _count_inner(text: str) -> int:
    """At most so many nodes stand between brackets: each follows a sign of its own."""
    colons = text.count(": ") if "{" in text else 0
    return text.count(",") + text.count("[") + text.count("{") + colons


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
        """The root mapping; None when there is none. Raises `DeclineError`.

        The commonest line, `key: value` in the mapping on top, is read here without a
        call, for this loop is most of a cold start; all others go by `_row`.
        """
        file, new = self.file, tuple.__new__
        level, entries = 0, self.frames[0].entries
        item_level, items = -1, list[Node]()
        for line, (indent, dash, key, value, comment, _) in enumerate(rows, 1):
            if value and key and not dash and not comment and len(indent) == level:
                after = level + len(key) + 1
                first = value[0]
                if first in "[{" or "\\" in value:
                    node = self._value(line, after + 2, value)
                else:
                    place = new(Place, (file, line, after + 2, after + 2 + len(value)))
                    plain = first != '"'
                    node = new(Scalar, (place, value if plain else value[1:-1], plain))
                place = new(Place, (file, line, level + 1, after))
                entries.append(new(Entry, (key if key[0] != '"' else unquote(key), place, node)))
            elif value and dash and not key and not comment and len(indent) == item_level:
                items.append(self._value(line, item_level + 3, value))
            elif key or dash or value:
                if comment and value:
                    _check_comment(value, comment)
                top = self._row(line, len(indent), dash, key, value, commented=comment != "")
                level = item_level = -1
                if top.pending is None and top.is_list:
                    item_level, items = top.column, top.items
                elif top.pending is None:
                    level, entries = top.column, top.entries
        return self._finish()

    def _row(
        self, line: int, column: int, dash: str, key: str, value: str, *, commented: bool
    ) -> _Frame:
        """Any line but the commonest; returns the frame that is now on top."""
        top = self._fit(line, column, is_list=dash != "")
        if dash:
            if value and not key:
                top.items.append(self._value(line, column + 3, value))
                return top
            top.pending = ("", _NOWHERE, line, column + 2, commented)
            if not key:
                return top
            column += 2
            top = self._open(line, column, is_list=False)
        elif not key:
            raise DeclineError
        after = column + len(key) + 1
        key_place = tuple.__new__(Place, (self.file, line, column + 1, after))
        name = key if key[0] != '"' else unquote(key)
        top.pending = (name, key_place, line, after + 1, commented)
        if value:
            self._attach(top, self._value(line, after + 2, value))
        return top

    def _open(self, line: int, column: int, *, is_list: bool) -> _Frame:
        if len(self.frames) == MAX_DEPTH:
            raise DeclineError
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
            raise DeclineError
        if top.pending is not None:
            self._attach(top, self._empty(top.pending))
        return top

    def _empty(self, pending: _Pending) -> Scalar:
        """The value of a key or dash with nothing after it; a comment may be the value meant."""
        _, _, line, column, commented = pending
        if commented:
            raise DeclineError
        return Scalar(Place(self.file, line, column, column), "", plain=True)

    def _attach(self, frame: _Frame, node: Node) -> None:
        """Give the pending key or dash its value."""
        pending = frame.pending
        if pending is None:
            raise DeclineError
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
            check_keys(frame.entries, exact=self.exact)
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

    def _value(self, line: int, column: int, written: str) -> Node:
        """The node of a value on one line; `column` is counted from 1."""
        first = written[0]
        if first in "[{":
            room = MAX_DEPTH - len(self.frames)
            return read_flow(self.file, line, column, written, room=room, exact=self.exact)
        place = tuple.__new__(Place, (self.file, line, column, column + len(written)))
        if first == '"':
            return tuple.__new__(Scalar, (place, unquote(written), False))
        return tuple.__new__(Scalar, (place, written, True))


def _check_comment(value: str, comment: str) -> None:
    """Decline where words after `#` may have been meant as part of a plain value."""
    if value[0] not in '"[{' and comment[1:2] not in " \t#":
        raise DeclineError
