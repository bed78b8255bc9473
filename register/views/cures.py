"""What is curing: from when it may be handled and loaded, the soonest first."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from msgspec import Struct

from register.findings.cures import CAUTION, CureState, fold_cures
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger

CureStage = Literal["curing", "handling", "complete", "cannot-tell"]


class CureLine(Struct, frozen=True):
    """One cure at a moment. `minutes_left` to full load; `held` are words for what rests on it."""

    state: CureState
    stage: CureStage
    minutes_left: float | None
    held: tuple[str, ...]


class CuresView(Struct, frozen=True):
    """The answer to `cure`."""

    on: date
    moment: datetime
    complete: bool
    unread: tuple[str, ...]
    subject: str | None
    lines: tuple[CureLine, ...]
    over: int
    caution: str


def view_cures(
    ledger: Ledger,
    moment: datetime,
    unread: tuple[str, ...],
    subject: Subject | None = None,
    *,
    every: bool = False,
) -> CuresView:
    """Cures not complete at a moment, of all or of one aircraft or part; complete ones on asking.

    What has no full-load time cannot be told, and stays in the list.
    """
    mine = [
        _line(ledger, cure, moment)
        for cure in fold_cures(ledger)
        if subject is None or subject[1] in (cure.part, *cure.hosts)
    ]
    shown = [line for line in mine if every or line.stage != "complete"]
    shown.sort(
        key=lambda line: (
            line.state.full_at is None,
            line.state.full_at or moment,
            line.state.event.id,
        )
    )
    return CuresView(
        moment.date(),
        moment,
        not unread,
        unread,
        subject[1] if subject else None,
        tuple(shown),
        len(mine) - len(shown),
        CAUTION,
    )


def _line(ledger: Ledger, cure: CureState, moment: datetime) -> CureLine:
    left = None if cure.full_at is None else (cure.full_at - moment).total_seconds() / 60
    stage: CureStage
    if cure.full_at is None:
        stage = "cannot-tell"
    elif moment >= cure.full_at:
        stage = "complete"
    elif cure.handling_at is not None and moment >= cure.handling_at:
        stage = "handling"
    else:
        stage = "curing"
    held = []
    for id_ in cure.body.holds:
        event = ledger.settled.originals.get(id_)
        kind = event.kind.replace("-", " ") if event is not None else "record"
        text = getattr(event.body, "text", "") or getattr(event.body, "action", "") if event else ""
        held.append(f"{kind} {id_[:6]}" + (f" {text[:40]}" if text else ""))
    return CureLine(cure, stage, left, tuple(held))
