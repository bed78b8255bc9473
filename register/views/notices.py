"""The notices of the fleet: what each part was asked, what it answered, what is open."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from register.findings.notices import OPEN, NoticeState, list_notices, view_states
from register.findings.traps import places_of
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.notices import Notice

_ORDER = (*OPEN, "clear", "repaired", "not-applicable")


class NoticeHead(Struct, frozen=True):
    """One notice or trap, whom it is about, and how many of them are open."""

    notice: Notice
    kit: str | None
    aircraft: tuple[str, ...]
    open: int
    places: tuple[str, ...]


class NoticesView(Struct, frozen=True):
    """The answer to `notices`. With `detail`, one notice wholly, or several of one name."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    subject: Subject | None
    name: str | None
    heads: tuple[NoticeHead, ...]
    traps: tuple[NoticeHead, ...]
    rows: tuple[NoticeState, ...]

    @property
    def open(self) -> int:
        """How many are open, cannot tell among them."""
        return sum(row.is_open for row in self.rows)


def view_notices(
    ledger: Ledger,
    day: date,
    unread: tuple[str, ...],
    subject: Subject | None = None,
    name: str | None = None,
) -> NoticesView:
    """All notices, those of one aircraft or part, or one by its name."""
    rows = [
        state
        for state in view_states(ledger, day)
        if (name is None or state.notice.name == name) and _is_about(state, subject)
    ]
    rows.sort(key=lambda row: (row.notice.name, _ORDER.index(row.state), row.subject[1]))
    heads, traps = [], []
    for notice, scope in list_notices(ledger):
        mine = [row for row in rows if (row.notice.name, row.kit) == (notice.name, scope.kit)]
        head = NoticeHead(
            notice,
            scope.kit,
            scope.aircraft,
            sum(row.is_open for row in mine),
            tuple(sorted(places_of(notice))),
        )
        if name is not None and notice.name != name:
            continue
        if notice.is_trap:
            if subject is None or subject[1] in scope.aircraft:
                traps.append(head)
        elif mine or subject is None:
            heads.append(head)
    return NoticesView(
        day, not unread, unread, subject, name, tuple(heads), tuple(traps), tuple(rows)
    )


def _is_about(state: NoticeState, subject: Subject | None) -> bool:
    if subject is None or state.subject == subject:
        return True
    return subject[0] == "aircraft" and subject[1] in state.asked.hosts
