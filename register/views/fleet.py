"""The fleet at a glance, an aircraft's history, and its snags."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from register.findings.deferrals import DeferralState, view_deferral
from register.findings.doubles import find_twins
from register.findings.snags import SnagState, fold_snags
from register.ledger.counters import Contribution, Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Withdrawal
from register.records.events import Event
from register.records.values import Span
from register.standing.judge import judge_fleet
from register.standing.reasons import Standing
from register.tasks.calendar import season_of
from register.views.telling import tell_event


class FleetLine(Struct, frozen=True):
    """One aircraft in one line."""

    name: str
    title: str
    stage: str
    standing: Standing
    reasons: int
    first_reason: str
    flights: Span
    minutes: Span
    season_flights: Span
    last_flown: date | None
    open_snags: int
    #: The day on which it went to another owner; None while it is here.
    gone: date | None = None


class FleetView(Struct, frozen=True):
    """The answer to `fleet`."""

    name: str
    on: date
    season: date
    complete: bool
    unread: tuple[str, ...]
    lines: tuple[FleetLine, ...]
    #: Pairs of records that look like the same flights; both are counted.
    doubles: int = 0


def view_fleet(ledger: Ledger, day: date, unread: tuple[str, ...]) -> FleetView:
    """Every aircraft: stage, standing, totals, this season, last flown, open snags."""
    season = season_of(day, ledger.records.fleet.season_start)
    lines = []
    for found in judge_fleet(ledger, day):
        subject: Subject = ("aircraft", found.aircraft)
        lines.append(
            FleetLine(
                found.aircraft,
                found.title,
                found.stage,
                found.standing,
                sum(reason.standing == found.standing for reason in found.reasons),
                found.reasons[0].says if found.reasons else "",
                ledger.value(subject, "flights"),
                ledger.value(subject, "minutes"),
                _since_day(ledger, subject, season),
                ledger.last_use(subject),
                len(found.snags),
                gone.moment.day if (gone := ledger.gone(subject)) is not None else None,
            )
        )
    doubles = sum(1 for _ in find_twins(ledger, ledger.records.aircraft))
    name = ledger.records.fleet.name
    return FleetView(name, day, season, not unread, unread, tuple(lines), doubles)


def _since_day(ledger: Ledger, subject: Subject, since: date) -> Span:
    total = Span.exact(0)
    for item in ledger.counters.contributions(subject):
        if item.event.moment.day >= since:
            total = total + ledger.counters.amount(item.event, "flights", item.pieces)
    return total


class HistoryLine(Struct, frozen=True):
    """One record in one line; `total` is the flight count after it, for flights."""

    event: Event
    says: str
    total: Span | None
    withdrawn: bool
    amended: bool


class HistoryView(Struct, frozen=True):
    """The answer to `history`, latest last."""

    subject: Subject
    title: str
    on: date
    complete: bool
    unread: tuple[str, ...]
    lines: tuple[HistoryLine, ...]
    shown_of: int


def view_history(
    ledger: Ledger,
    subject: Subject,
    day: date,
    unread: tuple[str, ...],
    *,
    kinds: tuple[str, ...] = (),
    since: date | None = None,
    last: int | None = None,
) -> HistoryView:
    """Every record about an aircraft or part up to a day, withdrawn ones marked."""
    events = _events_about(ledger, subject)
    counted: dict[str, list[Contribution]] = {}
    for item in ledger.counters.contributions(subject):
        counted.setdefault(item.event.id, []).append(item)
    lines = []
    running = ledger.file_of(subject).opening.value("flights")
    for event in events:
        total = None
        if event.kind == "flights" and event.id in ledger.orders.events:
            for item in counted.get(event.id, ()):
                running = running + ledger.counters.amount(event, "flights", item.pieces)
                total = running
        if (kinds and event.kind not in kinds) or (since and event.moment.day < since):
            continue
        lines.append(
            HistoryLine(
                event,
                tell_event(ledger, event) + _why_withdrawn(ledger, event) + _back(ledger, event),
                total,
                event.id in ledger.settled.withdrawn,
                bool(event.amended_by),
            )
        )
    count = len(lines)
    shown = lines[-last:] if last is not None else lines
    return HistoryView(
        subject,
        ledger.file_of(subject).title,
        day,
        not unread,
        unread,
        tuple(shown),
        count,
    )


def _back(ledger: Ledger, event: Event) -> str:
    """That a snag came back, and which fix did not hold."""
    state = fold_snags(ledger).get(event.id) if event.kind == "snag" else None
    return f" ({state.back_words})" if state is not None and state.unheld is not None else ""


def _why_withdrawn(ledger: Ledger, event: Event) -> str:
    """The reason of a withdrawal, behind what is withdrawn."""
    by = ledger.settled.withdrawn.get(event.id)
    if by is None or not isinstance(by.body, Withdrawal):
        return ""
    if by.body.duplicate_of:
        return f" [a duplicate of {by.body.duplicate_of[:6]}]"
    reason = by.body.reason or by.note
    return f" [{reason}]" if reason else ""


def _events_about(ledger: Ledger, subject: Subject) -> list[Event]:
    """Events that name the subject, those about its snags, and withdrawn ones, in order."""
    ids = {event.id for event in ledger.about(subject)}
    if subject[0] == "part":
        ids |= {item.event.id for item in ledger.counters.contributions(subject)}
    for snag in fold_snags(ledger).values():
        if snag.found_on == subject[1] or snag.part == subject[1] or snag.id in ids:
            ids |= set(snag.events_seen)
    found = [event for event in ledger.events if event.id in ids]
    for id_ in ledger.settled.withdrawn:
        event = ledger.settled.originals[id_]
        late = ledger.day is not None and event.moment.day > ledger.day
        if not late and subject in ledger.subjects_of(event):
            found.append(event)
    return sorted(found, key=lambda event: (event.moment.day, ledger.rank.get(event.id, 10**9)))


class SnagLine(Struct, frozen=True):
    """One snag with its deferral, if any."""

    state: SnagState
    deferral: DeferralState | None
    age_days: int


class SnagsView(Struct, frozen=True):
    """The answer to `snag` without words."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    subject: Subject | None
    lines: tuple[SnagLine, ...]
    closed: int


def view_snags(
    ledger: Ledger,
    day: date,
    unread: tuple[str, ...],
    subject: Subject | None = None,
    *,
    every: bool = False,
) -> SnagsView:
    """Open snags, gravest first; with `every`, closed ones too."""
    gravity = ("grounding", "not-yet-rated", "limiting", "deferrable", "monitor", "cosmetic")
    found = [
        state
        for state in fold_snags(ledger).values()
        if subject is None
        or subject[1] in (state.part, *state.hosts)
        or (every and state.found_on == subject[1])
    ]
    shown = [state for state in found if state.is_open or every]
    shown.sort(key=lambda state: (not state.is_open, gravity.index(state.severity)))
    return SnagsView(
        day,
        not unread,
        unread,
        subject,
        tuple(
            SnagLine(state, view_deferral(ledger, state, day), (day - state.first_day).days)
            for state in shown
        ),
        sum(not state.is_open for state in found),
    )
