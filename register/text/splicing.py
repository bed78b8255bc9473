"""The smallest change of a text that gives a value a new value.

Each function returns the whole new text. Nothing is dumped: what is not named is
copied. The caller reads the result again and compares (see `editing`).
"""

from __future__ import annotations

from msgspec import Struct

from register.text.composing import is_nothing
from register.text.document import Document, Part, Path, unsure
from register.text.emitting import render_block, render_flow, render_inline, render_key
from register.text.nodes import Entry, Mapping, Node, Plain, Sequence
from register.trouble import RegisterError


class Spot(Struct, frozen=True):
    """A node reached by a path, with what holds it. The root has no parent."""

    node: Node
    parent: Mapping | Sequence | None = None
    entry: Entry | None = None
    index: int = 0
    in_flow: bool = False


def find_spot(document: Document, path: Path) -> tuple[Spot, int]:
    """The deepest node on the path that exists, and how many parts led to it."""
    spot = Spot(document.root)
    for depth, part in enumerate(path):
        below = _child(document, spot, part)
        if below is None:
            return spot, depth
        spot = below
    return spot, len(path)


def _child(document: Document, spot: Spot, part: Part) -> Spot | None:
    node = spot.node
    in_flow = spot.in_flow or document.is_flow(node)
    if isinstance(node, Mapping) and isinstance(part, str):
        for index, entry in enumerate(node.entries):
            if entry.key == part:
                return Spot(entry.value, node, entry, index, in_flow)
    if isinstance(node, Sequence) and isinstance(part, int) and 0 <= part < len(node.items):
        return Spot(node.items[part], node, None, part, in_flow)
    return None


def no_such_place(document: Document, path: Path) -> RegisterError:
    """The refusal when a path leads nowhere."""
    name = ".".join(str(part) for part in path)
    return RegisterError(
        f"{document.file} has no {name} that could be changed in this way",
        mend=f"look at the file, and name a key or list that stands in it: {document.file}",
        code="edit-no-such-place",
    )


def splice_value(document: Document, spot: Spot, value: Plain) -> str:
    """Give the spot another value."""
    text = document.text
    start, end = document.span(spot.node)
    if spot.in_flow:
        space = " " if start == end and text[start - 1 : start] == ":" else ""
        return text[:start] + space + render_flow(value) + text[end:]
    inline = render_inline(value)
    if inline is None:
        return _splice_lines(document, spot, value)
    if start < end and not document.is_block(spot.node) and inline:
        return text[:start] + inline + text[end:]
    head = _head_end(document, spot)
    space = " " if inline else ""
    kept = ""
    if spot.entry is not None and document.is_block(spot.node):
        kept = text[head : document.line_end(head)].rstrip()
    return text[:head] + space + inline + kept + text[end:]


def _head_end(document: Document, spot: Spot) -> int:
    """Offset after the colon or dash that leads to the spot."""
    if spot.entry is not None:
        return document.after_colon(spot.entry)
    if not isinstance(spot.parent, Sequence):
        raise unsure(document.file, "the whole record would be replaced")
    return document.dash(spot.parent, spot.node) + 1


def _splice_lines(document: Document, spot: Spot, value: Plain) -> str:
    """Give the spot a value that needs lines of its own."""
    if not isinstance(value, (list, dict)) or spot.parent is None:
        raise unsure(document.file, "the whole record would be replaced")
    text = document.text
    dash, step = document.steps()
    end = document.span(spot.node)[1]
    head = _head_end(document, spot)
    column = spot.parent.place.column - 1
    old = spot.node
    if spot.entry is None:
        indent = " " * (column + 2)
    elif document.is_block(old) and isinstance(old, Sequence) == isinstance(value, list):
        indent = " " * (old.place.column - 1)
    else:
        indent = " " * column + (dash if isinstance(value, list) else step)
    lines = "\n".join(render_block(value, indent, dash, step))
    if spot.entry is None and isinstance(value, dict):
        return f"{text[:head]} {lines.lstrip(' ')}{text[end:]}"
    if document.is_block(old):
        kept = text[head : document.line_end(head)].rstrip() if spot.entry is not None else ""
        return f"{text[:head]}{kept}\n{lines}{text[end:]}"
    stop = document.line_end(end)
    return f"{text[:head]}{text[end:stop].rstrip()}\n{lines}{text[stop:]}"


