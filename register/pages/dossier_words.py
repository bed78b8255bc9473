"""Figures and states of a dossier in words, shared by its sections."""

from __future__ import annotations

from decimal import Decimal

from register.records.bodies import Measured, TaskDone
from register.records.events import Event
from register.records.values import MINUTE_COUNTERS, Span, format_amount
from register.tasks.items import Item
from register.views.changes import left_phrase, state_words, why_phrase
from register.views.dossier import DossierView
from register.views.part import LifeLine, PartView

#: A standing as recorded, in words that pass no judgement.
STANDING_WORDS = {
    "grounded": "GROUNDED",
    "limited": "LIMITED",
    "due": "DUE",
    "cannot-tell": "CANNOT TELL",
    "nothing-open": "no open items recorded",
    "not-in-service": "NOT IN SERVICE",
}
#: A cell of a table with nothing to say.
NOTHING = "-"


def plural(count: int, word: str, several: str | None = None) -> str:
    """1 snag, 3 snags."""
    return f"{count} {word if count == 1 else several or word + 's'}"


def amount_words(value: Decimal, counter: str) -> str:
    """One amount: 25:00 h, 300."""
    if counter in MINUTE_COUNTERS or counter.endswith("-minutes"):
        whole = int(value)
        return f"{whole // 60}:{whole % 60:02d} h"
    return format_amount(value)


def value_words(value: Span, counter: str) -> str:
    """96, about 15:04 h, between 75 and 78, at least 12, not known."""
    low = amount_words(value.low, counter)
    if value.high is None:
        return "not known" if value.low == 0 else f"at least {low}"
    if value.low != value.high:
        return f"between {low} and {amount_words(value.high, counter)}"
    return f"about {low}" if value.known == "estimated" else low


def counter_words(counter: str) -> str:
    """A counter's name: minutes are those in the air."""
    return {"minutes": "time in the air", "engine-minutes": "engine time"}.get(
        counter, counter.replace("-", " ")
    )


def clock_words(counter: str, value: Span) -> str:
    """A counter with its value: 96 flights, engine time about 15:04 h."""
    words = value_words(value, counter)
    if words.endswith(" h") or words == "not known":
        return f"{counter_words(counter)} {words}"
    name = counter_words(counter)
    return f"{words} {name.removesuffix('s') if words == '1' else name}"


def life_words(line: LifeLine) -> str:
    """What is left of a life limit, and who set it."""
    limit = line.limit
    basis = f" ({line.basis.text})"
    if limit.unset:
        return f"life not set{basis}"
    if limit.days_left is not None and limit.day is not None:
        if limit.days_left < 0:
            return f"OVER by {plural(-limit.days_left, 'day')}{basis}"
        return f"until {limit.day.isoformat()}{basis}"
    if limit.left is None or limit.counter is None or limit.left.low is None:
        return f"cannot tell{basis}"
    name = counter_words(limit.counter)
    if limit.left.low < 0:
        return f"OVER by {amount_words(-limit.left.low, limit.counter)} {name}{basis}"
    left = amount_words(limit.left.low, limit.counter)
    least = "at least " if limit.left.high != limit.left.low else ""
    of = "" if line.amount is None else f" of {amount_words(line.amount, limit.counter)}"
    return f"{least}{left}{of} {name} left{basis}"


def place_of(part: PartView) -> str:
    """Where a part is: its position, or that it lies loose."""
    for stay in part.stays:
        if stay.current:
            return stay.position or (f"in {stay.into}" if stay.into else "used with it")
    return "not fitted"


def due_words(item: Item) -> str:
    """The state of a check and how near it is: overdue, over by 2 flights; due 2026-05-30."""
    if item.failed is not None:
        return f"FAILED {item.failed.moment.day.isoformat()}"
    state = state_words(item.state)
    left = left_phrase(item)
    if item.is_day_check:
        return "before the first flight of each day"
    if item.state == "ok":
        return left or "when something calls for it"
    if item.starts_in("due", "overdue"):
        return f"{state}: {why_phrase(item)}"
    opened = item.starts_in(item.state)
    if opened and item.state not in [limit.state for limit in item.limits]:
        # Not its interval makes it due: something else opened it.
        return state if opened[0].says == state else f"{state}: {opened[0].says}"
    if not left:
        return state
    return left if left.startswith(state) else f"{state}, {left}"


def found_words(event: Event | None) -> str:
    """What a check found: its result, readings and note."""
    if event is None or not isinstance(event.body, TaskDone):
        return NOTHING
    body = event.body
    words = {"pass": "done", "fail": "FAILED", "recorded": "baseline"}[body.result]
    readings = [_reading(item) for item in body.readings]
    said = (
        "; ".join((words, *readings))
        if body.result != "pass" or not readings
        else (", ".join(readings))
    )
    return f"{said} ({event.note})" if event.note else said


def _reading(item: Measured) -> str:
    value = "?" if item.value is None else format_amount(item.value)
    return f"{item.name} {value} {item.unit}".strip()


def standing_words(view: DossierView) -> str:
    """The standing as recorded, with its first reason and how many more there are."""
    words = STANDING_WORDS[view.standing]
    if not view.reasons:
        return words
    more = len(view.reasons) - 1
    tail = f", and {plural(more, 'more reason')}" if more else ""
    return f"{words}: {view.reasons[0].says}{tail}"


def day_of(event: Event | None) -> str:
    """The day of a record; nothing where there is none."""
    return NOTHING if event is None else event.moment.day.isoformat()
