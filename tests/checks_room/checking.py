"""A fleet of sheets, surveyed: `from checks_room.checking import TODAY, found, says`."""

from __future__ import annotations

from laws.sheets import Sheets, day

from register.checks import check_ledger
from register.trouble import Problem

TODAY = "2026-05-16"


def problems(sheets: Sheets, today: str = TODAY) -> tuple[Problem, ...]:
    """What the rules find."""
    return check_ledger(sheets.ledger(), day(today))


def found(sheets: Sheets, today: str = TODAY) -> list[str]:
    """Codes, in order."""
    return sorted(problem.code for problem in problems(sheets, today))


def the(sheets: Sheets, code: str, today: str = TODAY) -> Problem:
    """The one problem of a code."""
    (problem,) = (item for item in problems(sheets, today) if item.code == code)
    return problem
