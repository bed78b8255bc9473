"""Taking an event out of all counting; its file stays, and it can be taken back."""

from __future__ import annotations

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words, join_names
from register.entry.event_words import subjects_about, tell_event
from register.records.bodies import Amendment, Fix, Withdrawal
from register.records.events import Event
from register.records.values import format_amount
from register.records.workshop_bodies import Modification
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError


def plan_withdraw(
    clerk: Clerk,
    event: str,
    stamp: Stamp,
    *,
    duplicate_of: str | None = None,
    reason: str | None = None,
) -> Plan:
    """Withdraw an event; withdrawing a withdrawal counts the event again.

    Refused (exit 4): an event that is withdrawn already.
    """
    found = clerk.find_event(event)
    draft = Draft(clerk, stamp)
    _refuse_withdrawn(clerk, found)
    twin = _find_twin(clerk, found, duplicate_of) if duplicate_of else None
    if reason:
        check_words(reason, "reason")
    body: dict[str, Plain] = {
        "withdraws": found.id,
        "reason": reason,
        "duplicate_of": twin.id if twin else None,
    }
    draft.write(found.path.partition("/events/")[0], "withdrawal", body)
    draft.touch(*subjects_about(clerk, found))
    what = tell_event(clerk, found)
    short = clerk.short(found.id)
    if isinstance(found.body, Withdrawal):
        aim = clerk.ledger.settled.originals.get(found.body.withdraws)
        back = f"{clerk.short(aim.id)} ({tell_event(clerk, aim)})" if aim else what
        draft.say(f"{back} counts again")
        return draft.plan(f"Take back the withdrawal of {tell_event(clerk, aim) if aim else what}")
    twin_words = f", the same as {clerk.short(twin.id)}" if twin else ""
    draft.say(f"{short} ({what}) counts no longer{twin_words}; its file stays")
    draft.say(f"to take this back: tailsheaf withdraw {clerk.short(draft.written[-1].id)}")
    _warn_anchored(draft, found)
    _warn_mended(draft, found)
    return draft.plan(f"Withdraw {what}{twin_words}")


def _refuse_withdrawn(clerk: Clerk, event: Event) -> None:
    by = clerk.ledger.settled.withdrawn.get(event.id)
    if by is not None:
        raise RegisterError(
            f"{clerk.short(event.id)} is withdrawn already ({by.moment.day.isoformat()})",
            mend=f"tailsheaf withdraw {clerk.short(by.id)}   counts it again",
            exit_code=Exit.REFUSED,
            code="event-withdrawn",
        )


def _find_twin(clerk: Clerk, event: Event, typed: str) -> Event:
    """The event that stays of two that say the same."""
    twin = clerk.find_event(typed)
    if twin.id == event.id:
        raise RegisterError(
            f"{clerk.short(event.id)} cannot repeat itself",
            mend="name the event that stays",
            code="duplicate-wrong",
        )
    differs = _difference(clerk, event, twin)
    if differs is not None:
        raise RegisterError(
            f"{clerk.short(event.id)} does not repeat {clerk.short(twin.id)}: {differs}",
            mend="name the event that stays; or, if it should go for another reason:  "
            f'tailsheaf withdraw {clerk.short(event.id)} --reason "…"',
            exit_code=Exit.REFUSED,
            code="duplicate-wrong",
        )
    if twin.id in clerk.ledger.settled.withdrawn:
        raise RegisterError(
            f"{clerk.short(twin.id)} is withdrawn itself; then neither would count",
            mend=f'tailsheaf withdraw {clerk.short(event.id)} --reason "…"   if that is meant',
            exit_code=Exit.REFUSED,
            code="event-withdrawn",
        )
    return twin


def _difference(clerk: Clerk, event: Event, twin: Event) -> str | None:
    """Why two records cannot say the same: another kind, another subject, another day."""
    if event.kind != twin.kind:
        kinds = [kind.replace("-", " ") for kind in (event.kind, twin.kind)]
        return f"their kinds differ, {kinds[0]} and {kinds[1]}"
    one, other = _whom(clerk, event), _whom(clerk, twin)
    if one != other:
        return f"one is about {one or 'nothing known'}, the other about {other or 'nothing known'}"
    if event.moment.day != twin.moment.day:
        return (
            f"one is of {event.moment.day.isoformat()}, the other of {twin.moment.day.isoformat()}"
        )
    return None


def _whom(clerk: Clerk, event: Event) -> str:
    """The aircraft of a record, else the first subject it is about."""
    ledger = clerk.ledger
    aircraft = ledger.names.aircraft_name(getattr(event.body, "aircraft", None))
    if aircraft is not None:
        return aircraft
    return join_names(sorted(name for _, name in subjects_about(clerk, event)))


def _warn_anchored(draft: Draft, event: Event) -> None:
    if isinstance(event.body, Amendment):
        return
    hanging = [
        draft.clerk.short(other.id)
        for other in draft.clerk.ledger.events
        if other.after is not None and event.id.startswith(other.after.event)
    ]
    if hanging:
        draft.warn(f"{', '.join(hanging)} followed it and now has no order within its day")


def _warn_mended(draft: Draft, event: Event) -> None:
    """What went with a fix stands on its own: the shelf as drawn, and a departure."""
    if not isinstance(event.body, Fix):
        return
    for taken in event.body.draws:
        draft.warn(
            f"what it took stays off the shelf: tailsheaf stock {taken.item} "
            f"--put {format_amount(taken.count)}   if it is back"
        )
    for other in draft.clerk.ledger.events:
        if (
            isinstance(other.body, Modification)
            and other.body.fastener is not None
            and (other.machine, other.seq) == (event.machine, event.seq + 1)
        ):
            short = draft.clerk.short(other.id)
            draft.warn(f"the departure that came with it stays: tailsheaf withdraw {short}")
