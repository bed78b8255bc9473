"""One record told in one line, in the owner's words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from register.ledger.ledger import Ledger
from register.records import bodies, owner_bodies, workshop_bodies
from register.records.events import Event
from register.records.values import Ref, Span, format_amount
from register.views.telling_scales import tell_air, tell_cure, tell_weighing
from register.views.telling_throws import tell_throws
from register.views.telling_work import tell_answer, tell_job, tell_modification


def tell_event(ledger: Ledger, event: Event) -> str:
    """What a record says."""
    if isinstance(event.body, owner_bodies.UsageElsewhere):
        return _tell_usage(ledger, event, event.body)
    teller = _TELLERS.get(type(event.body))
    words = teller(ledger, event.body) if teller else _tell_other(event)
    return f"{words} ({event.note})" if event.note else words


def _name(ref: Ref | None) -> str:
    return ref.name if ref is not None else "?"


def _plural(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _tell_flights(_: Ledger, body: bodies.Flights) -> str:
    words = _plural(body.count, "flight")
    if body.each:
        words += f", {' + '.join(format_amount(value) for value in body.each)} min"
    elif body.minutes is not None:
        words += f", {format_amount(body.minutes)} min"
    if body.engine_minutes is not None:
        words += f", engine {format_amount(body.engine_minutes)} min"
    if body.uses:
        words += f", {' '.join(ref.name for ref in body.uses)}"
    return words


def _tell_engine_run(_: Ledger, body: bodies.EngineRun) -> str:
    minutes = "?" if body.minutes is None else format_amount(body.minutes)
    return f"{_name(body.part)} ran {minutes} min on the ground"


def _tell_charge(_: Ledger, body: bodies.Charge) -> str:
    times = "" if body.count == 1 else f" {body.count} times"
    return f"charged {', '.join(ref.name for ref in body.parts)}{times}"


def _tell_meter(_: Ledger, body: bodies.MeterReading) -> str:
    value = "?" if body.value is None else format_amount(body.value)
    new = ", new meter" if body.replaced else ""
    return f"meter of {_name(body.part)}: {value} {body.counter}{new}"


def _tell_measured(item: bodies.Measured) -> str:
    value = "?" if item.value is None else format_amount(item.value)
    return f"{item.name} {value} {item.unit}".strip()


def _tell_done(_: Ledger, body: bodies.TaskDone) -> str:
    result = {"pass": "done", "fail": "FAILED", "recorded": "baseline"}[body.result]
    readings = ", ".join(_tell_measured(item) for item in body.readings)
    return f"{body.task} {result} on {_name(body.subject)}" + (f": {readings}" if readings else "")


def _tell_reading(ledger: Ledger, body: bodies.Reading) -> str:
    of = f" of snag {_short(ledger, body.snag)}" if body.snag else ""
    return f"{_name(body.subject)}: {_tell_measured(body.measured)}{of}{tell_air(body)}"


def _tell_snag(_: Ledger, body: bodies.Snag) -> str:
    where = f" at {body.position}" if body.position else ""
    part = f" on {_name(body.part)}" if body.part else ""
    where += f", {body.zone}" if body.zone else ""
    size = f", {format_amount(body.size)} mm" if body.size is not None else ""
    joint = f"; {body.joint}" if body.joint else ""
    if body.joint and body.broken:
        joint += f", {body.broken} broken"
    rest = f", the rest {body.rest.replace('-', ' ')}" if body.rest else ""
    rated = body.severity.replace("-", " ")
    return f"snag{part}{where}: {body.text}{size}{joint}{rest} [{rated}]"


def _tell_severity(ledger: Ledger, body: bodies.Severity) -> str:
    return f"snag {_short(ledger, body.snag)} rated {body.severity.replace('-', ' ')}"


def _tell_deferral(ledger: Ledger, body: bodies.Deferral) -> str:
    limits = []
    if body.until is not None:
        limits.append(f"until {body.until.isoformat()}")
    if body.flights is not None:
        limits.append(f"for {_plural(body.flights, 'flight')}")
    limit = f", {body.limit}" if body.limit else ""
    verb = "deferral extended" if body.extends else "deferred"
    return f"snag {_short(ledger, body.snag)} {verb} {' and '.join(limits)}{limit}: {body.reason}"


def _tell_fix(ledger: Ledger, body: bodies.Fix) -> str:
    which = ", ".join(_short(ledger, id_) for id_ in body.snags)
    verb = "fixed" if body.closes else "worked on, still open"
    cause = f" (cause: {body.cause})" if body.cause else ""
    mending = f" by {body.mending.replace('-', ' ')}" if body.mending else ""
    taken = ", ".join(f"{format_amount(draw.count)} {draw.item}" for draw in body.draws)
    drawn = f"; taken {taken}" if taken else ""
    return f"snag {which} {verb}{mending}: {body.action}{cause}{drawn}"


def _short(ledger: Ledger, id_: str) -> str:
    event = ledger.settled.originals.get(id_)
    if event is not None and isinstance(event.body, bodies.Snag):
        text = event.body.text
        return f"{id_[:4]} “{text if len(text) <= 32 else text[:30] + '…'}”"
    return id_[:4]


def _tell_install(_: Ledger, body: bodies.Install) -> str:
    host = _name(body.into or body.aircraft)
    return f"{_name(body.part)} installed in {host}" + (
        f" at {body.position}" if body.position else ""
    )


def _tell_remove(_: Ledger, body: bodies.Remove) -> str:
    why = f": {body.reason}" if body.reason else ""
    return f"{_name(body.part)} removed{why}"


def _tell_condition(_: Ledger, body: bodies.Condition) -> str:
    why = f": {body.reason}" if body.reason else ""
    return f"{_name(body.part)} {body.condition}{why}"


def _tell_incident(_: Ledger, body: bodies.Incident) -> str:
    return f"incident: {body.what.replace('-', ' ')}"


def _tell_layup(_: Ledger, body: bodies.Layup) -> str:
    return f"{_name(body.subject)} {'laid up' if body.state == 'begin' else 'out of layup'}"


def _tell_stage(_: Ledger, body: bodies.Stage) -> str:
    return f"{_name(body.aircraft)}: {body.stage.replace('-', ' ')}"


def _tell_amendment(_: Ledger, body: bodies.Amendment) -> str:
    return f"amends {body.amends[:6]}"


def _tell_withdrawal(_: Ledger, body: bodies.Withdrawal) -> str:
    if body.duplicate_of:
        return f"withdraws {body.withdraws[:6]}, a duplicate of {body.duplicate_of[:6]}"
    return f"withdraws {body.withdraws[:6]}" + (f": {body.reason}" if body.reason else "")


def _tell_change(_: Ledger, body: owner_bodies.ChangeOfOwner) -> str:
    words = "came from another owner" if body.way == "in" else "went to another owner"
    return f"{_name(body.aircraft)} {words}" + (f": {body.text}" if body.text else "")


def _tell_usage(ledger: Ledger, event: Event, body: owner_bodies.UsageElsewhere) -> str:
    parts = [f"{_tell_span(span)} {counter}" for counter, span in body.gained]
    words = f"{_name(body.part)} in another aircraft: {', '.join(parts) or 'nothing counted'}"
    share = ledger.counters.weight(event).share
    if share == "nothing":
        return f"{words}; told by other records here, so not counted again"
    return f"{words}; in part told by other records here" if share == "partly" else words


def _tell_span(span: Span) -> str:
    if span.high is None:
        return f"at least {format_amount(span.low)}"
    if span.is_exact:
        return format_amount(span.low)
    return f"between {format_amount(span.low)} and {format_amount(span.high)}"


def _tell_other(event: Event) -> str:
    text = getattr(event.body, "text", "")
    kept = getattr(event.body, "attachment", None)
    if kept:
        return f"file kept: {text or 'no title'} ({kept.rpartition('/')[2]})"
    return f"{event.kind.replace('-', ' ')}: {text}" if text else event.kind.replace("-", " ")


_TELLERS: dict[type, Callable[[Ledger, Any], str]] = {
    bodies.Flights: _tell_flights,
    bodies.EngineRun: _tell_engine_run,
    bodies.Charge: _tell_charge,
    bodies.MeterReading: _tell_meter,
    bodies.TaskDone: _tell_done,
    bodies.Reading: _tell_reading,
    bodies.Snag: _tell_snag,
    bodies.Severity: _tell_severity,
    bodies.Deferral: _tell_deferral,
    bodies.Fix: _tell_fix,
    bodies.Install: _tell_install,
    bodies.Remove: _tell_remove,
    bodies.Condition: _tell_condition,
    bodies.Incident: _tell_incident,
    bodies.Layup: _tell_layup,
    bodies.Stage: _tell_stage,
    bodies.Amendment: _tell_amendment,
    bodies.Withdrawal: _tell_withdrawal,
    workshop_bodies.Weighing: tell_weighing,
    workshop_bodies.ThrowSheet: tell_throws,
    workshop_bodies.Cure: tell_cure,
    workshop_bodies.Job: tell_job,
    workshop_bodies.Modification: tell_modification,
    workshop_bodies.NoticeAnswer: tell_answer,
    owner_bodies.ChangeOfOwner: _tell_change,
}
