"""Data to text in the one canonical form.

Keys plain, every text between double quotes, numbers and true/false plain, block
style with two spaces. Lists of up to twelve numbers stand on one line: `[7, 8, 6]`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from collections.abc import Mapping as AnyMapping
from decimal import Decimal

from register.text.nodes import Plain
from register.trouble import RegisterError

_MAX_KEY = 100
_MAX_FLOW = 12
_MAX_DIGITS = 1000

_PLAIN_KEY = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]*")
_NOT_PLAIN = frozenset(("null", "Null", "NULL", "true", "True", "TRUE", "false", "False", "FALSE"))
_SHORT = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r", "\b": "\\b", "\f": "\\f"}

# Quote and backslash; what YAML calls unprintable; line separators; the byte order
# mark; signs that turn the direction of writing and so can hide text in a review.
_ESCAPED = re.compile(
    '["\\\\\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]'
)


def render_yaml(data: AnyMapping[str, Plain]) -> str:
    """The canonical text of a record. Keys whose value is None are left out.

    Raises `RegisterError` on data no file can hold: half a surrogate pair, a number
    that is not finite, a key of more than 100 characters.
    """
    lines = list(_mapping_lines(data, ""))
    return "\n".join(lines) + "\n" if lines else "{}\n"


def render_text(text: str) -> str:
    """One text between double quotes."""
    return f'"{_ESCAPED.sub(_escape, text)}"'


def render_key(key: str) -> str:
    """A key: plain where it is a plain word, else between double quotes."""
    if len(key) > _MAX_KEY:
        raise RegisterError(
            f"a key has {len(key)} characters; at most {_MAX_KEY} are allowed",
            mend="give it a short name and put the words into the value",
            code="key-too-long",
        )
    if _PLAIN_KEY.fullmatch(key) and key not in _NOT_PLAIN:
        return key
    return render_text(key)


def render_inline(value: Plain) -> str | None:
    """The value on one line, or None when it needs lines of its own."""
    if value is None:
        return ""
    if isinstance(value, str):
        return render_text(value)
    if isinstance(value, (bool, int, Decimal)):
        return _render_number(value)
    if isinstance(value, list):
        if not value:
            return "[]"
        if len(value) <= _MAX_FLOW and all(_is_number(item) for item in value):
            return render_flow(value)
        return None
    return None if any(item is not None for item in value.values()) else "{}"


def render_flow(value: Plain) -> str:
    """The value in flow form, for a place inside brackets."""
    if isinstance(value, list):
        items = ["null" if item is None else render_flow(item) for item in value]
        return f"[{', '.join(items)}]"
    if isinstance(value, dict):
        pairs = [
            f"{render_key(key)}: {render_flow(item)}"
            for key, item in value.items()
            if item is not None
        ]
        return f"{{{', '.join(pairs)}}}"
    return render_inline(value) or "null"


def render_block(
    value: list[Plain] | dict[str, Plain], indent: str, dash: str = "  ", step: str = "  "
) -> list[str]:
    """The lines of a mapping or list that needs lines of its own.

    `indent` is what stands before each of its keys or dashes; `dash` and `step` are
    how much further lists and mappings inside it are indented.
    """
    if isinstance(value, list):
        return list(_sequence_lines(value, indent, dash, step))
    return list(_mapping_lines(value, indent, dash, step))


def _mapping_lines(
    data: AnyMapping[str, Plain], indent: str, dash: str = "  ", step: str = "  "
) -> Iterator[str]:
    for key, value in data.items():
        if value is None:
            continue
        head = f"{indent}{render_key(key)}:"
        inline = render_inline(value)
        if inline is not None or not isinstance(value, (list, dict)):
            yield f"{head} {inline}"
            continue
        yield head
        inner = indent + (dash if isinstance(value, list) else step)
        yield from render_block(value, inner, dash, step)


def _sequence_lines(items: list[Plain], indent: str, dash: str, step: str) -> Iterator[str]:
    for item in items:
        inline = render_inline(item)
        if inline is not None:
            yield f"{indent}- {inline}".rstrip(" ")
        elif isinstance(item, list):
            yield f"{indent}-"
            yield from _sequence_lines(item, indent + "  ", dash, step)
        elif isinstance(item, dict):
            lines = render_block(item, indent + "  ", dash, step)
            yield f"{indent}- {lines[0].lstrip(' ')}"
            yield from lines[1:]


def _is_number(value: Plain) -> bool:
    return isinstance(value, (int, Decimal)) and not isinstance(value, bool)


def _render_number(value: bool | int | Decimal) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        if value.bit_length() <= 3 * _MAX_DIGITS:
            return str(value)
    elif value.is_finite() and abs(value.adjusted()) < _MAX_DIGITS:
        return format(value, "f")
    raise RegisterError(
        "a number is not finite or has too many digits to be written down",
        mend="write an ordinary number, for example 12.5",
        code="number-impossible",
    )


def _escape(match: re.Match[str]) -> str:
    character = match.group()
    short = _SHORT.get(character)
    if short is not None:
        return short
    if "\ud800" <= character <= "\udfff":
        raise RegisterError(
            "the text holds half a character (a lone surrogate), which no file can keep",
            mend="type the text again",
            code="lone-surrogate",
        )
    return f"\\u{ord(character):04x}"