def splice_key(document: Document, spot: Spot, key: str, value: Plain) -> str:
    """Add a key at the end of the mapping at the spot."""
    mapping = spot.node
    if not isinstance(mapping, Mapping):
        raise unsure(document.file, "a key can only be added to a mapping")
    if not mapping.entries and not spot.in_flow and spot.parent is not None:
        return splice_value(document, spot, {key: value})
    if spot.in_flow or document.is_flow(mapping):
        pair = f"{render_key(key)}: {render_flow(value)}"
        return _splice_into_brackets(document, mapping, pair)
    dash, step = document.steps()
    indent = " " * (mapping.place.column - 1)
    lines = [f"{indent}{render_key(key)}:"]
    if value is not None:
        lines = render_block({key: value}, indent, dash, step)
    return _add_lines(document, mapping, lines)


def splice_item(document: Document, spot: Spot, item: Plain) -> str:
    """Add an item at the end of the list at the spot."""
    found = spot.node
    if is_nothing(found):
        return splice_value(document, spot, [item])
    if not isinstance(found, Sequence):
        raise unsure(document.file, "an item can only be added to a list")
    if not found.items and not spot.in_flow:
        return splice_value(document, spot, [item])
    if spot.in_flow or document.is_flow(found):
        return _splice_into_brackets(document, found, render_flow(item))
    dash, step = document.steps()
    lines = render_block([item], " " * (found.place.column - 1), dash, step)
    return _add_lines(document, found, lines)


def _splice_into_brackets(document: Document, node: Mapping | Sequence, words: str) -> str:
    text = document.text
    children = _children(node)
    if children:
        at = document.span(children[-1])[1]
        return f"{text[:at]}, {words}{text[at:]}"
    at = document.span(node)[1] - 1
    return f"{text[:at].rstrip()}{words}{text[at:]}"


def _add_lines(document: Document, node: Node, lines: list[str]) -> str:
    at = document.line_end(document.span(node)[1])
    return "\n".join([document.text[:at], *lines]) + document.text[at:]


def splice_out(document: Document, spot: Spot) -> str:
    """Take the spot away, with its key or dash and the lines that are only its own."""
    parent = spot.parent
    if parent is None:
        raise unsure(document.file, "the whole record would be removed")
    if spot.in_flow:
        return _cut_from_brackets(document, spot, parent)
    text = document.text
    start, end = _begin(document, parent, spot.index), document.span(spot.node)[1]
    line = document.line_start(start)
    if text[line:start].strip():
        following = _begin(document, parent, spot.index + 1)
        return text[:start] + text[following:]
    stop = min(document.line_end(end) + 1, len(text))
    kept = [
        text[document.line_start(at) : document.line_end(at) + 1]
        for at, _ in document.comments()
        if line <= at < stop and not text[document.line_start(at) : at].strip()
    ]
    return text[:line] + "".join(kept) + text[stop:]


def _begin(document: Document, parent: Mapping | Sequence, index: int) -> int:
    """Offset of the key or dash of a child."""
    if isinstance(parent, Mapping):
        return document.span(parent.entries[index])[0]
    return document.dash(parent, parent.items[index])


def _cut_from_brackets(document: Document, spot: Spot, parent: Mapping | Sequence) -> str:
    text = document.text
    children = _children(parent)
    starts = [
        document.span(entry)[0]
        for entry in (parent.entries if isinstance(parent, Mapping) else parent.items)
    ]
    start, end = starts[spot.index], document.span(spot.node)[1]
    if spot.index > 0:
        start = document.span(children[spot.index - 1])[1]
    elif len(children) > 1:
        end = starts[1]
    return text[:start] + text[end:]


def _children(node: Mapping | Sequence) -> list[Node]:
    if isinstance(node, Mapping):
        return [entry.value for entry in node.entries]
    return list(node.items)
