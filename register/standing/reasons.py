"""Reasons for a standing: each with its kind, its words, and the record behind it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Literal

from msgspec import Struct

from register.findings.conditions import view_empty_positions, view_unusable
from register.findings.cures import cures_of, until_words
from register.findings.deferrals import DeferralState, view_deferral
from register.findings.papers import view_papers
from register.findings.snags import LOOSE, SnagState
from register.ledger.ledger import Ledger
from register.records.unread import SAYS_UNREAD
from register.records.values import count_words, format_amount
from register.standing.pace import next_flight
from register.tasks.items import Item
from register.tasks.limits import Limit, left_words
from register.trouble import Place

Standing = Literal["not-in-service", "grounded", "limited", "due", "cannot-tell", "nothing-open"]
#: The first that applies.
STANDINGS: tuple[Standing, ...] = (
    "not-in-service",
    "grounded",
    "limited",
    "due",
    "cannot-tell",
    "nothing-open",
)


#: An item of this name is what a notice of the kit asks.
NOTICE = "notice"
#: A reason of this kind is a file of which nothing but the name is known.
LOST = "lost"


class Reason(Struct, frozen=True):
    """One reason: what standing it makes, in words, and where it stands in the records."""

    kind: str
    standing: Standing
    says: str
    place: Place | None
    name: str = ""
    subject: str = ""
    mend: str = ""
    #: Nothing certain, only not to be told: shown after what is.
    is_unclear: bool = False


def item_reasons(ledger: Ledger, item: Item) -> Iterator[Reason]:
    """What a task item means for flying."""
    if item.task.is_card_only and item.failed is None:
        return
    if item.is_day_check:
        return
    found = _judge_item(ledger, item)
    if found is None:
        return
    standing, says = found
    place = item.failed.place("result") if item.failed else _place_of(item)
    kind = "life" if item.task.id == "life" else "task"
    if item.task.on == NOTICE:
        kind = NOTICE
    if item.state == "no-baseline" and standing == "grounded":
        kind = "never-recorded"
    yield Reason(
        kind,
        standing,
        f"{_task_words(item)}: {says}",
        place,
        item.task.id,
        item.subject[1],
        is_unclear=item.failed is None and item.state in ("cannot-tell", "no-baseline"),
    )


def _task_words(item: Item) -> str:
    """A task by the name that `why` and `done` take, and the part it is on."""
    if item.task.id == "life":
        return f"life of {item.subject[1]}"
    if item.task.on == NOTICE:
        on = f" on {item.subject[1]}" if item.subject[0] == "part" else ""
        return f"notice {item.task.id}{on}"
    return item.task.id + (f" on {item.subject[1]}" if item.subject[0] == "part" else "")


def _place_of(item: Item) -> Place:
    for step in reversed(item.steps):
        if step.place is not None and "/events/" in step.place.file:
            return step.place
    return item.task.place


def _judge_item(ledger: Ledger, item: Item) -> tuple[Standing, str] | None:
    if item.failed is not None:
        says = f"failed {item.failed.moment.day.isoformat()}"
        return ("grounded" if item.grounds else "due"), says
    passed = [found for limit in item.limits if (found := _stops(ledger, item, limit))]
    opened = [one for one in item.starts_in("due", "overdue") if one.start.when != "day"]
    stops = item.tell_reasons(passed[0] if passed else None) if passed or opened else ""
    if item.grounds:
        if stops:
            return "grounded", stops
        if item.state == "cannot-tell":
            return "grounded", _unclear(item)
        if item.state == "no-baseline":
            return "grounded", "never recorded"
    if item.state in ("overdue", "due") or stops:
        return "due", stops or _near(item)
    if item.state == "in-window" and any(limit.is_past_due for limit in item.limits):
        return "due", f"in its window, {_near(item)}"
    if item.state == "cannot-tell":
        return "cannot-tell", _unclear(item)
    return None


def _stops(ledger: Ledger, item: Item, limit: Limit) -> str | None:
    """Past the last permitted point, or passed by the next flight; None if neither."""
    if limit.state == "overdue":
        return _overdue_words(limit)
    if limit.left is None or limit.counter is None or limit.state == "cannot-tell":
        return None
    last = limit.left_to_last
    if last is None:
        return None
    step = next_flight(ledger, item.aircraft, item.subject, limit.counter)
    if step.amount > last:
        return (
            f"{format_amount(last)} {limit.counter.replace('-', ' ')} left; "
            f"the next flight passes it ({step.says})"
        )
    return None


def _overdue_words(limit: Limit) -> str | None:
    if limit.day is not None and limit.days_left is not None:
        return f"was due {limit.day.isoformat()}, {count_words(-limit.days_left, 'days')} ago"
    if limit.left is None or limit.counter is None:
        return None
    return left_words(limit.left, limit.counter)


def deciding_words(item: Item) -> str:
    """What makes an item due, overdue or unclear, as its reason has it; "" where nothing does.

    What is past its last permitted point comes before what opened a task, but for an incident.
    """
    if item.failed is not None:
        return f"failed {item.failed.moment.day.isoformat()}"
    over = (_overdue_words(limit) for limit in item.limits if limit.state == "overdue")
    found = item.tell_reasons(next((words for words in over if words), None))
    return found or (_unclear(item) if item.state == "cannot-tell" else "")


def _near(item: Item) -> str:
    for limit in item.limits:
        if limit.day is not None and limit.state in ("due", "in-window"):
            return f"due {limit.day.isoformat()}"
        if limit.left is not None and limit.state in ("due", "in-window"):
            return left_words(limit.left, limit.counter or "")
    return "due"


def _unclear(item: Item) -> str:
    if item.task.is_damaged:
        return "it could not be read whole: tailsheaf check"
    for opened in item.opened:
        if opened.state == "cannot-tell":
            return f"cannot tell: {opened.says}"
    for limit in item.limits:
        if limit.state != "cannot-tell":
            continue
        if limit.unset:
            return "its interval is not set"
        if limit.left is not None:
            return left_words(limit.left, limit.counter or "")
    return "not enough is recorded"


def snag_reasons(
    ledger: Ledger, aircraft: str, snags: list[SnagState], day: date
) -> Iterator[Reason]:
    """Open snags and their deferrals."""
    deferred: list[tuple[SnagState, DeferralState]] = []
    for snag in snags:
        if not snag.is_open or aircraft not in snag.hosts:
            continue
        deferral = view_deferral(ledger, snag, day)
        if deferral is not None:
            if not deferral.expired:
                deferred.append((snag, deferral))
            yield _deferral_reason(snag, deferral)
        else:
            reason = _snag_reason(snag)
            if reason is not None:
                yield reason
    yield from _crowded(ledger, deferred)


def _snag_reason(snag: SnagState) -> Reason | None:
    standings: dict[str, tuple[Standing, str]] = {
        "grounding": ("grounded", "grounding snag"),
        "not-yet-rated": ("grounded", "snag not yet rated"),
        "limiting": ("limited", "limiting snag"),
        "deferrable": ("due", "snag to fix or defer"),
    }
    found = standings.get(snag.severity)
    if found is None:
        return None
    standing, words = found
    if snag.rest == LOOSE:
        words = "the rest lies loose inside, not found"
    age = f", since {snag.first_day.isoformat()}"
    return Reason(
        "snag",
        standing,
        f"{words}: {snag.text}{age}" + (f" ({snag.back_words})" if snag.repeat else ""),
        snag.event.place("text"),
        snag.id,
        snag.part or snag.position or "",
    )


def _deferral_reason(snag: SnagState, deferral: DeferralState) -> Reason:
    standing: Standing = "grounded" if deferral.expired else "limited"
    key = "until" if deferral.body.until is not None else "flights"
    return Reason(
        "deferral",
        standing,
        f"{deferral.says}: {snag.text}, found {snag.first_day.isoformat()} "
        f"({deferral.age_days} days)",
        deferral.event.place(key),
        snag.id,
        snag.part or snag.position or "",
    )


def _crowded(ledger: Ledger, deferred: list[tuple[SnagState, DeferralState]]) -> Iterator[Reason]:
    """Two deferrals on one system need a decision made in view of both."""
    by_system: dict[str, list[tuple[SnagState, DeferralState]]] = {}
    for snag, deferral in deferred:
        key = snag.system or snag.position
        if key is not None:
            by_system.setdefault(key, []).append((snag, deferral))
    for system, group in sorted(by_system.items()):
        if len(group) < 2:
            continue
        ids = {deferral.event.id for _, deferral in group}
        if any(ids - {d.event.id} <= set(d.body.seen) for _, d in group):
            continue
        last = max((d for _, d in group), key=lambda d: ledger.rank[d.event.id])
        yield Reason(
            "deferral",
            "grounded",
            f"{len(group)} deferrals on one system ({system}) need a fresh decision",
            last.event.place("snag"),
            group[-1][0].id,
            system,
        )


def part_reasons(ledger: Ledger, aircraft: str) -> Iterator[Reason]:
    """Parts not serviceable, and required positions that hold nothing."""
    for found in view_unusable(ledger, aircraft):
        state = found.state
        where = "assigned " if found.assigned else ""
        kind = ledger.records.parts[state.part].kind
        noun = "pack" if kind == "battery" else "part"
        why = f": {state.reason}" if state.reason else ""
        mend = (
            f"tailsheaf remove {state.part} {aircraft}" if found.assigned else "swap or remove it"
        )
        yield Reason(
            "condition",
            "grounded",
            f"{where}{noun} {state.part} {state.condition}{why}",
            state.place,
            state.part,
            state.part,
            mend,
        )
    for position in view_empty_positions(ledger, aircraft):
        yield Reason(
            "position",
            "grounded",
            f"no {position.kind or position.name} is recorded at {position.name}",
            position.place,
            position.name,
            position.name,
            f"tailsheaf install PART {aircraft} {position.name}",
        )


def unread_reasons(ledger: Ledger, aircraft: str) -> Iterator[Reason]:
    """Records of the aircraft, of its parts or of its programmes that could not be read whole."""
    lost = tuple(lost_reasons(ledger, aircraft))
    yield from lost
    homes = [f"aircraft/{aircraft}/"]
    homes.extend(f"parts/{spell.part}/" for spell in ledger.places.fitted(aircraft))
    homes.extend(
        f"programmes/{use.ref.name}.yaml" for use in ledger.records.aircraft[aircraft].programmes
    )
    kit = ledger.records.aircraft[aircraft].kit
    if kit is not None:
        # Its notices stand there: one that was not read may ask something.
        found = ledger.records.find_kit(kit)
        homes.append(found.path if found is not None else f"kits/{kit.name}.yaml")
    told = {reason.place.file for reason in lost if reason.place is not None}
    unread = [path for path in ledger.uncounted if path.startswith(tuple(homes))]
    unread = [path for path in unread if path not in told]
    if unread:
        count = len(unread)
        yield Reason(
            "unread",
            "cannot-tell",
            f"{count} of its records could not be counted: tailsheaf check",
            Place(unread[0]),
            aircraft,
            aircraft,
            "tailsheaf check",
        )


def lost_reasons(ledger: Ledger, aircraft: str) -> Iterator[Reason]:
    """Files of which nothing but the name is known.

    What may ground and cannot be told grounds: the tasks of a programme, the notices of a
    kit, the life and condition of a part.
    """
    records = ledger.records
    file = records.aircraft[aircraft]
    if file.path in records.lost:
        yield _make_lost("cannot-tell", SAYS_UNREAD, file.path, aircraft, aircraft)
    for use in file.programmes:
        programme = ledger.programme(use.ref)
        if programme is not None and programme.path in records.lost:
            says = f"programme {programme.name} cannot be read: nothing of its tasks can be told"
            yield _make_lost("grounded", says, programme.path, programme.name, aircraft)
    kit = records.find_kit(file.kit)
    if kit is not None and kit.path in records.lost:
        says = f"kit {kit.name} cannot be read: what it asks for cannot be told"
        yield _make_lost("grounded", says, kit.path, kit.name, aircraft)
    fitted = (spell.part for spell in ledger.places.fitted(aircraft))
    for part in dict.fromkeys((*fitted, *ledger.places.assigned_parts(aircraft))):
        path = records.parts[part].path
        if path in records.lost:
            says = f"part {part} cannot be read: its life and condition cannot be told"
            yield _make_lost("grounded", says, path, part, part)


def _make_lost(standing: Standing, says: str, path: str, name: str, subject: str) -> Reason:
    return Reason(
        LOST, standing, says, Place(path), name, subject, "tailsheaf check", is_unclear=True
    )


def paper_reasons(ledger: Ledger, aircraft: str, day: date) -> Iterator[Reason]:
    """Papers out of date, or that cannot be told."""
    for state in view_papers(ledger, day, aircraft):
        if state.state in ("expired", "not-yet"):
            standing: Standing = "grounded" if state.paper.grounds else "due"
        elif state.state == "cannot-tell":
            standing = "grounded" if state.paper.grounds else "cannot-tell"
        else:
            continue
        yield Reason("paper", standing, state.says, state.place, state.paper.name)


def cure_reasons(ledger: Ledger, aircraft: str, day: date) -> Iterator[Reason]:
    """Cures that are not complete: nothing flies on the day one ends, either."""
    for cure in cures_of(ledger, aircraft):
        if cure.is_open_on(day):
            says, mend = f"cure not complete {until_words(cure)}: {cure.what}", ""
            if cure.full_at is None:
                says = f"cure not complete: {cure.what}; {until_words(cure)}"
                mend = f"tailsheaf amend {cure.event.id} full_minutes=…"
            subject = cure.part or cure.body.at or aircraft
            yield Reason("cure", "grounded", says, cure.place, cure.event.id, subject, mend)
