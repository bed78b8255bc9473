"""The standing of an aircraft on a day, and what falls due during a planned day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from msgspec import Struct

from register.findings.deferrals import view_deferral
from register.findings.snags import SnagState, fold_snags
from register.ledger.ledger import Ledger
from register.standing.asked import view_asked
from register.standing.pace import next_flight
from register.standing.reasons import (
    STANDINGS,
    Reason,
    Standing,
    cure_reasons,
    item_reasons,
    paper_reasons,
    part_reasons,
    snag_reasons,
    unread_reasons,
)
from register.tasks.items import Item, view_items
from register.tasks.life import view_lives
from register.trouble import Place


class During(Struct, frozen=True):
    """Something that falls due during the day, and before which flight it must be done."""

    kind: str
    task: str
    title: str
    subject: str
    before_flight: int
    grounds: bool
    says: str
    place: Place


class AircraftDay(Struct, frozen=True):
    """One aircraft on one day. `items` are all its tasks and lives; `reasons` worst first."""

    aircraft: str
    title: str
    stage: str
    standing: Standing
    reasons: tuple[Reason, ...]
    during: tuple[During, ...]
    items: tuple[Item, ...]
    snags: tuple[SnagState, ...]
    planned: int | None


def judge_aircraft(
    ledger: Ledger,
    aircraft: str,
    day: date,
    planned: int | None = None,
    snags: dict[str, SnagState] | None = None,
) -> AircraftDay:
    """Stage first; then, in service, everything that speaks for or against flying."""
    folded = fold_snags(ledger) if snags is None else snags
    mine = [snag for snag in folded.values() if snag.is_open and aircraft in snag.hosts]
    items = (
        *view_items(ledger, day, aircraft),
        *view_lives(ledger, aircraft, day),
        *view_asked(ledger, day, aircraft),
    )
    stage, stage_event = ledger.stage(aircraft)
    reasons = [
        *_gather_never(
            [reason for item in items for reason in item_reasons(ledger, item)], aircraft
        ),
        *snag_reasons(ledger, aircraft, mine, day),
        *part_reasons(ledger, aircraft),
        *paper_reasons(ledger, aircraft, day),
        *cure_reasons(ledger, aircraft, day),
        *unread_reasons(ledger, aircraft),
    ]
    reasons.sort(
        key=lambda reason: (STANDINGS.index(reason.standing), reason.is_unclear, _order(reason))
    )
    standing: Standing = reasons[0].standing if reasons else "nothing-open"
    file = ledger.records.aircraft[aircraft]
    if stage != "in-service":
        standing = "not-in-service"
        place = stage_event.place("stage") if stage_event else Place(file.path)
        words = f"stage: {stage.replace('-', ' ')}"
        reasons.insert(0, Reason("stage", "not-in-service", words, place, stage))
    during = tuple(_during(ledger, aircraft, items, mine, day, planned)) if planned else ()
    return AircraftDay(
        aircraft,
        file.title,
        stage,
        standing,
        tuple(reasons),
        tuple(sorted(during, key=lambda found: (found.before_flight, found.task))),
        items,
        tuple(mine),
        planned,
    )


def _gather_never(reasons: list[Reason], aircraft: str) -> Iterator[Reason]:
    """Grounding tasks that were never recorded stand as one counted reason."""
    never = [reason for reason in reasons if reason.kind == "never-recorded"]
    yield from (reason for reason in reasons if reason.kind != "never-recorded")
    if len(never) == 1:
        yield never[0]
    elif never:
        yield Reason(
            "never-recorded",
            "grounded",
            f"{len(never)} grounding tasks were never recorded: tailsheaf due {aircraft} --all",
            never[0].place,
            aircraft,
            aircraft,
            f"tailsheaf due {aircraft} --all",
            is_unclear=True,
        )


def _order(reason: Reason) -> int:
    kinds = (
        "snag",
        "deferral",
        "condition",
        "position",
        "life",
        "task",
        "notice",
        "paper",
        "never-recorded",
    )
    return kinds.index(reason.kind) if reason.kind in kinds else len(kinds)


def _during(
    ledger: Ledger,
    aircraft: str,
    items: tuple[Item, ...],
    snags: list[SnagState],
    day: date,
    planned: int,
) -> Iterator[During]:
    for item in items:
        found = _before_flight(ledger, item, planned)
        if found is not None:
            number, says = found
            yield During(
                "life" if item.task.id == "life" else "task",
                item.task.id,
                item.task.title,
                item.subject[1],
                number,
                item.grounds,
                says,
                item.task.place,
            )
    for snag in snags:
        deferral = view_deferral(ledger, snag, day)
        if deferral is None or deferral.expired or deferral.flights_left is None:
            continue
        if deferral.flights_left < planned:
            number = int(deferral.flights_left) + 1
            yield During(
                "deferral",
                "deferral",
                snag.text,
                snag.part or snag.position or aircraft,
                number,
                True,
                f"the deferral permits {deferral.flights_left} flights more",
                deferral.event.place("flights"),
            )


def _before_flight(ledger: Ledger, item: Item, planned: int) -> tuple[int, str] | None:
    """The first planned flight that would pass the due point; None if none does, or all do."""
    best: tuple[int, str] | None = None
    for limit in item.limits:
        if limit.left is None or limit.left.low is None or limit.counter is None:
            continue
        step = next_flight(ledger, item.aircraft, item.subject, limit.counter)
        left = limit.left.low
        if step.amount <= 0 or left < step.amount:
            continue
        number = int(left // step.amount) + 1
        if number <= planned and (best is None or number < best[0]):
            last = int((left + limit.late) // step.amount) + 1 if limit.late else number
            words = f"due before flight {number} ({step.says})"
            if last > number:
                words += f"; its window permits up to flight {last - 1}"
            best = (number, words)
    return best


def judge_fleet(
    ledger: Ledger, day: date, plans: dict[str, int] | None = None
) -> tuple[AircraftDay, ...]:
    """Every aircraft on a day, in name order."""
    snags = fold_snags(ledger)
    wanted = plans or {}
    return tuple(
        judge_aircraft(ledger, name, day, wanted.get(name), snags)
        for name in sorted(ledger.records.aircraft)
    )
