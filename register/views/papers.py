"""Papers: what runs until when, and whom it covers."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from register.findings.papers import PaperState, view_paper
from register.findings.papers import view_papers as find_papers
from register.ledger.ledger import Ledger


class PaperLine(Struct, frozen=True):
    """One paper on a day; `covers` is aircraft by name, or the whole fleet."""

    state: PaperState
    covers: tuple[str, ...]


class PapersView(Struct, frozen=True):
    """The answer to `papers`, soonest expiry first; `one` when a single paper was asked for."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    lines: tuple[PaperLine, ...]
    one: bool


def view_papers(
    ledger: Ledger, day: date, unread: tuple[str, ...], name: str | None = None
) -> PapersView:
    """All papers, or one."""
    states = (
        (view_paper(ledger.records.papers[name], day),)
        if name is not None
        else find_papers(ledger, day)
    )
    lines = tuple(PaperLine(state, _tell_covers(ledger, state)) for state in states)
    return PapersView(day, not unread, unread, lines, name is not None)


def _tell_covers(ledger: Ledger, state: PaperState) -> tuple[str, ...]:
    if state.paper.whole_fleet:
        return ("fleet",)
    return tuple(ledger.names.aircraft_name(ref) or ref.name for ref in state.paper.covers)
