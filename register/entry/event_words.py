"""One event in a few words, and whom it concerns."""

from __future__ import annotations

from register.entry.clerk import Clerk
from register.entry.drafting import count_words
from register.findings.snags import fold_snags
from register.ledger.counters import Subject
from register.records.bodies import (
    Amendment,
    Deferral,
    Fix,
    Flights,
    Incident,
    Severity,
    Snag,
    TaskDone,
    Withdrawal,
)
from register.records.events import Event

_MOST = 40


def tell_event(clerk: Clerk, event: Event) -> str:
    """ "3 flights of heron on 2026-05-16", "snag on heron: chip on left wing"."""
    body = event.body
    day = event.moment.day.isoformat()
    subjects = clerk.ledger.subjects_of(event)
    whose = subjects[0][1] if subjects else ""
    if isinstance(body, Flights):
        return f"{count_words(body.count, 'flight')} of {whose} on {day}"
    if isinstance(body, Snag):
        text = " ".join(body.text.split())
        return f"snag on {whose}: {text[:_MOST]}"
    if isinstance(body, TaskDone):
        return f"{body.task} on {whose} of {day}"
    if isinstance(body, Incident):
        return f"{body.what.replace('-', ' ')} of {whose} on {day}"
    if isinstance(body, Amendment | Withdrawal):
        aim = body.amends if isinstance(body, Amendment) else body.withdraws
        return f"{event.kind} of {clerk.short(aim)}"
    words = event.kind.replace("-", " ")
    return f"{words} of {whose} on {day}" if whose else f"{words} of {day}"


def subjects_about(clerk: Clerk, event: Event) -> tuple[Subject, ...]:
    """The aircraft and parts an event concerns, through the snag or event it is about."""
    body = event.body
    found = list(clerk.ledger.subjects_of(event))
    if isinstance(body, Severity | Deferral | Fix):
        ids = body.snags if isinstance(body, Fix) else (body.snag,)
        for id_, state in fold_snags(clerk.ledger).items():
            if any(id_.startswith(named) for named in ids):
                found.extend(("aircraft", host) for host in state.hosts)
                found.extend([("part", state.part)] if state.part else [])
    if isinstance(body, Amendment | Withdrawal):
        aim = body.amends if isinstance(body, Amendment) else body.withdraws
        original = clerk.ledger.settled.originals.get(aim)
        if original is not None:
            found.extend(subjects_about(clerk, original))
    return tuple(dict.fromkeys(found))
