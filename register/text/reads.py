"""What other YAML readers make of text without quotes.

Sources: YAML 1.2.2, section 10.3.2 (core schema), and the YAML 1.1 type repository
(bool, int, float, timestamp, null). The house reads such text by what the record
asks for; this only says why quotes are wanted.
"""

from __future__ import annotations

import re
from decimal import Decimal

_NOTHING = frozenset(("", "~", "null", "Null", "NULL"))
_TRUE = frozenset(("y", "yes", "true", "on"))
_FALSE = frozenset(("n", "no", "false", "off"))
_DECIMAL = re.compile(r"[-+]?[0-9][0-9_]*")
_BASED = re.compile(r"([-+]?)0(?:x([0-9a-fA-F_]+)|o([0-7]+)|b([01_]+))")
_OLD_OCTAL = re.compile(r"[-+]?0[0-7_]+")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9][0-9_]*|[0-9][0-9_]*(?:\.[0-9_]*)?)(?:[eE][-+]?[0-9]+)?")
_BASE_60 = re.compile(r"([-+]?)([1-9][0-9_]*|0(?=[^\n]*\.))((?::[0-5]?[0-9])+)(\.[0-9_]*)?")
_INFINITE = re.compile(r"[-+]?\.(?:inf|Inf|INF)")
_NOT_NUMBER = re.compile(r"\.(?:nan|NaN|NAN)")
_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_TIMESTAMP = re.compile(
    r"\d{4}-\d\d?-\d\d?(?:[Tt]|[ \t]+)\d\d?:\d\d:\d\d(?:\.\d*)?"
    r"(?:[ \t]*(?:Z|[-+]\d\d?(?::?\d\d)?))?"
)
_MAX_DIGITS = 40


def reads_as(text: str) -> str | None:
    """What a YAML 1.1 or 1.2 reader turns this unquoted text into; None when it stays text."""
    if text in _NOTHING:
        return "nothing"
    word = text.lower()
    if word in _TRUE or word in _FALSE:
        # Mixed case such as yEs is text everywhere.
        if text in (word, word.upper(), word.capitalize()):
            return "true" if word in _TRUE else "false"
        return None
    if _DATE.fullmatch(text):
        return "a date"
    if _TIMESTAMP.fullmatch(text):
        return "a date and time"
    return _number(text)


def _number(text: str) -> str | None:
    if _INFINITE.fullmatch(text):
        return "infinity"
    if _NOT_NUMBER.fullmatch(text):
        return "not a number"
    if len(text) > _MAX_DIGITS:
        return "a number" if _FLOAT.fullmatch(text) or _BASED.fullmatch(text) else None
    based = _BASED.fullmatch(text)
    if based is not None:
        return _based_number(based)
    sixty = _BASE_60.fullmatch(text)
    if sixty is not None:
        return _base_sixty(sixty)
    if _DECIMAL.fullmatch(text):
        value = int(text.replace("_", "") or "0")
        if _OLD_OCTAL.fullmatch(text) and abs(value) > 7:
            old = int(text.replace("_", ""), 8)
            return f"the number {value} (or {old} in base 8)"
        return f"the number {value}"
    if _FLOAT.fullmatch(text):
        return _decimal_number(text.replace("_", ""))
    return None


def _decimal_number(text: str) -> str:
    value = Decimal(text)
    if not value or -15 < value.adjusted() < 21:
        whole = value.to_integral_value()
        return f"the number {whole:f}" if value == whole else f"the number {value:f}"
    return f"the number {value:E}"


def _based_number(match: re.Match[str]) -> str | None:
    sign, sixteen, eight, two = match.groups()
    for digits, base in ((sixteen, 16), (eight, 8), (two, 2)):
        cleaned = (digits or "").replace("_", "")
        if cleaned:
            return f"the number {sign.lstrip('+')}{int(cleaned, base)}"
    return None


def _base_sixty(match: re.Match[str]) -> str:
    sign, first, rest, _fraction = match.groups()
    total = int(first.replace("_", ""))
    parts = rest.split(":")[1:]
    for part in parts:
        total = total * 60 + int(part)
    unit = "minutes" if len(parts) == 1 else "seconds"
    return f"{sign.lstrip('+')}{total} ({unit} as base 60)"
