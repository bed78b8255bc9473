"""Hours as typed: an evening at the bench, and the hour at which an aircraft shall be ready."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from msgspec import Struct

from register.entry.dates import read_day
from register.trouble import RegisterError
from register.views.worklist import DEFAULT_EACH, DEFAULT_EVENING, DEFAULT_READY, Asked
from register.workshop.evenings import Evening

_HOUR = re.compile(r"(\d{1,2})(?:[:.h](\d{2}))?h?")
_MOST_EACH = 24 * 60
#: Where no day is given: all that is due within so many days.
_AHEAD = 7
_FURTHEST = 730
#: Shorter than this nothing can be laid out.
_LEAST_MINUTES = 15


class WorklistWords(Struct, frozen=True):
    """A worklist as asked for."""

    until: str | None = None
    evening: str | None = None
    ready: str | None = None
    each: int | None = None
    planned: int | None = None
    every: bool = False


def read_asked(words: WorklistWords, day: date, moment: datetime | None, zone: ZoneInfo) -> Asked:
    """What is meant. `day` is the day of knowledge; `moment` the clock, if that day is today.

    Raises RegisterError (USAGE).
    """
    until = day + timedelta(days=_AHEAD)
    if words.until is not None:
        noon = datetime.combine(day, time(12), zone)
        until = read_day(words.until, moment or noon, zone, ahead=True)
    if not day <= until <= day + timedelta(days=_FURTHEST):
        raise RegisterError(
            f"--until {until.isoformat()} is before {day.isoformat()}"
            if until < day
            else f"--until {until.isoformat()} is more than two years ahead",
            mend=f"--until {(day + timedelta(days=_AHEAD)).isoformat()}",
            code="until-wrong",
        )
    return Asked(
        until,
        moment,
        DEFAULT_EVENING if words.evening is None else read_evening(words.evening),
        DEFAULT_READY if words.ready is None else read_hour(words.ready, "--ready"),
        DEFAULT_EACH if words.each is None else read_each(words.each),
        words.planned,
        words.every,
    )


def read_evening(text: str) -> Evening:
    """`19:00-22:00` or `19-22`; an end before the beginning is past midnight.

    Raises RegisterError (USAGE).
    """
    first, dash, last = text.replace("\u2013", "-").replace(" ", "").partition("-")
    begins, ends = _parse_hour(first), _parse_hour(last)
    if not dash or begins is None or ends is None:
        raise RegisterError(
            f"--evening {text[:40]!r} is not from when to when",
            mend="--evening 19:00-22:00",
            code="evening-wrong",
        )
    evening = Evening(begins, ends)
    if begins == ends or evening.minutes < _LEAST_MINUTES:
        raise RegisterError(
            f"an evening from {begins:%H:%M} to {ends:%H:%M} leaves no time for work",
            mend="--evening 19:00-22:00",
            code="evening-wrong",
        )
    return evening


def read_hour(text: str, option: str) -> time:
    """An hour of the day: `10:00`, `9`. Raises RegisterError (USAGE)."""
    hour = _parse_hour(text.replace(" ", ""))
    if hour is None:
        raise RegisterError(
            f"{option} {text[:40]!r} is no hour of the day",
            mend=f"{option} 10:00",
            code="hour-wrong",
        )
    return hour


def read_each(value: int) -> int:
    """Minutes reckoned with where none are stated. Raises RegisterError (USAGE)."""
    if not 0 < value <= _MOST_EACH:
        raise RegisterError(
            f"--each {value} is no time for a piece of work", mend="--each 15", code="number-wrong"
        )
    return value


def _parse_hour(text: str) -> time | None:
    found = _HOUR.fullmatch(text) if text.isascii() else None
    if found is None or int(found[1]) > 23 or int(found[2] or 0) > 59:
        return None
    return time(int(found[1]), int(found[2] or 0))
