"""Looks at what a notice asks: answers, and the record it was raised from with its mending."""

from __future__ import annotations

from collections import defaultdict

from msgspec import Struct

from register.findings.applying import Asked, ever_in
from register.findings.departures import fold_departures
from register.findings.snags import fold_snags
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.notices import Notice
from register.records.workshop_bodies import Modification, NoticeAnswer


class Look(Struct, frozen=True):
    """One answer, or what stands for one: the record the notice was raised from, or its fix."""

    event: Event
    result: str
    text: str
    lot: str | None
    key: str


def list_answers(ledger: Ledger) -> dict[tuple[str, Subject], list[Look]]:
    """Every answer, by notice and by what it was given on."""
    found: dict[tuple[str, Subject], list[Look]] = defaultdict(list)
    for event in ledger.events:
        body = event.body
        if isinstance(body, NoticeAnswer):
            subject = ledger.subject_of(body.subject)
            if subject is not None:
                look = Look(event, body.result, body.text, body.lot, "result")
                found[body.notice, subject].append(look)
    return found


def raised_looks(
    ledger: Ledger, notice: Notice, rows: list[Asked]
) -> dict[Subject, tuple[Look, ...]]:
    """The record a notice was raised from answers for what it was found on."""
    if notice.raised_from is None:
        return {}
    event = ledger.orders.events.get(notice.raised_from)
    if event is None:
        return {}
    part, aircraft, looks = _origin(ledger, event)
    rows = [row for row in rows if row.verdict.answer != "no"]
    exact = [row for row in rows if row.subject in (("part", part), ("aircraft", aircraft))]
    near = [row for row in rows if row.subject[0] == "part" and _was_in(ledger, row, aircraft)]
    # Of a left and a right one nobody said which it was: then both are to be looked at.
    chosen = exact or (near if len(near) == 1 else [])
    return {row.subject: looks for row in chosen}


def _was_in(ledger: Ledger, row: Asked, aircraft: str | None) -> bool:
    return aircraft is not None and aircraft in ever_in(ledger, row.subject[1])


def _origin(ledger: Ledger, event: Event) -> tuple[str | None, str | None, tuple[Look, ...]]:
    """Part, aircraft and looks of a snag, departure or note."""
    snag = fold_snags(ledger).get(event.id)
    if snag is not None:
        looks = [Look(event, "found", snag.text, None, "text")]
        if snag.closed_by is not None:
            action = getattr(snag.closed_by.body, "action", "")
            looks.append(Look(snag.closed_by, "repaired", action, None, "action"))
        return snag.part, snag.found_on, tuple(looks)
    part = ledger.names.part_name(getattr(event.body, "part", None))
    aircraft = ledger.names.aircraft_name(getattr(event.body, "aircraft", None))
    text = getattr(event.body, "text", "")
    departure = fold_departures(ledger).get(event.id)
    if departure is not None and departure.state == "fixed":
        by = departure.state_event
        words = by.body.text if isinstance(by.body, Modification) else text
        return part, aircraft, (Look(by, "repaired", words, None, "text"),)
    return part, aircraft, (Look(event, "found", text, None, "text"),)
