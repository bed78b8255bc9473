"""A hand-made file opened for an edit: its text, its tree, and where everything stands."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from register.text.composing import Span, compose_text, is_nothing
from register.text.guard import check_bytes
from register.text.nodes import Entry, Mapping, Node, Plain, Scalar, Sequence
from register.trouble import Exit, Problem, RegisterError

Part = str | int
Path = tuple[Part, ...]
Raw = tuple[str, bool] | list["Raw"] | dict[str, "Raw"] | None
"""A tree without places: (text, plain), a list, or keys in order; None is nothing."""

_COMMENT = re.compile(r"(?<!\S)#[^\n]*")
_COLON = re.compile(r"[ \t]*:")
_INTEGER = re.compile(r"[-+]?(?:0|[1-9]\d{0,999})")
_DECIMAL = re.compile(r"[-+]?\d{1,999}\.\d{1,999}")


class Document(Struct, frozen=True):
    """One file without errors. Offsets count characters of `text`, which has LF ends."""

    file: str
    text: str
    root: Mapping
    spans: dict[int, Span]

    def span(self, node: Node | Entry) -> Span:
        """Where a node stands; for an entry, where its key stands."""
        return self.spans[id(node)]

    def line_start(self, index: int) -> int:
        """Offset of the first character of the line."""
        return self.text.rfind("\n", 0, index) + 1

    def line_end(self, index: int) -> int:
        """Offset of the line's end, the line feed not counted."""
        end = self.text.find("\n", index)
        return len(self.text) if end < 0 else end

    def is_flow(self, node: Node) -> bool:
        """Whether the node is a list or mapping written in brackets."""
        return not isinstance(node, Scalar) and self.text[self.span(node)[0]] in "[{"

    def is_block(self, node: Node) -> bool:
        """Whether the node is a list or mapping on lines of its own."""
        return not isinstance(node, Scalar) and not self.is_flow(node)

    def after_colon(self, entry: Entry) -> int:
        """Offset just after the colon of a key."""
        match = _COLON.match(self.text, self.span(entry)[1])
        if match is None:
            raise unsure(self.file, "the key is written in an unusual way")
        return match.end()

    def dash(self, parent: Sequence, item: Node) -> int:
        """Offset of the dash before an item of a block list."""
        at = self.line_start(self.span(item)[0])
        column = parent.place.column - 1
        while True:
            head = self.text[at : at + column]
            first = self.text.count("\n", 0, at) + 1 == parent.place.line
            dashed = self.text[at + column : at + column + 1] == "-"
            if dashed and (first or not head.strip()):
                return at + column
            if at == 0 or first:
                raise unsure(self.file, "the list is written in an unusual way")
            at = self.line_start(at - 1)

    def steps(self) -> tuple[str, str]:
        """How far this file indents a list below its key, and a mapping below its key."""
        dash = step = None
        for mapping in _mappings(self.root):
            for entry in mapping.entries:
                if self.is_block(entry.value):
                    offset = max(entry.value.place.column - mapping.place.column, 0)
                    if isinstance(entry.value, Sequence):
                        dash = offset if dash is None else dash
                    else:
                        step = offset if step is None else step
        return " " * (2 if dash is None else dash), " " * (step or 2)

    def comments(self) -> list[tuple[int, str]]:
        """Every comment with its offset."""
        found: list[tuple[int, str]] = []
        at = 0
        for start, end in [*self._texts(), (len(self.text), len(self.text))]:
            found.extend((m.start(), m.group()) for m in _COMMENT.finditer(self.text, at, start))
            at = end
        return found

    def _texts(self) -> Iterator[Span]:
        """Where keys and values stand, in order; block texts without their first line."""
        spans: list[Span] = []
        for node in _nodes(self.root):
            start, end = self.span(node)
            if isinstance(node, Scalar) and not node.plain and self.text[start] in "|>":
                start = min(self.line_end(start), end)
            if isinstance(node, (Scalar, Entry)):
                spans.append((start, end))
        return iter(sorted(spans))


def open_document(file: str, data: bytes) -> Document:
    """Read a file for an edit. Raises `RegisterError` when it has an error."""
    text, problems = check_bytes(file, data)
    if text is not None:
        composed = compose_text(file, text)
        problems = tuple(p for p in composed.problems if p.level == "error")
        if isinstance(composed.node, Mapping) and not problems:
            return Document(file, text, composed.node, composed.spans)
    raise _unreadable(file, problems)


def unsure(file: str, reason: str) -> RegisterError:
    """The refusal when an edit cannot be proved to change only what was meant."""
    return RegisterError(
        f"{file} was left as it is: {reason}",
        mend=f"change {file} in a text editor, then run: tailsheaf save {file}",
        exit_code=Exit.REFUSED,
        code="edit-unsure",
    )


def raw_tree(node: Node) -> Raw:
    """The tree without places, for comparing."""
    if isinstance(node, Scalar):
        return None if is_nothing(node) else (node.text, node.plain)
    if isinstance(node, Mapping):
        return {entry.key: raw_tree(entry.value) for entry in node.entries}
    return [raw_tree(item) for item in node.items]


def read_plain(node: Node) -> Plain:
    """Nodes to plain data: unquoted numbers, true, false and nothing become values.

    All other text stays text, `007`, `no` and dates included.
    """
    if isinstance(node, Mapping):
        return {entry.key: read_plain(entry.value) for entry in node.entries}
    if isinstance(node, Sequence):
        return [read_plain(item) for item in node.items]
    if not node.plain:
        return node.text
    return None if is_nothing(node) else _read_word(node.text)


def _read_word(text: str) -> Plain:
    if text in ("true", "false"):
        return text == "true"
    if _INTEGER.fullmatch(text):
        return int(text)
    if _DECIMAL.fullmatch(text):
        return Decimal(text)
    return text


def _unreadable(file: str, problems: tuple[Problem, ...]) -> RegisterError:
    first = f"{problems[0].place}: {problems[0].says}" if problems else "it holds no keys"
    return RegisterError(
        f"{file} cannot be changed before it is mended: {first}",
        mend=problems[0].mend if problems else "write the record's keys as  key: value",
        exit_code=Exit.REFUSED,
        code="edit-unreadable",
        problems=problems,
    )


def _nodes(node: Node) -> Iterator[Node | Entry]:
    yield node
    if isinstance(node, Mapping):
        for entry in node.entries:
            yield entry
            yield from _nodes(entry.value)
    elif isinstance(node, Sequence):
        for item in node.items:
            yield from _nodes(item)


def _mappings(root: Node) -> Iterator[Mapping]:
    return (node for node in _nodes(root) if isinstance(node, Mapping))
