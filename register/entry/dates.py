"""Days and times as a person types them: ISO, "yesterday 14:20", "sat", "3 days ago", "12 may".

Nothing ambiguous is guessed: a numeric date other than year-month-day is refused.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from register.entry.clerk import When
from register.trouble import RegisterError

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_NEAR_DAYS = {"today": 0, "yesterday": -1, "tomorrow": 1}
_ISO_DAY = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_AGO = re.compile(r"(\d{1,4}) ?(days?|d|weeks?|w) ago")
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ -]([a-z]{3,9})\.?(?:[ ,-]+(\d{4}))?")
_MONTH_DAY = re.compile(r"([a-z]{3,9})\.?[ -](\d{1,2})(?:st|nd|rd|th)?(?:[ ,]+(\d{4}))?")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?")
_OFFSET = re.compile(r"(?<=:\d\d) ?(z|[+-]\d{2}:?\d{2})$")
_EARLIEST, _LATEST = 1950, 2150
#: A fact may be typed past midnight or in another zone; later than this is a slip.
_DAYS_AHEAD = 1


def read_day(text: str, now: datetime, zone: ZoneInfo, *, ahead: bool = False) -> date:
    """A day. A bare weekday or day and month is the last such day up to today;
    with `ahead` the next one, today included.

    Raises RegisterError (USAGE) on what is no day, or could be two.
    """
    today = now.astimezone(zone).date()
    word = _clean(text)
    if word in _NEAR_DAYS:
        return today + timedelta(days=_NEAR_DAYS[word])
    found = _ISO_DAY.fullmatch(word)
    if found:
        return _make_day(text, int(found[1]), int(found[2]), int(found[3]))
    found = _AGO.fullmatch(word)
    if found:
        return today - timedelta(days=int(found[1]) * (7 if found[2][0] == "w" else 1))
    weekday = _match_word(word, _WEEKDAYS, 2)
    if weekday is not None:
        if ahead:
            return today + timedelta(days=(weekday - today.weekday()) % 7)
        return today - timedelta(days=(today.weekday() - weekday) % 7)
    if word.startswith("last "):
        return _read_last(text, word.removeprefix("last "), today)
    return _read_named(text, word, today, ahead=ahead)


def read_when(text: str, now: datetime, zone: ZoneInfo) -> When:
    """The day of a fact, with its time where one is given; home time unless an offset stands.

    Raises RegisterError (USAGE), also for a day more than one ahead of today.
    """
    if not text.strip():
        raise RegisterError(
            "--at is empty", mend="--at 2026-05-16  or  --at yesterday", code="date-form"
        )
    day_text, clock, offset = _split(text)
    day = read_day(day_text, now, zone) if day_text else now.astimezone(zone).date()
    today = now.astimezone(zone).date()
    if (day - today).days > _DAYS_AHEAD:
        raise RegisterError(
            f"{day.isoformat()} has not come yet (today is {today.isoformat()}); "
            "facts are recorded on or after their day",
            mend=_last_year(day, today),
            code="date-ahead",
        )
    if clock is None:
        return When(day)
    return When(day, _read_instant(text, day, clock, offset, zone))


def take_now(now: datetime, zone: ZoneInfo) -> When:
    """This minute, in home time."""
    instant = now.astimezone(zone).replace(second=0, microsecond=0)
    return When(instant.date(), instant)


def _clean(text: str) -> str:
    return " ".join(text.lower().split())


def _split(text: str) -> tuple[str, str | None, str | None]:
    """Day, clock and offset of a typed moment."""
    word = re.sub(r"(?<=\d)t(?=\d{1,2}:)", " ", _clean(text))
    offset = None
    found = _OFFSET.search(word)
    if found:
        offset, word = found[1], word[: found.start()]
    head, _, last = word.rpartition(" ")
    if _CLOCK.fullmatch(last):
        return head.removesuffix(" at"), last, offset
    return word, None, None


def _read_instant(text: str, day: date, clock: str, offset: str | None, zone: ZoneInfo) -> datetime:
    found = _CLOCK.fullmatch(clock)
    hour, minute = (int(found[1]), int(found[2])) if found else (99, 0)
    if hour > 23 or minute > 59:
        raise RegisterError(
            f"{text[:40]!r}: {clock} is not a time of the clock",
            mend=f'--at "{day.isoformat()} 14:20"',
            code="time-impossible",
        )
    if offset is not None:
        sign = "+00:00" if offset == "z" else offset
        sign = sign if ":" in sign else f"{sign[:3]}:{sign[3:]}"
        try:
            return datetime.fromisoformat(f"{day.isoformat()}T{hour:02}:{minute:02}{sign}")
        except ValueError as error:
            raise RegisterError(
                f"{text[:40]!r}: {offset} is not an offset from UTC",
                mend=f"--at {day.isoformat()}T{hour:02}:{minute:02}+02:00",
                code="time-impossible",
            ) from error
    return _home_instant(day, hour, minute, zone)


def _home_instant(day: date, hour: int, minute: int, zone: ZoneInfo) -> datetime:
    naive = datetime(day.year, day.month, day.day, hour, minute)  # noqa: DTZ001 - zoned below
    first, second = naive.replace(tzinfo=zone), naive.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return first
    exists = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == naive
    what = "comes twice (clocks go back)" if exists else "does not exist (clocks go forward)"
    raise RegisterError(
        f"{naive.isoformat(sep=' ', timespec='minutes')} {what} in {zone.key}",
        mend=f"--at {first.isoformat(timespec='minutes')}  or  "
        f"--at {second.isoformat(timespec='minutes')}",
        code="time-doubtful",
    )


def _make_day(text: str, year: int, month: int, day: int) -> date:
    try:
        found = date(year, month, day)
    except ValueError as error:
        raise RegisterError(
            f"{text[:40]!r} is not a day of the calendar",
            mend="write year-month-day, for example 2026-05-31",
            code="date-impossible",
        ) from error
    if not _EARLIEST <= year <= _LATEST:
        raise RegisterError(
            f"the year {year} is outside {_EARLIEST} to {_LATEST}",
            mend="write year-month-day, for example 2026-05-31",
            code="date-unlikely",
        )
    return found


def _match_word(word: str, words: tuple[str, ...], least: int) -> int | None:
    found = [n for n, full in enumerate(words) if len(word) >= least and full.startswith(word)]
    return found[0] if len(found) == 1 else None


def _read_named(text: str, word: str, today: date, *, ahead: bool) -> date:
    """Day and month by name, with or without the year."""
    found = _DAY_MONTH.fullmatch(word)
    if found:
        number, name, year = found[1], found[2], found[3]
    else:
        found = _MONTH_DAY.fullmatch(word)
        if not found:
            raise _not_a_day(text, word)
        number, name, year = found[2], found[1], found[3]
    month = _match_word("september" if name == "sept" else name, _MONTHS, 3)
    if month is None:
        raise _not_a_day(text, word)
    if year:
        return _make_day(text, int(year), month + 1, int(number))
    for candidate in (today.year, today.year + (1 if ahead else -1)):
        try:
            day = date(candidate, month + 1, int(number))
        except ValueError:
            continue
        if (day >= today) if ahead else (day <= today):
            return day
    return _make_day(text, today.year, month + 1, int(number))


def _read_last(text: str, word: str, today: date) -> date:
    """`last saturday`, where only one day can be meant: the last such day, if of last week."""
    weekday = _match_word(word, _WEEKDAYS, 2)
    if weekday is None:
        raise _not_a_day(text, word)
    back = (today.weekday() - weekday) % 7 or 7
    day = today - timedelta(days=back)
    if weekday < today.weekday():
        earlier = day - timedelta(days=7)
        raise RegisterError(
            f"{text[:40]!r} could be {day.isoformat()} or {earlier.isoformat()}",
            mend=f"write {_WEEKDAYS[weekday][:3]} for the first, or the day year-month-day",
            code="date-form",
        )
    return day


def _not_a_day(text: str, word: str) -> RegisterError:
    return RegisterError(
        f"{text[:40]!r} {_why_not(word)}",
        mend='write year-month-day, for example 2026-05-31; or "yesterday", "sat", "12 may"',
        code="date-form",
    )


def _why_not(word: str) -> str:
    """What keeps a word from being a day: one of several things, never a guess."""
    name = re.fullmatch(r"([a-z]{3,9})\.? \d{4}", word)
    named = name is not None and _match_word(name[1], _MONTHS, 3) is not None
    if named or re.fullmatch(r"\d{4}-\d{1,2}|\d{1,2}[./-]\d{4}", word):
        return "is a month, and a day is needed"
    found = re.fullmatch(r"(\d{1,2})[./-](\d{1,2})(?:[./-](?:\d{2}|\d{4})?)?", word)
    if not found:
        return "is not a day this program reads"
    one, two = int(found[1]), int(found[2])
    if one != two and 1 <= one <= 12 and 1 <= two <= 12:
        return "could be read in two ways"
    return "is not written year-month-day"


def _last_year(day: date, today: date) -> str:
    try:
        slip = day.replace(
            year=today.year if day.replace(year=today.year) <= today else today.year - 1
        )
    except ValueError:
        return "give the day it happened, year-month-day"
    return f"if you meant last time round:  --at {slip.isoformat()}"
