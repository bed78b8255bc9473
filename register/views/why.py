"""Why a figure is what it is: rule, basis, records and arithmetic. Printed, never recomputed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.ledger.counters import Contribution, Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Flights
from register.records.values import NOTHING, Span, format_amount
from register.standing.pace import Forecast, forecast, next_flight
from register.standing.reasons import item_reasons
from register.tasks.items import Item
from register.tasks.limits import span_words
from register.tasks.reasons import Step
from register.tasks.starts import start_words
from register.trouble import Place
from register.views.changes import counter_words


class Passed(Struct, frozen=True):
    """Where a counter passed a limit: an event, and which flight of it, as far as known."""

    place: Place
    day: date
    first: int
    last: int


class WhyTask(Struct, frozen=True):
    """The chain for one task on one subject."""

    item: Item
    steps: tuple[Step, ...]
    sums: tuple[str, ...]
    next_flight: tuple[str, ...]
    standing: tuple[str, ...]
    forecast: Forecast | None
    passed: Passed | None


class Addend(Struct, frozen=True):
    """One record, or one stay, that adds to a counter."""

    says: str
    amount: Span
    place: Place | None
    host: str


class WhyCounter(Struct, frozen=True):
    """The sum behind one counter of one subject."""

    subject: Subject
    counter: str
    total: Span
    opening: Span
    opening_place: Place
    addends: tuple[Addend, ...]


def view_why_task(ledger: Ledger, item: Item, day: date) -> WhyTask:
    """Rule, basis, dones, counters and what they come to."""
    coming = []
    ahead: Forecast | None = None
    passed: Passed | None = None
    counted = [limit for limit in item.limits if limit.counter and limit.left is not None]
    for limit in counted:
        if limit.counter is None or limit.left is None:
            continue
        step = next_flight(ledger, item.aircraft, item.subject, limit.counter)
        coming.append(
            f"the next flight adds {format_amount(step.amount)} "
            f"{counter_words(limit.counter, step.amount)} ({step.says})"
        )
        if limit.left.low is not None and limit.left.low > 0:
            ahead = ahead or forecast(ledger, item.aircraft, limit.counter, limit.left.low, day)
        elif limit.due_at is not None and limit.due_at.is_exact:
            passed = find_passing(ledger, item.subject, limit.counter, limit.due_at.low)
    return WhyTask(
        item,
        (*item.steps, *_waiting_steps(item)),
        tuple(
            words for limit in counted for words in _sum_words(ledger, item, limit.counter or "")
        ),
        tuple(coming),
        tuple(
            f"{reason.standing.replace('-', ' ')}: {reason.says}"
            for reason in item_reasons(ledger, item)
        ),
        ahead,
        passed,
    )


def _waiting_steps(item: Item) -> Iterator[Step]:
    """Starts that ask for nothing now: by what they would open."""
    opened = {found.start for found in item.opened}
    for start in item.task.starts:
        if start not in opened:
            yield Step(f"also opens {start_words(start)}; nothing of it is open", start.place)


def _sum_words(ledger: Ledger, item: Item, counter: str) -> Iterator[str]:
    """The arithmetic behind the counter now, and the count when the task was last done."""
    view = view_why_counter(ledger, item.subject, counter)
    name = item.subject[1]
    yield f"{counter}: {span_total_words(view)} (tailsheaf why {name} {counter})"
    if item.last_done is not None:
        point = ledger.orders.segments(item.last_done.id)[0]
        then = ledger.value(item.subject, counter, point)
        day = item.last_done.moment.day.isoformat()
        yield f"{counter} when last done, {day}: {span_words(then)}"


def view_why_counter(ledger: Ledger, subject: Subject, counter: str) -> WhyCounter:
    """Opening value and every record that adds to it."""
    file = ledger.file_of(subject)
    place = file.opening.places.get(counter, Place(file.path))
    addends = []
    for contribution in ledger.counters.contributions(subject):
        amount = ledger.counters.amount(contribution.event, counter, contribution.pieces)
        if amount != NOTHING:
            addends.append(_addend(ledger, contribution, counter, amount))
    return WhyCounter(
        subject,
        counter,
        ledger.value(subject, counter),
        file.opening.value(counter),
        place,
        tuple(addends),
    )


def _addend(ledger: Ledger, contribution: Contribution, counter: str, amount: Span) -> Addend:
    event = contribution.event
    body = event.body
    host = ""
    words = event.kind.replace("-", " ")
    key = "when"
    if isinstance(body, Flights):
        host = ledger.names.aircraft_name(body.aircraft) or ""
        counted = sum(piece.point.high - piece.point.low + 1 for piece in contribution.pieces)
        of = f" of {body.count}" if counted != body.count else ""
        words = f"{counted}{of} flight{'' if body.count == 1 else 's'} of {host}"
        key = "engine_minutes" if counter == "engine-minutes" else "count"
        if any(not piece.sure for piece in contribution.pieces):
            words += ", perhaps: the order within the day or the pack is not recorded"
    return Addend(f"{event.moment.day.isoformat()} {words}", amount, event.place(key), host)


def find_passing(ledger: Ledger, subject: Subject, counter: str, limit: Decimal) -> Passed | None:
    """The event, and the flight in it, with which a counter went past a limit."""
    running = ledger.file_of(subject).opening.value(counter).low
    for contribution in ledger.counters.contributions(subject):
        event = contribution.event
        span = ledger.counters.amount(event, counter, contribution.pieces)
        gained = span.low if span.high is None else span.high
        if running + gained > limit:
            first, last = _which_flight(ledger, event.id, counter, running, gained, limit)
            return Passed(event.place("when"), event.moment.day, first, last)
        running += gained
    return None


def _which_flight(
    ledger: Ledger, event_id: str, counter: str, before: Decimal, gained: Decimal, limit: Decimal
) -> tuple[int, int]:
    body = ledger.orders.events[event_id].body
    if not isinstance(body, Flights) or body.count == 1:
        return 1, 1
    if counter == "minutes" and body.each:
        running = before
        for n, minutes in enumerate(body.each, start=1):
            running += minutes
            if running > limit:
                return n, n
    if counter not in ("minutes", "engine-minutes") and gained:
        step = gained / body.count
        number = int((limit - before) // step) + 1
        return number, number
    return 1, body.count


def span_total_words(view: WhyCounter) -> str:
    """The arithmetic in one line."""
    gained = NOTHING
    for addend in view.addends:
        gained = gained + addend.amount
    return (
        f"{span_words(view.opening)} opening + {span_words(gained)} from "
        f"{len(view.addends)} records = {span_words(view.total)}"
    )
