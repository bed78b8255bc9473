"""YAML events to nodes: the slow and careful reading, with ruamel's scanner as the judge.

Only events are taken, nothing is ever constructed: no tag can run, no alias can grow.
The house accepts a small part of YAML; each refused part has its own code and mend.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import Any

from msgspec import Struct, field

from register.text.limits import MAX_DEPTH, MAX_NODES
from register.text.nodes import Entry, Mapping, Node, Scalar, Sequence
from register.trouble import Level, Place, Problem

_MAX_PROBLEMS = 50

Span = tuple[int, int]
_EMPTY_TEXTS = frozenset(("", "~", "null", "Null", "NULL"))
_COMMENT_AFTER_EMPTY = re.compile(r"[ \t]+(#.*)")
_COLON = re.compile(r"[ \t]*:")
_COMMENT_AFTER_TEXT = re.compile(r"[ \t]+(#[^\s#].*)")


class _StopError(Exception):
    """Reading ends here; the reason is already among the problems."""


class Composed(Struct):
    """What the events gave: the root when it is whole, where each node stands, the problems.

    `spans` holds character offsets into the text (start, end exclusive) by `id` of the
    node or entry; an entry's span is that of its key.
    """

    node: Node | None = None
    spans: dict[int, Span] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    whole: bool = True


def compose_text(file: str, text: str) -> Composed:
    """Read guarded text into nodes. Never raises on bad YAML: see `Composed.problems`."""
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError

    from register.text.syntax import syntax_problem, unreadable_problem

    composer = _Composer(file, text)
    try:
        composer.run(YAML(typ="safe", pure=True).parse(text))
    except _StopError:
        composer.done.whole = False
    except MarkedYAMLError as error:
        composer.done.whole = False
        composer.done.problems.append(syntax_problem(file, text, error))
    except Exception as error:
        # The scanner has been seen to raise IndexError, ValueError and RecursionError on
        # odd input. A file that breaks it is wrong data, never our bug report.
        composer.done.whole = False
        composer.done.problems.append(unreadable_problem(file, composer.line, error))
    if not composer.done.whole:
        composer.done.node = None
    return composer.done


class _Composer:
    """One pass over the events of one file."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.lines = text.split("\n")
        self.text = text
        self.done = Composed()
        self.count = 0
        self.line = 1
        self.events: Iterator[Any] = iter(())

    def run(self, events: Iterator[Any]) -> None:
        """Take the events of the whole stream."""
        self.events = events
        documents = 0
        for event in events:
            kind = type(event).__name__
            if kind == "DocumentStartEvent":
                documents += 1
                self._start_document(event, documents)
                self.done.node = self._node(next(events), 0)

    def _start_document(self, event: Any, documents: int) -> None:
        if documents > 1:
            self._refuse(
                self._place(event),
                "yaml-documents",
                "a second document begins here; a record file holds one",
                "put each record into its own file and delete the line ---",
                stop=True,
            )
        for number, line in enumerate(self.lines[: event.end_mark.line + 1], 1):
            if line.startswith("%"):
                self._refuse(
                    Place(self.file, number, 1, len(line) + 1),
                    "yaml-directive",
                    f"the line {line.split()[0]} changes how YAML is read; records do without",
                    "delete the line that begins with %",
                )

    def _place(self, event: Any) -> Place:
        start, end = event.start_mark, event.end_mark
        same = start.line == end.line
        end_column = end.column + 1 if same else 0
        return Place(self.file, start.line + 1, start.column + 1, end_column)

    def _refuse(
        self,
        place: Place,
        code: str,
        says: str,
        mend: str,
        *,
        stop: bool = False,
        whole: bool = False,
        level: Level = "error",
        related: tuple[Place, ...] = (),
    ) -> None:
        """Note a problem. `whole`: the tree can still be used without this part."""
        problems = self.done.problems
        problems.append(Problem(place, code, says, mend, level, related))
        self.done.whole = self.done.whole and whole
        if stop:
            raise _StopError
        if len(problems) >= _MAX_PROBLEMS:
            says = f"more than {_MAX_PROBLEMS} things are wrong; reading stopped here"
            problems.append(Problem(place, "yaml-too-much", says, "mend those above first"))
            raise _StopError

    def _node(self, event: Any, depth: int) -> Node:
        self.line = event.start_mark.line + 1
        self.count += 1
        if self.count > MAX_NODES:
            says = f"the file has more than {MAX_NODES:,} keys and values"
            mend = "split it into several records"
            self._refuse(self._place(event), "yaml-size", says, mend, stop=True)
        self._check_extras(event)
        kind = type(event).__name__
        if kind == "ScalarEvent":
            return self._scalar(event)
        if kind == "AliasEvent":
            alias = Scalar(self._place(event), "", plain=True)
            self.done.spans[id(alias)] = (event.start_mark.index, event.end_mark.index)
            return alias
        if depth == MAX_DEPTH:
            says = f"lists and mappings stand more than {MAX_DEPTH} deep inside each other"
            mend = "write it flatter: a record needs three or four levels"
            self._refuse(self._place(event), "yaml-depth", says, mend, stop=True)
        if kind == "MappingStartEvent":
            return self._mapping(event, depth + 1)
        return self._sequence(event, depth + 1)

    def _check_extras(self, event: Any) -> None:
        """Refuse anchors, aliases and tags by name."""
        if event.anchor is not None:
            alias = type(event).__name__ == "AliasEvent"
            mark = "*" if alias else "&"
            what = f"{mark}{event.anchor}"
            self._refuse(
                self._place(event)._replace(end_column=0),
                "yaml-anchor",
                f"{what} is a YAML {'alias' if alias else 'anchor'}; records spell values out",
                f'write the value itself, or put text in quotes: "{what}"',
            )
        tag = getattr(event, "tag", None)
        if tag is not None:
            tag = str(tag).replace("tag:yaml.org,2002:", "!!")
            self._refuse(
                self._place(event)._replace(end_column=0),
                "yaml-tag",
                f"the tag {tag} stands before the value; records have no tags",
                "delete the word that begins with !, or put the text in quotes",
            )

    def _scalar(self, event: Any) -> Scalar:
        plain = not event.style
        place = self._place(event)
        node = Scalar(place, event.value, plain)
        span = (event.start_mark.index, event.end_mark.index)
        if event.style in ("|", ">"):
            span = self._block_scalar_span(span)
        self.done.spans[id(node)] = span
        return node

    def _block_scalar_span(self, span: Span) -> Span:
        """A block text ends with its last written line, unless `+` keeps the empty ones."""
        start, end = span
        written = self.text[start:end]
        if "+" in written.split("\n", 1)[0].split("#")[0]:
            return start, end - written.endswith("\n")
        return start, start + len(written.rstrip())

    def _check_comment(self, node: Scalar) -> None:
        """Warn where words after `#` were meant as the value, or part of it."""
        start, end = self.done.spans[id(node)]
        line_end = self.text.find("\n", end)
        rest = self.text[end : line_end if line_end >= 0 else len(self.text)]
        line_start = self.text.rfind("\n", 0, end) + 1
        pattern = _COMMENT_AFTER_EMPTY if start == end else _COMMENT_AFTER_TEXT
        match = pattern.match(rest)
        if match is None:
            return
        head = self.text[line_start:start].strip()
        column = end - line_start + 1
        place = Place(self.file, node.place.line, column + match.start(1), column + len(rest))
        words = quote(f"{self.text[start:end]}{rest}".strip())
        if node.place.line != self._line_of(end):
            return
        mend = f"{head} {words}"
        if start == end:
            says = "the value is empty: all after # is a comment"
            self._refuse(place, "value-is-comment", says, mend, whole=True, level="warning")
        else:
            says = "all after # is a comment, not part of the value"
            self._refuse(place, "value-cut-by-comment", says, mend, whole=True, level="warning")

    def _line_of(self, index: int) -> int:
        return self.text.count("\n", 0, index) + 1

    def _mapping(self, start: Any, depth: int) -> Mapping:
        entries: list[Entry] = []
        seen: dict[str, Place] = {}
        while True:
            event = next(self.events)
            if type(event).__name__ == "MappingEndEvent":
                break
            key = self._node(event, depth)
            value = self._node(next(self.events), depth)
            if isinstance(value, Scalar) and value.plain and not start.flow_style:
                value = self._settle_empty(key, value)
                self._check_comment(value)
            if isinstance(key, Scalar) and self._check_key(key, seen):
                entry = Entry(key.text, key.place, value)
                self.done.spans[id(entry)] = self.done.spans[id(key)]
                entries.append(entry)
            elif not isinstance(key, Scalar):
                self._refuse_key(key, "a key cannot be a list or a mapping")
        node = Mapping(self._collection_place(start, event), tuple(entries))
        last = entries[-1].value if entries else None
        self.done.spans[id(node)] = self._collection_span(start, event, last)
        return node

    def _settle_empty(self, key: Node, value: Scalar) -> Scalar:
        """An empty value stands right after its colon; ruamel marks the next key instead."""
        start, end = self.done.spans[id(value)]
        colon = _COLON.match(self.text, self.done.spans[id(key)][1]) if start == end else None
        if colon is None:
            return value
        at = colon.end()
        line = self.text.count("\n", 0, at) + 1
        column = at - self.text.rfind("\n", 0, at)
        settled = Scalar(Place(self.file, line, column, column), "", plain=True)
        self.done.spans[id(settled)] = (at, at)
        return settled

    def _refuse_key(self, key: Node, says: str) -> None:
        mend = 'write  word: value ; text with brackets or a colon needs quotes: "[a] b"'
        self._refuse(key.place, "yaml-key", says, mend)

    def _check_key(self, key: Scalar, seen: dict[str, Place]) -> bool:
        """Whether this key counts; what is wrong with it is noted."""
        if key.plain and key.text == "":
            self._refuse_key(key, "a key is missing before the colon")
            return False
        if key.text == "<<" and key.plain:
            says = "<< is a YAML merge key; records spell values out"
            self._refuse(key.place, "yaml-anchor", says, "write the keys themselves")
            return False
        name = key.text if key.text.isascii() else unicodedata.normalize("NFC", key.text)
        if name in seen:
            self._refuse(
                key.place,
                "yaml-duplicate-key",
                f"the key {key.text} stands twice; line {seen[name].line} has it already",
                "delete one of the two lines, or rename the key",
                whole=True,
                related=(seen[name],),
            )
            return False
        seen[name] = key.place
        return True

    def _sequence(self, start: Any, depth: int) -> Sequence:
        items: list[Node] = []
        while True:
            event = next(self.events)
            if type(event).__name__ == "SequenceEndEvent":
                break
            item = self._node(event, depth)
            if isinstance(item, Scalar) and item.plain and not start.flow_style:
                self._check_comment(item)
            items.append(item)
        node = Sequence(self._collection_place(start, event), tuple(items))
        span = self._collection_span(start, event, items[-1] if items else None)
        self.done.spans[id(node)] = span
        return node

    def _collection_place(self, start: Any, end: Any) -> Place:
        mark, last = start.start_mark, end.end_mark
        whole_line = start.flow_style and mark.line == last.line
        column = last.column + 1 if whole_line else 0
        return Place(self.file, mark.line + 1, mark.column + 1, column)

    def _collection_span(self, start: Any, end: Any, last: Node | None) -> Span:
        """Block collections end with their last child, before any comment that follows."""
        begin: int = start.start_mark.index
        if start.flow_style or last is None:
            return begin, end.end_mark.index
        return begin, self.done.spans[id(last)][1]


def is_nothing(node: Node) -> bool:
    """Whether the node is an empty or null plain value."""
    return isinstance(node, Scalar) and node.plain and node.text in _EMPTY_TEXTS


def quote(text: str) -> str:
    """The text between double quotes, for a ready line in a mend."""
    from register.text.emitting import render_text

    return render_text(text)
