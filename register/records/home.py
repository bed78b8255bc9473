"""What fleet.yaml says of the fleet's home: its time zone, and when the season begins."""

from __future__ import annotations

import re
from datetime import date
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from register.records.fields import Fields


def read_home_zone(fields: Fields) -> str:
    """A time zone by its name; UTC where there is none or it is not one."""
    name = fields.text("home_zone") or "UTC"
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        fields.report(
            fields.place("home_zone"),
            "zone-unknown",
            f"home_zone: {name!r} is not a time zone",
            'write, for example  home_zone: "CET"  or  home_zone: "UTC"',
        )
        return "UTC"
    return name


def read_season_start(fields: Fields) -> tuple[int, int]:
    """Month and day of the first of the season; 1 March where it is not stated."""
    text = fields.text("season_start") or "03-01"
    found = re.fullmatch(r"(\d{2})-(\d{2})", text, re.ASCII)
    if found:
        try:
            # A leap year admits 29 February; the clamp to 28 comes with the year asked.
            date(2024, int(found[1]), int(found[2]))
        except ValueError:
            pass
        else:
            return int(found[1]), int(found[2])
    fields.report(
        fields.place("season_start"),
        "date-form",
        f"season_start: {text!r} is not a month and day",
        'write, for example  season_start: "03-01"',
    )
    return 3, 1
