"""Amounts as a person types them: minutes in several forms, and counts."""

from __future__ import annotations

import re
from decimal import Decimal

from register.records.values import format_amount
from register.trouble import RegisterError

_NUMBER = r"\d{1,6}(?:\.\d{1,6})?"
_PLAIN = re.compile(rf"({_NUMBER}) ?(h|hours?|hrs?|m|mins?|minutes?|s|secs?|seconds?)?")
_MIXED = re.compile(
    r"(?:(\d{1,5}) ?h(?:ours?)? ?)?(?:(\d{1,5}) ?m(?:in)? ?)?(?:(\d{1,5}) ?s(?:ec)?)?"
)
_CLOCK = re.compile(r"(\d{1,4}):(\d{2})(?::(\d{2}))?")
_HUNDREDTH = Decimal("0.01")
DAY_MINUTES = Decimal(24 * 60)
MOST_COUNT = 500


def read_minutes(
    text: str, *, what: str = "minutes", most: Decimal | None = DAY_MINUTES
) -> Decimal:
    """Minutes from "12", "12 min", "0.2 h", "1:30" (hours:minutes) or "7m30s".

    `most` is the largest amount accepted, in minutes; None for a meter's total.
    Raises RegisterError (USAGE) on anything else, negative amounts among them.
    """
    word = " ".join(text.lower().split())
    value = _parse_minutes(word)
    if value is None:
        raise _wrong(text, what, "12, 0.2h, 1:30 (hours:minutes) or 7m30s")
    if most is not None and value > most:
        raise RegisterError(
            f"{what}: {format_amount(value)} minutes is more than {format_amount(most)}",
            mend=f"give minutes, for example {what} 12",
            code="amount-unlikely",
        )
    return value


def _parse_minutes(word: str) -> Decimal | None:
    found = _CLOCK.fullmatch(word)
    if found:
        hours, minutes, seconds = int(found[1]), int(found[2]), int(found[3] or 0)
        if minutes > 59 or seconds > 59:
            return None
        return _round(Decimal(hours * 60 + minutes) + Decimal(seconds) / 60)
    found = _PLAIN.fullmatch(word)
    if found:
        unit = (found[2] or "m")[0]
        factor = {"h": Decimal(60), "m": Decimal(1), "s": Decimal(1) / 60}[unit]
        return _round(Decimal(found[1]) * factor)
    found = _MIXED.fullmatch(word)
    if found and word:
        hours, minutes, seconds = (int(part or 0) for part in found.groups())
        return _round(Decimal(hours * 60 + minutes) + Decimal(seconds) / 60)
    return None


def _round(value: Decimal) -> Decimal:
    rounded = value.quantize(_HUNDREDTH).normalize()
    return rounded if rounded != rounded.to_integral_value() else rounded.quantize(Decimal(1))


def read_each(text: str) -> tuple[Decimal, ...]:
    """Minutes flight by flight: "7,8,6" or "7 8 6"."""
    items = [item for item in re.split(r"[,\s]+", text.strip()) if item]
    if not items:
        raise _wrong(text, "each", "7,8,6")
    return tuple(read_minutes(item, what="each") for item in items)


def read_count(
    text: str | int, *, what: str = "count", least: int = 1, most: int = MOST_COUNT
) -> int:
    """A whole number between `least` and `most`. Raises RegisterError (USAGE)."""
    word = str(text).strip()
    if not re.fullmatch(r"\d{1,9}", word, re.ASCII):
        raise _wrong(word, what, f"a whole number, for example {max(least, 3)}")
    value = int(word)
    if not least <= value <= most:
        raise RegisterError(
            f"{what}: {value} is not between {least} and {most}",
            mend=f"give a whole number from {least} to {most}",
            code="amount-unlikely",
        )
    return value


def read_number(text: str, *, what: str) -> Decimal:
    """A decimal number with a point, perhaps below zero. Raises RegisterError (USAGE)."""
    word = text.strip()
    if not re.fullmatch(r"[+-]?\d{1,9}(\.\d{1,6})?", word, re.ASCII):
        raise _wrong(word, what, "a number with a decimal point, for example 1.5")
    return Decimal(word)


def _wrong(text: str, what: str, form: str) -> RegisterError:
    negative = text.strip().startswith("-")
    says = f"{what}: {text.strip()[:40]!r} " + (
        "is negative" if negative else "is not an amount this program reads"
    )
    return RegisterError(says, mend=f"give {form}", code="amount-wrong")
