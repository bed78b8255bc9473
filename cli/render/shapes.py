"""JSON shapes, version 1. Keys are added freely, none renamed."""

from __future__ import annotations

from typing import Any, TypeAlias

from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.values import Basis, Span
from register.standing.judge import AircraftDay
from register.standing.pace import Forecast
from register.tasks.intervals import Left
from register.tasks.items import Item
from register.tasks.limits import Limit
from register.trouble import Place

Shape: TypeAlias = dict[str, Any]


def span_shape(span: Span | None) -> object:
    """A counter value: a number, or its two ends; None above when no bound is known."""
    if span is None:
        return None
    return span.low if span.is_exact else {"low": span.low, "high": span.high}


def full_span_shape(span: Span) -> Shape:
    """A counter value with how it is known."""
    return {"low": span.low, "high": span.high, "known": span.known}


def left_shape(left: Left | None) -> object:
    """What is left: a number, or its two ends."""
    if left is None:
        return None
    return left.low if left.low == left.high else {"low": left.low, "high": left.high}


def place_shape(place: Place | None) -> str | None:
    """path:line."""
    return None if place is None else f"{place.file}:{place.line}"


def basis_shape(basis: Basis) -> Shape:
    """Where a figure comes from."""
    return {"kind": basis.kind, "reference": basis.reference}


def limit_shape(limit: Limit) -> Shape:
    """One side of an item."""
    shape: Shape = {"state": limit.state, "known": limit.known}
    if limit.counter is not None:
        shape |= {
            "counter": limit.counter,
            "due_at": span_shape(limit.due_at),
            "now": span_shape(limit.now),
            "remaining": left_shape(limit.left),
        }
        if limit.due_at is not None and limit.due_at.is_exact:
            shape["permits_to"] = limit.due_at.low + limit.late
            if limit.early or limit.late:
                shape["window"] = [
                    limit.due_at.low - limit.early,
                    limit.due_at.low + limit.late,
                ]
    elif limit.day is not None:
        shape |= {
            "date": limit.day,
            "remaining_days": limit.days_left,
            "permits_to": limit.permits_to,
        }
        if limit.window is not None:
            shape["window"] = list(limit.window)
    if limit.late_by:
        shape["last_late_by"] = limit.late_by
    if limit.missed:
        shape["missed"] = limit.missed
    if limit.unset:
        shape["unset"] = True
    return shape


def forecast_shape(found: Forecast | None) -> object:
    """When a limit is to be expected."""
    if found is None:
        return None
    return {
        "day": found.likely,
        "earliest": found.earliest,
        "latest": found.latest,
        "flying_days": found.flying_days,
    }


def item_shape(item: Item) -> Shape:
    """One task on one subject."""
    task = item.task
    last: Shape | None = None
    if item.last_done is not None:
        last = {"when": item.last_done.moment.text, "record": item.last_done.path}
    elif item.opening is not None and item.opening.when is not None:
        last = {
            "when": item.opening.when,
            "record": place_shape(item.opening.place),
            "known": item.opening.known,
        }
    return {
        "aircraft": item.aircraft,
        "subject": item.subject[1],
        "position": item.position,
        "task": task.id,
        "title": task.title,
        "group": task.group,
        "state": item.state,
        "grounds": task.grounds,
        "day_check": item.is_day_check,
        "limits": [limit_shape(limit) for limit in item.limits],
        "opened": [
            {
                "when": found.start.when,
                "state": found.state,
                "says": found.says,
                "record": found.event.path if found.event else None,
                "remaining": found.left,
            }
            for found in item.opened
        ],
        "basis": basis_shape(task.basis),
        "last_done": last,
        "failed": item.failed.path if item.failed else None,
        "why": [{"says": step.says, "place": place_shape(step.place)} for step in item.steps],
    }


def aircraft_shape(found: AircraftDay) -> Shape:
    """One aircraft on a day."""
    return {
        "aircraft": found.aircraft,
        "title": found.title,
        "stage": found.stage,
        "standing": found.standing,
        "planned": found.planned,
        "reasons": [
            {
                "kind": reason.kind,
                "standing": reason.standing,
                "says": reason.says,
                "record": reason.place.file if reason.place else None,
                "line": reason.place.line if reason.place else None,
                "name": reason.name,
                "subject": reason.subject,
                "mend": reason.mend or None,
            }
            for reason in found.reasons
        ],
        "during": [
            {
                "kind": item.kind,
                "task": item.task,
                "title": item.title,
                "subject": item.subject,
                "before_flight": item.before_flight,
                "grounds": item.grounds,
                "says": item.says,
            }
            for item in found.during
        ],
        "attention": [
            {"task": item.task.id, "subject": item.subject[1], "state": item.state}
            for item in found.items
            if item.state in ("soon", "in-window")
        ],
    }


def event_shape(ledger: Ledger, event: Event) -> Shape:
    """One record in short."""
    return {
        "id": event.id,
        "kind": event.kind,
        "when": event.moment.text,
        "record": event.path,
        "withdrawn": event.id in ledger.settled.withdrawn,
    }
