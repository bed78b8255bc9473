"""Reading one written value: words, numbers, days, times and references, with their places."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from typing import Protocol
from zoneinfo import ZoneInfo

from register.records.values import Moment, Ref, format_amount
from register.text.nodes import Scalar
from register.text.parsing import reads_as
from register.trouble import Level, Place

NAME_PATTERN = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?")
#: Lenient on reading: ids made here are 10 characters of lower-case Crockford base32.
ID_PATTERN = re.compile(r"[a-z0-9]{3,32}")
_DAY = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)
_MOMENT = re.compile(
    r"(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2})(:\d{2}(?:\.\d{1,6})?)?\s*(Z|[+-]\d{2}:?\d{2})?",
    re.ASCII,
)
_EARLIEST, _LATEST = 1950, 2150
_LARGEST = Decimal(10) ** 9


def nearest(word: str, words: Iterable[str]) -> str | None:
    """The known word most like the one given, if any is near."""
    found = difflib.get_close_matches(word, list(words), n=1, cutoff=0.6)
    return found[0] if found else None


class Reporter(Protocol):
    """Whatever gathers the problems of one mapping, and knows the home zone."""

    zone: ZoneInfo | None

    def report(self, place: Place, code: str, says: str, mend: str, level: Level = "error") -> None:
        """Keep one problem."""


def read_text(fields: Reporter, key: str, node: Scalar) -> str:
    """The characters as written; a bare value another reader would change is flagged."""
    if node.plain:
        other = reads_as(node.text)
        if other is not None:
            fields.report(
                node.place,
                "needs-quotes",
                f"{key}: {node.text} without quotes is read by other programs as {other}",
                f'put it in quotes:  {key}: "{node.text}"',
                "warning",
            )
    return node.text


def read_amount(
    fields: Reporter, key: str, node: Scalar, *, negative: bool = False
) -> Decimal | None:
    """A plain decimal number, or a problem with its place."""
    text = node.text.strip()
    value: Decimal | None = None
    if re.fullmatch(r"[+-]?\d{1,12}(\.\d{1,9})?", text, re.ASCII):
        try:
            value = Decimal(text)
        except InvalidOperation:  # pragma: no cover - the pattern admits decimals only
            value = None
    if value is None or abs(value) > _LARGEST:
        shown = text if len(text) <= 24 else text[:20] + "…"
        hours = re.fullmatch(r"(\d{1,6}(?:\.\d{1,3})?) ?h", text, re.ASCII)
        number = format_amount(Decimal(hours[1]) * 60) if hours else "12"
        why = f"   ({text} in minutes)" if hours else ""
        fields.report(
            node.place,
            "number-wrong",
            f"{key}: {shown!r} is not a number this register keeps",
            f"write an ordinary number, for example  {key}: {number}{why}",
        )
        return None
    if value < 0 and not negative:
        fields.report(
            node.place,
            "number-negative",
            f"{key}: {text} is negative",
            f"write  {key}: {text.lstrip('-')}  or withdraw the record",
        )
        return None
    return value


def read_day(fields: Reporter, key: str, node: Scalar) -> date | None:
    """An exact year-month-day; never guessed."""
    text = node.text.strip()
    found = _DAY.fullmatch(text)
    if not found:
        fields.report(
            node.place,
            "date-form",
            f"{key}: {text!r} is not written year-month-day",
            f'write, for example  {key}: "2026-05-31"',
        )
        return None
    year, month, day = (int(part) for part in found.groups())
    try:
        value = date(year, month, day)
    except ValueError:
        fields.report(
            node.place,
            "date-impossible",
            f"{key}: {text} is not a day of the calendar",
            f'write year-month-day, for example  {key}: "{max(year, 1950):04d}-05-31"',
        )
        return None
    if not _EARLIEST <= year <= _LATEST:
        fields.report(
            node.place,
            "date-unlikely",
            f"{key}: the year {year} is outside {_EARLIEST} to {_LATEST}",
            f'write, for example  {key}: "2026-05-31"',
        )
        return None
    return value


def read_moment(fields: Reporter, key: str, node: Scalar) -> Moment | None:
    """A day alone, or a day and time; without an offset it is home time."""
    text = node.text.strip()
    if len(text) <= 10:
        day = read_day(fields, key, node)
        return None if day is None else Moment(day, None, text)
    found = _MOMENT.fullmatch(text)
    if not found:
        fields.report(
            node.place,
            "date-form",
            f"{key}: {text!r} is not a day, or a day and time",
            f'write, for example  {key}: "2026-05-31T14:20+02:00"',
        )
        return None
    day = read_day(fields, key, Scalar(node.place, found[1], node.plain))
    if day is None:
        return None
    offset = found[4] or ""
    if offset and offset != "Z" and ":" not in offset:
        offset = offset[:3] + ":" + offset[3:]
    try:
        instant = datetime.fromisoformat(f"{found[1]}T{found[2]}{found[3] or ''}{offset}")
    except ValueError:
        fields.report(
            node.place,
            "time-impossible",
            f"{key}: {text} is not a time of the clock",
            f'write, for example  {key}: "{found[1]}T14:20+02:00"',
        )
        return None
    if instant.tzinfo is None:
        instant = _home_instant(fields, key, node, instant)
    return Moment(day, instant, text)


def _home_instant(fields: Reporter, key: str, node: Scalar, naive: datetime) -> datetime:
    zone = fields.zone or UTC
    instant = naive.replace(tzinfo=zone)
    there_and_back = instant.astimezone(UTC).astimezone(zone)
    other = naive.replace(tzinfo=zone, fold=1)
    if there_and_back.replace(tzinfo=None) != naive:
        says = f"{key}: {node.text} does not exist in the home zone (clocks go forward)"
    elif other.utcoffset() != instant.utcoffset():
        says = f"{key}: {node.text} comes twice in the home zone (clocks go back)"
    else:
        return instant
    offset = instant.utcoffset() or timedelta(0)
    hours = int(offset.total_seconds() // 3600)
    fields.report(
        node.place,
        "time-doubtful",
        says,
        f'write the offset:  {key}: "{naive.isoformat(timespec="minutes")}{hours:+03d}:00"',
        "warning",
    )
    return instant


def read_ref(fields: Reporter, key: str, node: Scalar) -> Ref | None:
    """`name` or `name.id`."""
    name, _, id_ = node.text.strip().lower().partition(".")
    if not NAME_PATTERN.fullmatch(name) or (id_ and not ID_PATTERN.fullmatch(id_)):
        shown = node.text if len(node.text) <= 40 else node.text[:36] + "…"
        fields.report(
            node.place,
            "name-wrong",
            f"{key}: {shown!r} is not a name (a-z, 0-9 and -)",
            f'write, for example  {key}: "heron"',
        )
        return None
    return Ref(name, id_ or None, node.place)
