"""Notices on a day: what each physical part was asked, what it answered, what is still open.

The answers and the count since the last of them belong to the part, and move with it. What
was found stays open until it is repaired, whatever was seen in between. Cannot tell is open.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from typing import Literal
from weakref import WeakKeyDictionary

from msgspec import Struct

from register.findings.applying import Asked, Scope, find_asked
from register.findings.looks import Look, list_answers, raised_looks
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.notices import Notice
from register.records.programmes import CounterInterval, Start, Task, Terms
from register.records.values import ZERO
from register.tasks.calendar import CalendarPoint
from register.tasks.intervals import CalendarDue, CounterDue, SideDue
from register.tasks.items import Item
from register.tasks.limits import Limit, calendar_limit, counter_limit, worst_state
from register.tasks.reasons import Step, event_step
from register.tasks.starts import Opened

State = Literal[
    "cannot-tell",
    "found",
    "not-looked-at",
    "due-again",
    "not-repaired",
    "clear",
    "repaired",
    "not-applicable",
]
#: Counted as open; cannot tell among them, never as clear.
OPEN: tuple[State, ...] = ("cannot-tell", "found", "not-looked-at", "due-again", "not-repaired")
#: Marks the items that come from a notice, and the start that opens them.
ON_NOTICE = "notice"


class NoticeState(Struct, frozen=True):
    """One notice on one part or aircraft. `limits` say how long an answer holds."""

    notice: Notice
    kit: str | None
    asked: Asked
    state: State
    says: str
    looks: tuple[Look, ...]
    limits: tuple[Limit, ...]
    steps: tuple[Step, ...]

    @property
    def is_open(self) -> bool:
        """Something is still to do, or to find out."""
        return self.state in OPEN

    @property
    def stands(self) -> str:
        """The state and why, no word of it twice."""
        if self.state in ("cannot-tell", "due-again", "not-applicable"):
            return f"{self.state.replace('-', ' ')}: {self.says}"
        return self.says

    @property
    def subject(self) -> Subject:
        """What is asked."""
        return self.asked.subject


_STATES: WeakKeyDictionary[Ledger, dict[date, tuple[NoticeState, ...]]] = WeakKeyDictionary()


def view_states(ledger: Ledger, day: date) -> tuple[NoticeState, ...]:
    """Every notice that asks for an answer, on everything it is about."""
    found = _STATES.setdefault(ledger, {})
    if day not in found:
        found[day] = tuple(_view_all(ledger, day))
    return found[day]


def view_notice_items(ledger: Ledger, day: date, aircraft: str) -> Iterator[Item]:
    """What the notices ask of one aircraft, as items beside its tasks; closed ones are none."""
    for state in view_states(ledger, day):
        if aircraft in state.asked.hosts:
            item = _item_of(state, aircraft)
            if item is not None:
                yield item


def list_notices(ledger: Ledger) -> Iterator[tuple[Notice, Scope]]:
    """Every notice and trap with whom it is about: kits' first, then aircraft's own."""
    aircraft = ledger.records.aircraft
    by_kit: dict[str, list[str]] = defaultdict(list)
    for name in sorted(aircraft):
        kit = ledger.records.find_kit(aircraft[name].kit)
        if kit is not None:
            by_kit[kit.name].append(name)
    for kit_name in sorted(ledger.records.kits):
        named = by_kit.get(kit_name, [])
        for notice in ledger.records.kits[kit_name].notices.values():
            # What an aircraft's own file says of a notice of its kit is laid over it.
            mine = [name for name in named if notice.name not in aircraft[name].notices]
            off = tuple(name for name in mine if notice.name in aircraft[name].notices_off)
            yield notice, Scope(kit_name, tuple(mine), off)
    for name in sorted(aircraft):
        for notice in _own_notices(ledger, name):
            yield notice, Scope(None, (name,))


def _own_notices(ledger: Ledger, aircraft: str) -> Iterator[Notice]:
    file = ledger.records.aircraft[aircraft]
    if not file.notices:
        return
    from register.records.as_built import read_section

    laid = read_section(ledger.records, aircraft, "notices")[0]
    for name, notice in file.notices.items():
        yield laid.get(name, notice)


def _view_all(ledger: Ledger, day: date) -> Iterator[NoticeState]:
    answers = list_answers(ledger)
    for notice, scope in list_notices(ledger):
        if notice.is_trap:
            continue
        rows = list(find_asked(ledger, notice, scope))
        raised = raised_looks(ledger, notice, rows)
        for asked in rows:
            looks = [*answers.get((notice.name, asked.subject), ()), *raised.get(asked.subject, ())]
            looks.sort(key=lambda look: ledger.rank[look.event.id])
            yield _judge(ledger, notice, scope, asked, tuple(looks), day)


# --- the state of one ---------------------------------------------------------


def _judge(
    ledger: Ledger, notice: Notice, scope: Scope, asked: Asked, looks: tuple[Look, ...], day: date
) -> NoticeState:
    limits: tuple[Limit, ...] = ()
    physical = [look for look in looks if look.result != "not-applicable"]
    answered_off = _answered_off(ledger, asked, looks)
    verdict = asked.verdict
    state: State
    if notice.is_damaged:
        state, says = "cannot-tell", "it could not be read whole: tailsheaf check"
    elif verdict.answer == "no":
        state, says = "not-applicable", verdict.why
    elif answered_off is not None:
        day_said = answered_off.event.moment.day.isoformat()
        state, says = "not-applicable", f"answered {day_said}: {answered_off.text}"
    elif (found := _open_find(ledger, physical)) is not None:
        state, says = "found", _look_words("found", found)
    elif not physical:
        state = "cannot-tell" if verdict.answer == "cannot-tell" else "not-looked-at"
        says = verdict.why if state == "cannot-tell" else "not yet looked at"
    else:
        last = physical[-1]
        limits = tuple(_limits(ledger, notice, asked.subject, last, day))
        state, says = _after_look(notice, last, limits)
    steps = tuple(_steps(notice, scope, asked, looks, limits))
    return NoticeState(notice, scope.kit, asked, state, says, looks, limits, steps)


def _answered_off(ledger: Ledger, asked: Asked, looks: tuple[Look, ...]) -> Look | None:
    """The answer that it does not apply, unless it was given on another lot than it has now."""
    last = looks[-1] if looks else None
    if last is None or last.result != "not-applicable":
        return None
    return None if _other_lot(asked_lot(ledger, asked), last) else last


def asked_lot(ledger: Ledger, asked: Asked) -> str | None:
    """The lot it has by its file."""
    return ledger.file_of(asked.subject).lot


def _other_lot(lot: str | None, look: Look) -> bool:
    return look.lot is not None and look.lot != (lot or "")


def _open_find(ledger: Ledger, physical: list[Look]) -> Look | None:
    """The last find that no repair is known to have followed."""
    for look in reversed(physical):
        if look.result != "found":
            continue
        point = ledger.orders.last_point(look.event.id)
        mended = any(
            other.result == "repaired"
            and ledger.orders.compare(point, ledger.orders.segments(other.event.id)[0]) == "before"
            for other in physical
        )
        return None if mended else look
    return None


def _after_look(notice: Notice, last: Look, limits: tuple[Limit, ...]) -> tuple[State, str]:
    repaired = last.result == "repaired"
    said = _look_words("repaired" if repaired else "looked at, clear", last)
    if repaired and notice.action != "recurring":
        return "repaired", said
    if not limits:
        if notice.action == "until-repaired":
            return "not-repaired", f"{said}; open until repaired"
        return ("repaired" if repaired else "clear"), said
    worst = worst_state([limit.state for limit in limits])
    if worst == "cannot-tell":
        return "cannot-tell", f"{said}; when again cannot be told"
    if worst in ("overdue", "due") or any(limit.is_past_due for limit in limits):
        return "due-again", said
    return ("repaired" if repaired else "clear"), said


def _look_words(verb: str, look: Look) -> str:
    words = f": {look.text}" if look.text else ""
    return f"{verb} {look.event.moment.day.isoformat()}{words}"


def _limits(
    ledger: Ledger, notice: Notice, subject: Subject, last: Look, day: date
) -> Iterator[Limit]:
    """How long the last look holds, on each side; the count is the part's own."""
    ended = notice.action == "until-repaired" and last.result == "repaired"
    if notice.action == "once" or ended:
        return
    task = task_of(notice, subject)
    soon = ledger.records.fleet.soon
    step = event_step(f"looked at {last.event.moment.day.isoformat()}", last.event, last.key)
    for interval in notice.every:
        if not isinstance(interval, CounterInterval):
            due = CalendarDue(CalendarPoint(last.event.moment.day), False)
            folded = SideDue(interval.side, None, due, (), (step,))
            yield calendar_limit(task, folded, day, soon)
        elif not ledger.counters.gains(subject, interval.counter):
            words = f"{subject[1]} does not count {interval.counter}"
            yield Limit("cannot-tell", interval.counter, steps=(Step(words, interval.place),))
        else:
            anchor = CounterDue(ledger.orders.last_point(last.event.id), ZERO, False)
            folded = SideDue(interval.side, anchor, None, (), (step,))
            yield counter_limit(ledger, subject, task, folded, day, soon)


