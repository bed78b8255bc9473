"""What opens a task besides an interval: a season, a gap, work done, an incident, non-use.

Each function answers for one start of one task on one subject: open or not, and why.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from msgspec import Struct

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Fix, Incident, Install, Remove, Snag
from register.records.events import Event
from register.records.owner_bodies import ChangeOfOwner
from register.records.programmes import CARD_STARTS, Start, Task
from register.tasks.calendar import season_of
from register.tasks.reasons import Step, event_step

DEFAULT_VALID_DAYS = 0
#: The word after `what` of a start that a change of owner answers, as an incident would.
NEW_OWNER = "new-owner"


class Opened(Struct, frozen=True):
    """The answer for one start. `due_in` is flights (or another counter) still allowed."""

    state: str
    start: Start
    says: str
    steps: tuple[Step, ...]
    event: Event | None = None
    counter: str | None = None
    left: Decimal | None = None


class Asked(Struct, frozen=True):
    """What a start is asked about."""

    ledger: Ledger
    aircraft: str
    subject: Subject
    position: str | None
    task: Task
    day: date
    dones: Sequence[Event]


def view_start(asked: Asked, start: Start) -> Opened | None:
    """Open or nearly so, or None when this start asks for nothing now."""
    if start.when in CARD_STARTS:
        return None
    if start.when == "day":
        return _day(asked, start)
    if start.when == "season":
        return _season(asked, start)
    if start.when == "gap":
        return _gap(asked, start, start.days or asked.ledger.records.fleet.season_gap_days)
    if start.when == "layup":
        return _layup(asked, start)
    if start.when == "paper":
        return None
    return _after_events(asked, start)


def _last_done(asked: Asked) -> Event | None:
    return asked.dones[-1] if asked.dones else None


def _day(asked: Asked, start: Start) -> Opened | None:
    last = _last_done(asked)
    if last is not None and last.moment.day == asked.day:
        return None
    words = "before the first flight of the day"
    steps = [Step(words, start.place)]
    if last is not None:
        steps.append(event_step(f"last recorded {last.moment.day.isoformat()}", last))
    return Opened("due", start, words, tuple(steps))


def _season(asked: Asked, start: Start) -> Opened | None:
    """Due before the first flight on or after the season's date, or after the fleet's gap."""
    fleet = asked.ledger.records.fleet
    begins = season_of(asked.day, fleet.season_start)
    valid = start.valid_days or DEFAULT_VALID_DAYS
    first_day = asked.ledger.first_day(asked.subject)
    opening = _opening_day(asked)
    done_days = [event.moment.day for event in asked.dones]
    if opening is not None:
        done_days.insert(0, opening)
    flown = _first_flight_since(asked, begins)
    by = flown.moment.day if flown is not None else asked.day
    done = any(day >= begins or day + timedelta(days=valid) >= by for day in done_days)
    seen = first_day is not None and first_day < begins
    if not done and (seen or done_days):
        says = f"season began {begins.isoformat()}, not yet done"
        steps = [Step(start_words(start), start.place)]
        steps.extend(_last_words(asked, valid))
        if flown is not None:
            says = f"flown {flown.moment.day.isoformat()} without the season's check"
            steps.append(event_step(says, flown))
        return Opened("due", start, says, tuple(steps), flown)
    if not done and not done_days:
        return Opened("no-baseline", start, "never recorded", (Step("each season", start.place),))
    return _gap(asked, start, fleet.season_gap_days)


def _opening_day(asked: Asked) -> date | None:
    file = asked.ledger.records.aircraft.get(asked.aircraft)
    for item in file.opening.tasks if file else ():
        if item.task == asked.task.id and item.when is not None:
            subject = asked.ledger.subject_of(item.subject)
            if subject in (None, asked.subject):
                return item.when
    return None


def _last_words(asked: Asked, valid: int) -> Iterator[Step]:
    last = _last_done(asked)
    if last is None:
        return
    words = f"last done {last.moment.day.isoformat()}"
    if valid:
        until = last.moment.day + timedelta(days=valid)
        words += f", good through {until.isoformat()}"
    yield event_step(words, last)


def _first_flight_since(asked: Asked, day: date) -> Event | None:
    for event in asked.ledger.flights(asked.aircraft):
        if event.moment.day >= day:
            return event
    return None


def _gap(asked: Asked, start: Start, days: int | None) -> Opened | None:
    """A gap of N days between flights opens at N days and stays open until done."""
    if days is None:
        return None
    valid = start.valid_days or DEFAULT_VALID_DAYS
    last_done = _last_done(asked)
    previous: date | None = None
    opened: tuple[date, date] | None = None
    for event in asked.ledger.flights(asked.aircraft):
        day = event.moment.day
        if previous is not None and (day - previous).days >= days:
            opened = (previous, day)
        previous = day
    if previous is not None and (asked.day - previous).days >= days:
        opened = (previous, asked.day)
    if opened is None:
        return None
    before, after = opened
    if last_done is not None:
        done = last_done.moment.day
        # A check made before the gap was one answers only while it is good.
        if done >= before + timedelta(days=days) or done + timedelta(days=valid) >= after:
            return None
    says = f"{(after - before).days} days without a flight since {before.isoformat()}"
    steps = (Step(f"after a gap of {days} days", start.place), Step(says))
    return Opened("due", start, says, (*steps, *_last_words(asked, valid)))


def _layup(asked: Asked, start: Start) -> Opened | None:
    """N days without use open on day N+1, once for each spell of non-use."""
    days = start.days or 30
    used = asked.ledger.last_use(asked.subject) or asked.ledger.first_day(asked.subject)
    if used is None:
        return None
    idle = (asked.day - used).days
    last = _last_done(asked)
    if idle <= days or (last is not None and _follows_use(asked, last, used)):
        return None
    says = f"not used for {idle} days, since {used.isoformat()}"
    return Opened(
        "due", start, says, (Step(f"after {days} days without use", start.place), Step(says))
    )


def _follows_use(asked: Asked, done: Event, used: date) -> bool:
    """Was it done after the last use, if only in the evening of that day?"""
    if done.moment.day != used:
        return done.moment.day > used
    return all(
        _answers(asked, done, item.event)
        for item in asked.ledger.counters.contributions(asked.subject)
        if item.event.moment.day == used
    )


def _answers(asked: Asked, done: Event, event: Event) -> bool:
    orders = asked.ledger.orders
    order = orders.compare(orders.last_point(event.id), orders.last_point(done.id))
    return order == "before" or (order == "unknown" and _typed_later(done, event))


def _after_events(asked: Asked, start: Start) -> Opened | None:
    """Once after each matching event, at once or after some flights more."""
    open_ = list(_unanswered(asked, start))
    if not open_:
        return None
    trigger = open_[0]
    point = asked.ledger.orders.last_point(trigger.id)
    told = [f"{_trigger_words(one)} {one.moment.day.isoformat()}" for one in reversed(open_)]
    says = "; ".join(dict.fromkeys(told))
    steps = [Step(_rule_words(start), start.place)]
    steps.extend(event_step(words, one) for words, one in zip(told, reversed(open_), strict=True))
    if start.after_counter is None or start.after_amount is None:
        return Opened("due", start, says, tuple(steps), trigger)
    host: Subject = asked.subject
    if not asked.ledger.counters.gains(host, start.after_counter):
        host = ("aircraft", asked.aircraft)
    gained = asked.ledger.gained(host, start.after_counter, point)
    most = gained.low if gained.high is None else gained.high
    left = start.after_amount - most
    state = "ok" if left > 0 else "due" if left == 0 else "overdue"
    if state == "ok" and left <= 1:
        state = "soon"
    return Opened(state, start, says, tuple(steps), trigger, start.after_counter, left)


def _unanswered(asked: Asked, start: Start) -> Iterator[Event]:
    """What opened a task since it was last done, latest first: each incident, of all else one."""
    for event in _matching(asked, start, reversed(_happenings(asked))):
        if any(_answers(asked, done, event) for done in asked.dones):
            return
        yield event
        if start.when != "incident":
            return


def _typed_later(done: Event, trigger: Event) -> bool:
    """Same day, order not given: a done written down after the trigger answers it."""
    if done.typed is not None and trigger.typed is not None and done.typed != trigger.typed:
        return done.typed > trigger.typed
    return done.machine == trigger.machine and done.seq > trigger.seq


def asks_new_owner(ledger: Ledger, aircraft: str) -> bool:
    """Whether any task of an aircraft is opened by a change of owner."""
    starts = (start for task in ledger.tasks(aircraft) for start in task.starts)
    return any(start.when == "incident" and NEW_OWNER in start.what for start in starts)


def find_triggers(asked: Asked, start: Start) -> tuple[Event, ...]:
    """Every happening that opens a task by one of its starts, in order."""
    return tuple(_matching(asked, start, _happenings(asked)))


def _happenings(asked: Asked) -> list[Event]:
    return asked.ledger.happenings(asked.aircraft)


def _matching(asked: Asked, start: Start, happenings: Iterable[Event]) -> Iterator[Event]:
    began = asked.ledger.records.aircraft[asked.aircraft].opening.as_of
    for event in happenings:
        body = event.body
        if isinstance(body, Incident):
            found = start.when == "incident" and _is_mine(asked, start, body.what, body.aircraft)
        elif isinstance(body, ChangeOfOwner):
            came = body.way == "in" and NEW_OWNER in start.what
            found = came and start.when == "incident" and _is_here(asked, body.aircraft)
        elif isinstance(body, Install | Remove):
            wanted = start.when == "work" or (start.when == "install" and event.kind == "install")
            # What stood in the aircraft when the register began is no work done since.
            initial = began is not None and event.moment.day <= began
            found = wanted and not initial and _touches(asked, start, event, body)
        elif isinstance(body, Fix):
            found = start.when in ("fix", "work") and _fix_touches(asked, start, body)
        else:
            found = False
        if found:
            yield event


def _is_mine(asked: Asked, start: Start, what: str, aircraft: object) -> bool:
    named = not start.what or what in start.what
    return named and _is_here(asked, aircraft)


def _is_here(asked: Asked, ref: object) -> bool:
    return asked.ledger.names.aircraft_name(ref) == asked.aircraft  # type: ignore[arg-type]


def _touches(asked: Asked, start: Start, event: Event, body: Install | Remove) -> bool:
    """An install or removal on this aircraft, at the named positions and kinds."""
    part = asked.ledger.names.part_name(body.part)
    if part is None:
        return False
    if asked.subject[0] == "part" and asked.subject[1] != part:
        return False
    position = None
    here = False
    for spell in asked.ledger.places.spells.get(part, ()):
        is_mine = spell.install.id == event.id or (
            spell.removal is not None and spell.removal.id == event.id
        )
        if is_mine and spell.aircraft == asked.aircraft:
            here, position = True, spell.position
            if spell.assigned and start.when == "work":
                return False
    return here and is_placed_at(start, position, asked.ledger.records.parts[part].kind)


def _fix_touches(asked: Asked, start: Start, body: Fix) -> bool:
    for id_ in body.snags:
        event = asked.ledger.orders.events.get(id_)
        if event is None or not isinstance(event.body, Snag):
            continue
        snag = event.body
        part = asked.ledger.names.part_name(snag.part)
        if asked.subject[0] == "part":
            # The part itself, or whatever stood at its position of this aircraft.
            placed = snag.position is not None and snag.position == asked.position
            if part != asked.subject[1] and not (placed and _is_here(asked, snag.aircraft)):
                continue
        elif not _is_here(asked, snag.aircraft):
            continue
        kind = asked.ledger.records.parts[part].kind if part else None
        if is_placed_at(start, snag.position, kind):
            return True
    return False


def is_placed_at(start: Start, position: str | None, kind: str | None) -> bool:
    """Is a start about work at a position, or on a part of a kind? One that names none is."""
    if not start.positions and not start.kinds:
        return True
    return (position is not None and position in start.positions) or (
        kind is not None and kind in start.kinds
    )


def start_words(start: Start) -> str:
    """A start in words: when it opens its task."""
    return _ALWAYS_WORDS.get(start.when) or _rule_words(start)


_ALWAYS_WORDS = {
    "each-flight": "before each flight",
    "charge": "at each charge",
    "fuel-mix": "at each fuel mix",
    "day": "before the first flight of the day",
    "paper": "when the paper runs out",
}


def _rule_words(start: Start) -> str:
    words = {
        "season": "before the season's first flight",
        "gap": f"after {start.days or 'the usual'} days without a flight",
        "layup": f"after {start.days or 30} days without use",
        "install": "once after installing",
        "fix": "after a fix",
        "work": "after work",
        "incident": "on an incident",
    }[start.when]
    named = (*start.what, *start.positions, *start.kinds)
    if named:
        words += f" ({', '.join(named)})"
    if start.valid_days:
        words += f", a check holding {start.valid_days} days"
    if start.after_counter and start.after_amount is not None:
        words += f", {start.after_amount} {start.after_counter} later"
    return words


def _trigger_words(event: Event) -> str:
    body = event.body
    if isinstance(body, Incident):
        return body.what.replace("-", " ")
    if isinstance(body, ChangeOfOwner):
        return "came from another owner"
    if isinstance(body, Install | Remove) and body.part is not None:
        verb = "installed" if isinstance(body, Install) else "removed"
        return f"{body.part.name} {verb}"
    return "fixed"
