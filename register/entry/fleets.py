"""The files a new fleet begins with."""

from __future__ import annotations

import random
import re
from collections.abc import Mapping
from datetime import date
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from register.entry.ids import ALPHABET
from register.storage.writing import FileChange
from register.text.emitting import render_text, render_yaml
from register.trouble import RegisterError

OWNER = "owner"
Commit = tuple[str, tuple[FileChange, ...]]
"""A message, and what is committed under it."""
LONGEST_NAME = 100

_FLEET = """\
# A fleet of tailsheaf: this folder, all of it plain text. Change it with any editor;
# "tailsheaf check" says what is odd, "tailsheaf save" puts your edits into history.
schema: 1
name: {name}
# Days are days of this time zone.
home_zone: {zone}
# A season begins with the first flight on or after this month and day.
season_start: {season}
# To let a season also begin after a gap in flying, take the sign off the next line.
# season_gap_days: 60
# How near counts as soon; a tenth of the interval counts where that is nearer.
soon:
  days: 14
  flights: 5
  minutes: 60
"""

_ATTRIBUTES = """\
# Bytes stay as they were written, on every system.
* -text
*.yaml diff
"""

_IGNORE = """\
# No ignore file of your own may hide a record.
!fleet.yaml
!private.yaml
!stock.yaml
!aircraft/
!aircraft/**
!clashes/
!clashes/**
!kits/
!kits/**
!papers/
!papers/**
!parts/
!parts/**
!programmes/
!programmes/**
# What never belongs into history.
.tailsheaf-*
.DS_Store
Thumbs.db
*~
*.swp
"""


def check_zone(name: str) -> str:
    """A time zone by its name. Raises RegisterError (usage) for an unknown one."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise RegisterError(
            f"{name[:60]!r} is not a time zone",
            mend="--zone CET, or --zone UTC",
            code="zone-unknown",
        ) from error
    return name


def choose_zone(*names: str | None) -> str:
    """The first of several names that is a time zone, else UTC."""
    for name in names:
        if name:
            try:
                return check_zone(name)
            except RegisterError:
                continue
    return "UTC"


def check_season_start(text: str) -> str:
    """A month and day, as MM-DD. Raises RegisterError (usage)."""
    found = re.fullmatch(r"(\d{1,2})-(\d{1,2})", text.strip(), re.ASCII)
    if found:
        try:
            return date(2024, int(found[1]), int(found[2])).strftime("%m-%d")
        except ValueError:
            pass
    raise RegisterError(
        f"{text[:40]!r} is not a month and day",
        mend="--season-start 03-01   (month-day)",
        code="date-wrong",
    )


def check_fleet_name(text: str) -> str:
    """A name for the eye: one line of at most 100 characters."""
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise RegisterError(
            f"{text[:40]!r} cannot be the name of a fleet",
            mend=f'--name "My fleet"   (one line, at most {LONGEST_NAME} characters)',
            code="name-wrong",
        )
    return name


def make_machine_id(chance: random.Random) -> str:
    """A random name for this computer: it tells two of them apart and says nothing else."""
    return "m-" + "".join(chance.choices(ALPHABET, k=8))


def plan_fleet(name: str, zone: str, season_start: str, owner: str) -> tuple[FileChange, ...]:
    """The files of an empty fleet. fleet.yaml comes last: only then is the folder a fleet."""
    fleet = _FLEET.format(
        name=render_text(name), zone=render_text(zone), season=render_text(season_start)
    )
    people = render_yaml({"people": {OWNER: {"name": owner}}})
    private = (
        "# What never leaves in a handover: people, prices, suppliers, places.\n"
        '# "by" in a record is a key of people. Words that must never leave, whatever they are:\n'
        '# never: ["a word", "412 EUR"]\n' + people
    )
    files = {
        **_git_files(),
        "private.yaml": private.encode(),
        "fleet.yaml": fleet.encode(),
    }
    return tuple(FileChange(path, None, data) for path, data in files.items())


def plan_example(files: Mapping[str, bytes]) -> tuple[Commit, ...]:
    """The example fleet as commits: its standing files, then the events year by year."""
    seasons: dict[str, list[FileChange]] = {}
    begin: list[FileChange] = []
    for path, data in sorted({**_git_files(), **files}.items()):
        if path == "fleet.yaml":
            continue
        _, found, rest = path.partition("/events/")
        group = seasons.setdefault(rest[:4], []) if found else begin
        group.append(FileChange(path, None, data))
    begin.append(FileChange("fleet.yaml", None, files["fleet.yaml"]))
    commits = [("Copy the example fleet", tuple(begin))]
    commits.extend((f"Copy its events of {year}", tuple(seasons[year])) for year in sorted(seasons))
    return tuple(commits)


def _git_files() -> dict[str, bytes]:
    return {".gitattributes": _ATTRIBUTES.encode(), ".gitignore": _IGNORE.encode()}
