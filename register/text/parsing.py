"""Bytes to a checked node tree, with every problem in its place.

Any bytes whatever give a `Parsed`; nothing here raises on bad input.
"""

from __future__ import annotations

from msgspec import Struct

from register.text.canonical import read_canonical
from register.text.guard import check_bytes, normalise, split_lines
from register.text.limits import MAX_BYTES
from register.text.nodes import Mapping, Node, Scalar
from register.text.reads import reads_as
from register.trouble import Place, Problem

__all__ = ["MAX_BYTES", "Parsed", "parse_text", "reads_as", "split_lines"]


class Parsed(Struct, frozen=True):
    """What one file gave. `node` is None when the tree is not whole.

    A node together with an error (a key that stands twice) means: the rest can be
    shown, the file still has to be mended.
    """

    node: Mapping | None
    problems: tuple[Problem, ...]


def parse_text(file: str, data: bytes) -> Parsed:
    """Read one record file. `file` is the path shown in every place."""
    if len(data) <= MAX_BYTES:
        try:
            text = normalise(data.decode("utf-8"))
        except UnicodeDecodeError:
            pass
        else:
            node = read_canonical(file, text)
            if node is not None:
                return Parsed(node, tuple(_check_escapes(node)) if "\\" in text else ())
    return _parse_slowly(file, data)


def _parse_slowly(file: str, data: bytes) -> Parsed:
    text, problems = check_bytes(file, data)
    if text is None:
        return Parsed(None, problems)
    from register.text.composing import compose_text, is_nothing

    composed = compose_text(file, text)
    found = composed.problems
    node = composed.node
    if node is None or isinstance(node, Mapping):
        if node is None and not found:
            found.append(_empty(file))
        elif isinstance(node, Mapping) and "\\" in text:
            found.extend(_check_escapes(node))
            if any(problem.code == "lone-surrogate" for problem in found):
                node = None
        return Parsed(node, tuple(sorted(found, key=lambda problem: problem.order)))
    found.append(_empty(file) if is_nothing(node) else _not_a_mapping(node))
    return Parsed(None, tuple(sorted(found, key=lambda problem: problem.order)))


def _empty(file: str) -> Problem:
    return Problem(
        Place(file),
        "yaml-empty",
        "the file is empty or holds only comments",
        "write the record's keys as  key: value , or take the file back from the history",
    )


def _not_a_mapping(node: Node) -> Problem:
    what = "one piece of text" if isinstance(node, Scalar) else "a list"
    return Problem(
        node.place,
        "yaml-not-a-mapping",
        f"the file holds {what}; a record is a mapping of keys to values",
        'write the record\'s keys as  key: value , for example  title: "Heron"',
    )


def _check_escapes(node: Node) -> list[Problem]:
    """Problems of characters that only an escape such as \\e or \\ud83d can bring in."""
    from register.text.escapes import check_escapes

    return check_escapes(node)
