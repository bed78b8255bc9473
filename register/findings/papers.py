"""Papers on a day: in date, running out, or out of date. The day of expiry is in date."""

from __future__ import annotations

from datetime import date
from typing import Literal

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.standing_files import PaperFile
from register.trouble import Place

PaperStanding = Literal["in-date", "soon", "expired", "not-yet", "cannot-tell"]


class PaperState(Struct, frozen=True):
    """A paper on a day."""

    paper: PaperFile
    state: PaperStanding
    until: date | None
    days_left: int | None
    says: str
    place: Place


def view_papers(ledger: Ledger, day: date, aircraft: str | None = None) -> tuple[PaperState, ...]:
    """Papers that cover an aircraft (or all of them), soonest expiry first."""
    found = [
        view_paper(paper, day)
        for paper in ledger.records.papers.values()
        if aircraft is None or covers(ledger, paper, aircraft)
    ]
    return tuple(sorted(found, key=lambda item: (item.until or date.max, item.paper.name)))


def covers(ledger: Ledger, paper: PaperFile, aircraft: str) -> bool:
    """Does a paper cover an aircraft: by name, or the whole fleet?"""
    return paper.whole_fleet or any(
        ledger.names.aircraft_name(ref) == aircraft for ref in paper.covers
    )


def view_paper(paper: PaperFile, day: date) -> PaperState:
    """The state of one paper."""
    valid = [
        (since, until)
        for since, until in paper.spells
        if (since is None or since <= day) and until is not None
    ]
    place = Place(paper.path, paper.place.line)
    if not valid:
        later = [since for since, _ in paper.spells if since is not None and since > day]
        if later:
            says = f"{paper.title}: begins {min(later).isoformat()}"
            return PaperState(paper, "not-yet", None, None, says, place)
        return PaperState(
            paper, "cannot-tell", None, None, f"{paper.title}: its expiry is not recorded", place
        )
    until = max(end for _, end in valid)
    left = (until - day).days
    if left < 0:
        says = f"{paper.title}: expired {until.isoformat()}"
        return PaperState(paper, "expired", until, left, says, place)
    state: PaperStanding = "soon" if left <= paper.warn_days else "in-date"
    says = f"{paper.title}: until {until.isoformat()} ({left} days)"
    return PaperState(paper, state, until, left, says, place)
