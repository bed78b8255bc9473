"""Calendar points: always n steps from an anchor, never chained, clamped to month end.

`months` clamps (31 August + 6 months = 28 February); `calendar-months` runs to the
last day of the n-th month (the calendar-month rule of 14 CFR 91.409); `days` is days.
"""

from __future__ import annotations

from datetime import date, timedelta

from msgspec import Struct
from msgspec.structs import replace

_DAYS_IN_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def is_leap(year: int) -> bool:
    """Gregorian leap years."""
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


def month_length(year: int, month: int) -> int:
    """Days in a month."""
    return 29 if month == 2 and is_leap(year) else _DAYS_IN_MONTH[month - 1]


def add_months(day: date, months: int) -> date:
    """The same day `months` later, clamped to the end of the month."""
    number = day.year * 12 + day.month - 1 + months
    year, month = divmod(number, 12)
    return date(year, month + 1, min(day.day, month_length(year, month + 1)))


def month_end(day: date) -> date:
    """The last day of the month of a day."""
    return day.replace(day=month_length(day.year, day.month))


class CalendarPoint(Struct, frozen=True):
    """A day reached from an anchor by whole months and days."""

    anchor: date
    months: int = 0
    days: int = 0
    to_month_end: bool = False

    def plus(self, unit: str, amount: int) -> CalendarPoint:
        """The point `amount` of `unit` further from the same anchor."""
        if unit == "days":
            return replace(self, days=self.days + amount)
        return replace(self, months=self.months + amount, to_month_end=unit == "calendar-months")

    @property
    def day(self) -> date:
        """The day itself."""
        reached = add_months(self.anchor, self.months)
        if self.to_month_end and self.months:
            reached = month_end(reached)
        return reached + timedelta(days=self.days)


def season_day(year: int, start: tuple[int, int]) -> date:
    """The season's first day in a year; 29 February clamps."""
    month, day = start
    return date(year, month, min(day, month_length(year, month)))


def season_of(day: date, start: tuple[int, int]) -> date:
    """The first day of the season that a day lies in."""
    here = season_day(day.year, start)
    return here if here <= day else season_day(day.year - 1, start)
