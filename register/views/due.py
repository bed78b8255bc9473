"""What is due: every task of every aircraft, nearest first, with what decides it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.findings.doubles import find_twins
from register.ledger.ledger import Ledger
from register.standing.asked import view_asked
from register.standing.pace import Forecast, forecast
from register.standing.reasons import Reason, lost_reasons
from register.tasks.items import Item, view_items
from register.tasks.life import view_lives
from register.tasks.limits import STATE_ORDER


class DueLine(Struct, frozen=True):
    """One item, and when its nearest counter limit is to be expected."""

    item: Item
    stage: str
    forecast: Forecast | None


class DueView(Struct, frozen=True):
    """The answer to `due`. `never_done` counts tasks that no line shows."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    lines: tuple[DueLine, ...]
    never_done: dict[str, int]
    day_checks: dict[str, int]
    every: bool
    one_aircraft: str | None
    #: Files that cannot be read, by aircraft: what they ask for is in no line.
    lost: tuple[tuple[str, Reason], ...] = ()
    #: Pairs of records that look like the same flights; both are counted.
    doubles: int = 0


def view_due(
    ledger: Ledger,
    day: date,
    unread: tuple[str, ...],
    aircraft: str | None = None,
    *,
    every: bool = False,
) -> DueView:
    """Items on a day. With `every`, also those that are never done or card only."""
    names = [aircraft] if aircraft else sorted(ledger.records.aircraft)
    lines: list[DueLine] = []
    never: dict[str, int] = {}
    checks: dict[str, int] = {}
    for name in names:
        stage = ledger.stage(name)[0]
        for item in (
            *view_items(ledger, day, name),
            *view_lives(ledger, name, day),
            *view_asked(ledger, day, name),
        ):
            if item.state == "no-baseline" and not every:
                never[name] = never.get(name, 0) + 1
                continue
            if item.task.is_card_only and item.failed is None and not every:
                continue
            if item.is_day_check:
                checks[name] = checks.get(name, 0) + 1
            lines.append(DueLine(item, stage, _forecast(ledger, item, day)))
    lines.sort(key=lambda line: due_order(line.item))
    lost = tuple((name, reason) for name in names for reason in lost_reasons(ledger, name))
    doubles = sum(1 for _ in find_twins(ledger, names))
    return DueView(
        day, not unread, unread, tuple(lines), never, checks, every, aircraft, lost, doubles
    )


def due_order(item: Item) -> tuple[int, bool, Decimal, str, str]:
    """Worst state first, grounding ones first, then the least left as a share of its interval."""
    return (
        STATE_ORDER.index(item.state),
        not item.grounds,
        _share_left(item),
        item.aircraft,
        item.task.id,
    )


def _share_left(item: Item) -> Decimal:
    shares: list[Decimal] = []
    for limit in item.limits:
        if limit.days_left is not None:
            shares.append(Decimal(limit.days_left) / 14)
        elif limit.left is not None and limit.left.low is not None:
            size = limit.due_at.low if limit.due_at is not None and limit.due_at.low > 0 else 1
            shares.append(limit.left.low / Decimal(size) * 10)
    return min(shares, default=Decimal(10**6))


def _forecast(ledger: Ledger, item: Item, day: date) -> Forecast | None:
    if item.state not in ("ok", "soon", "in-window"):
        return None
    for limit in item.limits:
        if limit.counter is None or limit.left is None or limit.left.low is None:
            continue
        found = forecast(ledger, item.aircraft, limit.counter, limit.left.low, day)
        if found is not None:
            return found
    return None
