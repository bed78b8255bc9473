"""What a snag just noted shows: a fix that did not hold, a fault of the whole kit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from register.findings.repeats import is_same_fault, mode_of
from register.findings.snags import SnagState, fold_snags
from register.ledger.ledger import Ledger
from register.records.bodies import Amendment

_SHORTEST = 4


def touched_snags(ledger: Ledger, written: Iterable[str]) -> tuple[SnagState, ...]:
    """The snags that records just written are, or amend."""
    states = fold_snags(ledger)
    found = []
    for id_ in written:
        event = ledger.settled.originals.get(id_)
        aim = event.body.amends if event and isinstance(event.body, Amendment) else id_
        if aim in states:
            found.append(states[aim])
    return tuple(found)


def back_lines(states: Iterable[SnagState]) -> Iterator[str]:
    """A line for each that came back."""
    for state in states:
        if state.unheld is not None:
            yield f"it is {state.back_words}"
        elif state.repeat:
            count = len(state.earlier_actions)
            yield f"it comes again and again here; closed {count} times so far"


def kit_lines(ledger: Ledger, states: Iterable[SnagState]) -> Iterator[str]:
    """A line for each whose mode another aircraft of the kit has had too.

    Needs the whole fleet: its aircraft need not have to do with each other in any record.
    """
    for state in states:
        sisters = _sisters(ledger, state)
        if not sisters:
            continue
        last = sisters[-1]
        kit = _kit_of(ledger, state.found_on)
        yield (
            f"{last.found_on} of the same kit ({kit}) had it too, {last.first_day.isoformat()}: "
            f"{last.text[:40]} ({short_id(ledger, last.id)}); for all of the kit: "
            f"tailsheaf notices --raise {short_id(ledger, state.id)}"
        )


def wants_sisters(ledger: Ledger, states: Iterable[SnagState]) -> bool:
    """Is there a mode and a kit, so that looking at the whole fleet can show anything?"""
    return any(mode_of(state) and _kit_of(ledger, state.found_on) for state in states)


def _sisters(ledger: Ledger, state: SnagState) -> list[SnagState]:
    kit, mode = _kit_of(ledger, state.found_on), mode_of(state)
    if kit is None or mode is None:
        return []
    rules = ledger.records.fleet.faults
    found = [
        other
        for other in fold_snags(ledger).values()
        if other.found_on not in (None, state.found_on)
        and mode_of(other) == mode
        and (other.system is not None or other.position is not None)
        and _one_place(other, state)
        and is_same_fault(rules, other, state)
        and _kit_of(ledger, other.found_on) == kit
    ]
    raised = {notice.raised_from for notice in ledger.records.kits[kit].notices.values()}
    return [] if any(other.id in raised for other in found) else found


def _one_place(one: SnagState, other: SnagState) -> bool:
    """The same system or, where one is not said, the same position."""
    if one.system is not None and other.system is not None:
        return True
    return one.position is not None and one.position == other.position


def _kit_of(ledger: Ledger, aircraft: str | None) -> str | None:
    if aircraft is None:
        return None
    kit = ledger.records.find_kit(ledger.records.aircraft[aircraft].kit)
    return kit.name if kit else None


def short_id(ledger: Ledger, id_: str) -> str:
    """The beginning of an id, as long as it takes to be the only one."""
    others = [other for other in ledger.settled.originals if other != id_]
    return next(
        id_[:n]
        for n in range(_SHORTEST, len(id_) + 1)
        if n == len(id_) or not any(other.startswith(id_[:n]) for other in others)
    )
