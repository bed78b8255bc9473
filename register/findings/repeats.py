"""Snags that came back: the same system, position and mode soon after a fix, or again and again.

A fault is the same where it stands at the same position of the aircraft, or on the same part
wherever it went; without either, where system and mode are the same. What is not said of a mode or
system contradicts nothing. How soon is soon comes from the fleet (`thresholds` in fleet.yaml) or
from the custom of the trade.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from typing import TYPE_CHECKING

from msgspec.structs import replace

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Fix, Snag
from register.records.events import Event
from register.records.fault_words import FaultRules, plain_word
from register.records.values import Span, format_amount

if TYPE_CHECKING:
    from register.findings.snags import SnagState

_Key = tuple[str, ...]
_Said = tuple[str | None, str | None]


def mark_repeats(ledger: Ledger, states: dict[str, SnagState]) -> dict[str, SnagState]:
    """Every snag, with the fixes tried before on the same fault and the one that did not hold."""
    rules = ledger.records.fleet.faults
    before: dict[_Key, list[SnagState]] = defaultdict(list)
    said: dict[str, _Said] = {}
    marked: dict[str, SnagState] = {}
    for state in states.values():
        said[state.id] = mine = _said(rules, state)
        keys = _keys(state, mine)
        earlier = {other.id: other for key in keys for other in before[key]}
        same = sorted(
            (other for other in earlier.values() if _agree(said[other.id], mine)),
            key=lambda other: ledger.rank[other.id],
        )
        for key in keys:
            before[key].append(state)
        marked[state.id] = _mark(ledger, rules, state, same) if same else state
    return marked


def mode_of(state: SnagState) -> str | None:
    """How it failed, as it is compared."""
    mode = state.event.body.mode if isinstance(state.event.body, Snag) else None
    return plain_word(mode) if mode else None


def is_same_fault(rules: FaultRules, one: SnagState, other: SnagState) -> bool:
    """Does nothing that is said of two snags contradict that they are one fault?"""
    return _agree(_said(rules, one), _said(rules, other))


def _said(rules: FaultRules, state: SnagState) -> _Said:
    """Mode and system, as they are compared."""
    return mode_of(state), rules.chapter_of(state.system) or state.system


def _agree(one: _Said, other: _Said) -> bool:
    return (one[0] == other[0] or None in (one[0], other[0])) and (
        one[1] == other[1] or None in (one[1], other[1])
    )


def _keys(state: SnagState, said: _Said) -> list[_Key]:
    """Under what a snag is looked for when another comes."""
    keys: list[_Key] = []
    if state.found_on is not None and state.position is not None:
        keys.append(("position", state.found_on, state.position))
    if state.part is not None:
        keys.append(("part", state.part))
    mode, chapter = said
    if not keys and state.found_on is not None and chapter is not None and mode is not None:
        keys.append(("system", state.found_on, chapter, mode))
    return keys


def _mark(ledger: Ledger, rules: FaultRules, state: SnagState, same: list[SnagState]) -> SnagState:
    fixes = {
        fix.id: fix
        for other in same
        for fix in other.fixes
        if isinstance(fix.body, Fix)
        and fix.body.closes
        and ledger.rank[fix.id] < ledger.rank[state.id]
    }
    ordered = sorted(fixes.values(), key=lambda fix: ledger.rank[fix.id])
    unheld, says, is_open = _find_unheld(ledger, rules, state, ordered)
    return replace(
        state,
        repeat=(unheld is not None and not is_open) or _is_often(ledger, rules, state, same),
        earlier_actions=tuple(fix.body.action for fix in ordered if isinstance(fix.body, Fix)),
        unheld=unheld,
        unheld_says=says,
        unheld_open=is_open,
    )


def _is_often(ledger: Ledger, rules: FaultRules, state: SnagState, same: list[SnagState]) -> bool:
    """Reported so many times within so many flights."""
    if len(same) < rules.repeat_reports - 1:
        return False
    first = same[1 - rules.repeat_reports]
    return _flights_between(ledger, state, first.event, state.event).low <= rules.repeat_flights


def _find_unheld(
    ledger: Ledger, rules: FaultRules, state: SnagState, fixes: list[Event]
) -> tuple[Event | None, str, bool]:
    """The last fix before a snag, if it came back too soon after it, how soon; if only maybe."""
    if not fixes:
        return None, "", False
    fix = fixes[-1]
    flights = _flights_between(ledger, state, fix, state.event)
    since = state.event.moment.day - fix.moment.day
    by_days = timedelta() < since <= timedelta(rules.refix_days)
    if flights.low > rules.refix_flights and not by_days:
        return None, "", False
    # Where the order of a day leaves it open, it may have held: that is said, and not counted.
    sure = by_days or (flights.high is not None and flights.high <= rules.refix_flights)
    if flights.high == 0:
        return fix, "before the next flight", not sure
    words = format_amount(flights.low)
    if not flights.is_exact:
        high = "more" if flights.high is None else format_amount(flights.high)
        words = f"{words} to {high}"
    return fix, f"{words} flight{'' if words == '1' else 's'} later", not sure


def _flights_between(ledger: Ledger, state: SnagState, one: Event, two: Event) -> Span:
    """Flights from one event to another: of the aircraft, or of the part that had moved on."""
    subject: Subject = ("aircraft", state.found_on or "")
    if state.found_on is None or not _on_board(ledger, state.found_on, one):
        subject = ("part", state.part or "")
    points = ledger.orders.last_point(one.id), ledger.orders.last_point(two.id)
    return ledger.gained(subject, "flights", *points)


def _on_board(ledger: Ledger, aircraft: str, event: Event) -> bool:
    """Was an earlier snag or fix of this aircraft? Where it was of a part elsewhere, its own
    flights count."""
    body = event.body
    ids = body.snags if isinstance(body, Fix) else (event.id,)
    snags = (ledger.orders.events.get(id_) for id_ in ids)
    return any(
        isinstance(snag.body, Snag) and ledger.names.aircraft_name(snag.body.aircraft) == aircraft
        for snag in snags
        if snag is not None
    )
