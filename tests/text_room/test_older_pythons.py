"""Patterns that every Python from 3.11.0 on reads alike.

Before 3.11.5 a possessive repeat of a *group* keeps what its last, failed turn had
taken (CPython gh-106052): "true " for "true". Repeats of one character are sound.
"""

from __future__ import annotations

import re

from register.text import canonical, flow, guard
from register.text.nodes import Scalar
from register.text.parsing import parse_text


def test_no_pattern_repeats_a_group_possessively() -> None:
    patterns = [
        (module.__name__, name, value.pattern if isinstance(value, re.Pattern) else value)
        for module in (canonical, flow, guard)
        for name, value in vars(module).items()
        if isinstance(value, str | re.Pattern) and not name.startswith("__")
    ]
    assert len(patterns) > 5
    for module, name, pattern in patterns:
        text = pattern.decode() if isinstance(pattern, bytes) else pattern
        assert not re.search(r"\)(?:[*+?]|\{[\d,]+\})\+", text), (module, name)
        assert "(?>" not in text, (module, name)


def test_blanks_before_a_comment_are_no_part_of_the_value() -> None:
    node = parse_text("x.yaml", b"grounds: true                # a word on it\n").node
    assert node is not None
    value = node.get("grounds")
    assert isinstance(value, Scalar)
    assert value.text == "true"