def _steps(
    notice: Notice, scope: Scope, asked: Asked, looks: tuple[Look, ...], limits: tuple[Limit, ...]
) -> Iterator[Step]:
    whose = f"kit {scope.kit}" if scope.kit else "its own file"
    yield Step(f"notice {notice.name} of {whose}: {asks_words(notice)}", notice.place)
    verdict = {"yes": "applies", "no": "does not apply", "cannot-tell": "cannot tell"}
    yield from asked.verdict.steps
    yield Step(f"so it {verdict[asked.verdict.answer]}".replace("it cannot", "one cannot"))
    for look in looks:
        word = look.result.replace("-", " ")
        lot = f" (lot {look.lot} then)" if look.lot else ""
        yield event_step(_look_words(word, look) + lot, look.event, look.key)
    if looks and looks[-1].result == "not-applicable" and asked.verdict.answer != "no":
        last = looks[-1]
        if last.lot is not None:
            yield Step("an answer that it does not apply holds for the lot it was given on")
    for limit in limits:
        yield from limit.steps


def asks_words(notice: Notice) -> str:
    """Whom it asks, in a few words: every wing, on the left, lots B12-B40."""
    applies = notice.applies
    words = [f"every {applies.part_kind}" if applies.part_kind else "every one"]
    if applies.position:
        words = [f"the {applies.part_kind or 'part'} at {applies.position}"]
    elif not applies.is_for_parts:
        words = ["every aircraft"]
    if applies.side:
        words.append(f"on the {applies.side}")
    if applies.lots:
        several = (
            "s" if len(applies.lots) > 1 or applies.lots[0].first != applies.lots[0].last else ""
        )
        words.append(f"lot{several} {', '.join(item.text for item in applies.lots)}")
    return ", ".join(words)


