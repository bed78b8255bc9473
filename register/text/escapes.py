"""Characters that an escape sequence can smuggle into a text."""

from __future__ import annotations

import re

from register.text.nodes import Mapping, Node, Scalar
from register.trouble import Place, Problem

_SURROGATE = re.compile("[\ud800-\udfff]")
# Line feed and tab are ordinary in a text; the rest can steer a terminal.
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")


def check_escapes(node: Node) -> list[Problem]:
    """One problem for each text with half a character or a control character in it."""
    if isinstance(node, Scalar):
        return _check(node.place, node.text)
    found: list[Problem] = []
    if isinstance(node, Mapping):
        for entry in node.entries:
            found.extend(_check(entry.key_place, entry.key))
            found.extend(check_escapes(entry.value))
    else:
        for item in node.items:
            found.extend(check_escapes(item))
    return found


def _check(place: Place, text: str) -> list[Problem]:
    half = _SURROGATE.search(text)
    if half is not None:
        return [
            Problem(
                place,
                "lone-surrogate",
                f"\\u{ord(half.group()):04x} is half a character and stands for nothing alone",
                "delete the escape and type the character itself",
            )
        ]
    control = _CONTROL.search(text)
    if control is None:
        return []
    return [
        Problem(
            place,
            "control-character",
            f"the text holds the control character U+{ord(control.group()):04X} as an escape",
            "delete the escape, or write the word that was meant",
            "warning",
        )
    ]
