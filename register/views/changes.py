"""What an entry changed: standing, and the tasks that came nearer or were settled."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from register.findings.snags import host_aircraft
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.values import ZERO, format_amount
from register.standing.asked import has_notices
from register.standing.judge import AircraftDay, judge_aircraft
from register.standing.reasons import NOTICE
from register.tasks.items import Item
from register.tasks.limits import STATE_ORDER, Limit

MOST_LINES = 4


def view_changes(
    before: Ledger, after: Ledger, subjects: tuple[Subject, ...], day: date
) -> tuple[str, ...]:
    """Short lines for the acknowledgement, at most a handful for each aircraft."""
    names = sorted({name for subject in subjects for name in _aircraft_of(before, after, subject)})
    lines: list[str] = []
    for name in names:
        if name in after.records.aircraft:
            # Of several aircraft it would not be plain whose a line is.
            whose = f"{name}: " if len(names) > 1 else ""
            lines.extend(
                line if line.startswith(f"{name} ") else whose + line
                for line in _changes_of(before, after, name, day)
            )
    if has_notices(before) or has_notices(after):
        from register.views.notice_changes import notice_changes

        lines.extend(notice_changes(before, after, subjects, day))
    return tuple(lines)


def _aircraft_of(before: Ledger, after: Ledger, subject: Subject) -> tuple[str, ...]:
    kind, name = subject
    if kind == "aircraft":
        return (name,)
    found: set[str] = set()
    for ledger in (before, after):
        if name in ledger.records.parts:
            found |= set(host_aircraft(ledger, name))
            if ledger.records.parts[name].use == "assigned":
                found |= set(ledger.places.assigned_to(name))
    return tuple(found)


def _changes_of(before: Ledger, after: Ledger, name: str, day: date) -> Iterator[str]:
    now = judge_aircraft(after, name, day)
    if name not in before.records.aircraft:
        return
    then = judge_aircraft(before, name, day)
    lines = list(_standing_change(then, now))
    lines.extend(_item_changes(then, now))
    yield from lines[:MOST_LINES]
    if len(lines) > MOST_LINES:
        yield f"and {len(lines) - MOST_LINES} more: tailsheaf due {name}"


def _standing_change(then: AircraftDay, now: AircraftDay) -> Iterator[str]:
    if then.standing == now.standing:
        return
    words = now.standing.replace("-", " ")
    known = {reason.says for reason in then.reasons}
    fresh = [reason for reason in now.reasons if reason.says not in known]
    first = next((r for r in fresh if r.standing == now.standing), None)
    yield f"{now.aircraft} is now {words}" + (f": {first.says}" if first else "")


def _item_changes(then: AircraftDay, now: AircraftDay) -> Iterator[str]:
    earlier = {(item.task.id, item.subject): item for item in then.items}
    changed: list[tuple[int, str]] = []
    for item in now.items:
        old = earlier.get((item.task.id, item.subject))
        if item.task.on == NOTICE:
            # What became of a notice is said once, with its reason.
            continue
        if old is None or item.is_day_check or old.is_day_check:
            continue
        words = _item_change(old, item)
        if words is not None:
            changed.append((STATE_ORDER.index(item.state), words))
    for _, words in sorted(changed, key=lambda pair: pair[0]):
        yield words


def _item_change(old: Item, item: Item) -> str | None:
    fresh_done = item.last_done is not None and (
        old.last_done is None or old.last_done.id != item.last_done.id
    )
    if item.failed is not None and (old.failed is None or old.failed.id != item.failed.id):
        return f"{item.task.title}: failed, open until it passes"
    if fresh_done:
        left = left_phrase(item)
        words = f"{item.task.title}: next {left}" if left else f"{item.task.title}: settled"
        late = " and ".join(late_words(limit) for limit in item.limits if limit.late_by > ZERO)
        return words + (f" (done {late} late)" if late else "")
    if item.state == old.state:
        return None
    worse = STATE_ORDER.index(item.state) < STATE_ORDER.index(old.state)
    if not worse and old.state in ("ok", "soon"):
        return None
    return f"{item.task.title}: now {_now_words(item)}"


def _now_words(item: Item) -> str:
    """The state and how near it is, no word of it twice."""
    left = left_phrase(item)
    words = state_words(item.state)
    if item.state == "due" and left.startswith("due ") and left != "due today":
        # Something other than the interval opened it, which is not due by itself.
        return words
    if not left or left.startswith(words):
        return left or words
    return f"{words}, {left}"


def late_words(limit: Limit) -> str:
    """By how much the last done was late, in its unit: 5 flights, 12 days."""
    amount = limit.late_by
    if limit.counter is None:
        return f"{format_amount(amount)} day{'' if amount == 1 else 's'}"
    return f"{format_amount(amount)} {counter_words(limit.counter, amount)}"


def left_phrase(item: Item) -> str:
    """The nearest side in a few words: "due in 2 flights", "over by 27 engine-minutes"."""
    phrases: list[tuple[float, str]] = []
    for limit in item.limits:
        found = limit_phrase(limit)
        if found is not None:
            phrases.append(found)
    return min(phrases)[1] if phrases else ""


def why_phrase(item: Item) -> str:
    """Everything that makes an item due; of one that is not, its nearest side."""
    left = left_phrase(item)
    passed = any(limit.state in ("due", "overdue") for limit in item.limits)
    return item.tell_reasons(left if passed else None) or left


def limit_phrase(limit: Limit) -> tuple[float, str] | None:
    """How near one limit is (for ordering), and in words."""
    if limit.days_left is not None and limit.day is not None:
        days = limit.days_left
        if days < 0:
            return days, f"over by {-days} day{'' if days == -1 else 's'}"
        if days == 0:
            return 0, "due today"
        return days, f"due {limit.day.isoformat()}"
    if limit.left is None or limit.counter is None:
        return None
    low, high = limit.left.low, limit.left.high
    unit = counter_words(limit.counter, abs(high if low is None else low))
    if high < 0 and low != high:
        least = format_amount(-high)
        over = f"at least {least}" if low is None else f"{least} to {format_amount(-low)}"
        return float(high if low is None else low), f"over by {over} {unit}"
    if low is None:
        return -1, f"cannot tell: {format_amount(high)} {unit} left at most, perhaps none"
    about = "about " if limit.known == "estimated" else ""
    return float(low), _counted_phrase(low, high, about, unit)


def _counted_phrase(low: Decimal, high: Decimal, about: str, unit: str) -> str:
    """What is left of a counter: one figure, or a range that does not lie below zero whole."""
    if low != high and low >= 0:
        return f"due in {format_amount(low)} to {format_amount(high)} {unit}"
    if low != high:
        return f"may be over by {format_amount(-low)} {unit}"
    if low < 0:
        return f"over by {about}{format_amount(-low)} {unit}"
    if low == 0:
        return f"at its limit, 0 {unit} left"
    return f"due in {about}{format_amount(low)} {unit}"


def counter_words(counter: str, amount: Decimal | None = None) -> str:
    """A counter for the eye: engine-minutes is engine min; one flight, two flights."""
    words = {"engine-minutes": "engine min", "minutes": "min"}.get(
        counter, counter.replace("-", " ")
    )
    return words.removesuffix("s") if amount == 1 else words


def state_words(state: str) -> str:
    """A state in words."""
    return {
        "overdue": "overdue",
        "due": "due",
        "cannot-tell": "cannot tell",
        "in-window": "in its window",
        "soon": "soon",
        "no-baseline": "never recorded",
        "ok": "not due",
    }[state]