# --- as items beside the tasks ------------------------------------------------


def task_of(notice: Notice, subject: Subject) -> Task:
    """A notice as a task: what it asks again and again, or once."""
    return Task(
        id=notice.name,
        title=notice.title,
        group=None,
        on=ON_NOTICE,
        on_name=subject[0],
        terms=(Terms(None, notice.every, (), "from-done"),),
        starts=(),
        grounds=notice.grounds,
        readings=(),
        basis=notice.basis,
        list_name=None,
        if_out=None,
        caution=None,
        place=notice.place,
        programme=notice.owner,
        is_damaged=notice.is_damaged,
    )


def _item_of(state: NoticeState, aircraft: str) -> Item | None:
    closed = state.state in ("clear", "repaired", "not-applicable")
    if closed and not state.limits:
        return None
    start = Start(ON_NOTICE, None, None, None, (), (), (), None, None, state.notice.place)
    opened: tuple[Opened, ...] = ()
    if state.is_open and state.state != "due-again":
        word = "cannot-tell" if state.state == "cannot-tell" else "due"
        opened = (Opened(word, start, state.says, ()),)
    item_state = worst_state([limit.state for limit in state.limits])
    if state.state == "cannot-tell":
        item_state = "cannot-tell"
    elif opened:
        item_state = "due"
    looks = [look.event for look in state.looks]
    return Item(
        aircraft,
        state.subject,
        state.asked.position,
        task_of(state.notice, state.subject),
        item_state,
        state.limits,
        opened,
        looks[-1] if looks else None,
        None,
        None,
        state.steps,
    )
