"""Edits of hand-made files, by which everything not named stays as it is.

Comments, key order, unknown keys, byte order mark and line ends survive. Every
result is read again and compared, data and comments, with what was meant; on any
difference the edit is refused and the file is the owner's to change.
"""

from __future__ import annotations

from register.text.document import (
    Document,
    Path,
    Raw,
    open_document,
    raw_tree,
    read_plain,
    unsure,
)
from register.text.emitting import render_yaml
from register.text.nodes import Mapping, Plain, Sequence
from register.text.parsing import parse_text
from register.text.splicing import (
    Spot,
    find_spot,
    no_such_place,
    splice_item,
    splice_key,
    splice_out,
    splice_value,
)
from register.trouble import RegisterError

__all__ = ["edit_append", "edit_remove", "edit_set", "read_plain"]

_BOM = b"\xef\xbb\xbf"


def edit_set(file: str, data: bytes, path: Path, value: Plain) -> bytes:
    """Replace the value at `path`, or add the key at the end of its mapping.

    Mappings missing on the way are made. Raises `RegisterError`: `edit-unreadable`
    for a file with errors, `edit-no-such-place`, or `edit-unsure`.
    """
    document = open_document(file, data)
    spot, depth = find_spot(document, path)
    if not path:
        raise no_such_place(document, path)
    if depth == len(path):
        text = splice_value(document, spot, value)
        meant = _raw_value(value)
    else:
        added = _nest(document, path, depth + 1, value)
        text = _add(document, spot, path, depth, added)
        path, meant = path[: depth + 1], _raw_value(added)
    return _checked(document, data, text, _with(raw_tree(document.root), path, meant))


def edit_append(file: str, data: bytes, path: Path, item: Plain) -> bytes:
    """Add an item at the end of the list at `path`; a missing key becomes a list.

    Raises as `edit_set` does.
    """
    document = open_document(file, data)
    spot, depth = find_spot(document, path)
    if depth < len(path):
        return edit_set(file, data, path, [item])
    node = spot.node
    if isinstance(node, Sequence):
        items = [*(raw_tree(old) for old in node.items), _raw_value(item)]
    elif spot.parent is not None and raw_tree(node) is None:
        items = [_raw_value(item)]
    else:
        raise no_such_place(document, path)
    text = splice_item(document, spot, item)
    return _checked(document, data, text, _with(raw_tree(document.root), path, items))


def edit_remove(file: str, data: bytes, path: Path) -> bytes:
    """Remove the key or item at `path` with the lines that are only its own.

    The last item of a list leaves `[]`, the last key of an inner mapping `{}`.
    Raises as `edit_set` does.
    """
    document = open_document(file, data)
    spot, depth = find_spot(document, path)
    if depth < len(path) or spot.parent is None:
        raise no_such_place(document, path)
    holder, _ = find_spot(document, path[:-1])
    if not spot.in_flow and _count(holder) == 1:
        empty: Plain = [] if isinstance(holder.node, Sequence) else {}
        text = splice_value(document, holder, empty)
    else:
        text = splice_out(document, spot)
    meant = _without(raw_tree(document.root), path)
    return _checked(document, data, text, meant, trailing=False)


def _count(spot: Spot) -> int:
    node = spot.node
    if isinstance(node, Mapping):
        return len(node.entries)
    return len(node.items) if isinstance(node, Sequence) else 0


def _nest(document: Document, path: Path, depth: int, value: Plain) -> Plain:
    """The value inside the mappings that the rest of the path names."""
    for part in reversed(path[depth:]):
        if not isinstance(part, str):
            raise no_such_place(document, path)
        value = {part: value}
    return value


def _add(document: Document, spot: Spot, path: Path, depth: int, value: Plain) -> str:
    key = path[depth]
    if not isinstance(key, str):
        raise no_such_place(document, path)
    if isinstance(spot.node, Mapping):
        return splice_key(document, spot, key, value)
    if spot.parent is not None and raw_tree(spot.node) is None:
        return splice_value(document, spot, {key: value})
    raise no_such_place(document, path)


def _raw_value(value: Plain) -> Raw:
    """The tree that a value has once written and read."""
    node = parse_text("", render_yaml({"value": value}).encode()).node
    found = node.get("value") if node is not None else None
    return None if found is None else raw_tree(found)


def _with(tree: Raw, path: Path, value: Raw) -> Raw:
    """The tree with another value at the path; its last key may be new."""
    if not path:
        return value
    part = path[0]
    if isinstance(part, int):
        items = list(tree) if isinstance(tree, list) else []
        items[part] = _with(items[part], path[1:], value)
        return items
    pairs = tree if isinstance(tree, dict) else {}
    return {**pairs, part: _with(pairs.get(part), path[1:], value)}


def _without(tree: Raw, path: Path) -> Raw:
    """The tree without the key or item at the path."""
    part, rest = path[0], path[1:]
    if isinstance(part, int):
        items = list(tree) if isinstance(tree, list) else []
        items[part : part + 1] = [_without(items[part], rest)] if rest else []
        return items
    pairs = dict(tree) if isinstance(tree, dict) else {}
    if rest:
        return {**pairs, part: _without(pairs[part], rest)}
    return {key: value for key, value in pairs.items() if key != part}


def _same(one: Raw, other: Raw) -> bool:
    """Whether two trees are equal, the order of keys included."""
    if isinstance(one, dict) and isinstance(other, dict):
        return list(one) == list(other) and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return one == other


def _checked(
    document: Document, data: bytes, text: str, meant: Raw, *, trailing: bool = True
) -> bytes:
    """The new bytes, after reading them back. `trailing`: also comments behind values stay."""
    changed = _restored(document.text, data, text)
    try:
        again = open_document(document.file, changed)
    except RegisterError as error:
        raise unsure(document.file, "the change would not give a readable file") from error
    if not _same(raw_tree(again.root), meant):
        raise unsure(document.file, "the change would touch more than was meant")
    if _comments(again, trailing=trailing) != _comments(document, trailing=trailing):
        raise unsure(document.file, "the change would lose a comment")
    return changed


def _comments(document: Document, *, trailing: bool) -> list[str]:
    return [
        comment
        for at, comment in document.comments()
        if trailing or not document.text[document.line_start(at) : at].strip()
    ]


def _restored(old: str, data: bytes, new: str) -> bytes:
    """The new text in the file's own manner; lines that did not change keep their bytes."""
    bom = _BOM if data.startswith(_BOM) else b""
    written = data[len(bom) :].split(b"\n")
    before, after = old.split("\n"), new.split("\n")
    shortest = min(len(before), len(after))
    head = 0
    while head < shortest and before[head] == after[head]:
        head += 1
    tail = 0
    while tail < shortest - head and before[-1 - tail] == after[-1 - tail]:
        tail += 1
    end = b"\r" if data.count(b"\r\n") * 2 > data.count(b"\n") else b""
    middle = [line.encode() + end for line in after[head : len(after) - tail]]
    if tail == 0 and middle:
        middle[-1] = middle[-1].removesuffix(b"\r")
        if head == len(written):
            written[-1] += end
    return bom + b"\n".join([*written[:head], *middle, *written[len(written) - tail :]])
