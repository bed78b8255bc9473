"""From events as written to events that count: withdrawals and amendments applied.

A mistake is mended by a new event; the old file stays. Two amendments of one key
that have not seen each other are a clash: the cautious value holds until settled.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from msgspec import Struct
from msgspec.structs import replace

from register.ledger.rings import Ring, settle_withdrawals
from register.records.bodies import SEVERITIES, Amendment, Withdrawal
from register.records.events import Event, build_event
from register.records.scalars import nearest
from register.text.nodes import Entry, Mapping, Node, Scalar, Sequence
from register.trouble import Place, Problem

_FIXED_KEYS = frozenset({"record", "id"})
_FIRST = datetime(1950, 1, 1, tzinfo=UTC)


class Disputed(Struct, frozen=True):
    """A key of an event that was amended apart, the value that counts, and who says what."""

    event: Event
    key: str
    counted: str
    amendments: tuple[Event, ...]


class Settled(Struct, frozen=True):
    """Events that count, those withdrawn (id -> by which event), and what was odd."""

    events: tuple[Event, ...]
    withdrawn: dict[str, Event]
    amendments: dict[str, tuple[Event, ...]]
    originals: dict[str, Event]
    problems: tuple[Problem, ...]
    disputed: tuple[Disputed, ...] = ()
    rings: tuple[Ring, ...] = ()


def settle_events(
    events: Iterable[Event], zone: ZoneInfo | None, lost: Collection[str] = ()
) -> Settled:
    """Apply withdrawals, then amendments. Order of the input does not matter.

    `lost` are ids of events whose files cannot be read: no unknown ones.
    """
    problems: list[Problem] = []
    by_id: dict[str, Event] = {}
    for event in sorted(events, key=lambda item: item.path):
        first = by_id.setdefault(event.id, event)
        if first is not event:
            problems.append(
                Problem(
                    event.place("id"),
                    "id-twice",
                    f"id: {event.id} is already the id of {first.path}",
                    "give one of the two another id of ten letters and digits",
                    related=(first.place("id"),),
                )
            )
    withdrawn, rings = settle_withdrawals(by_id, _find_aims(by_id, problems, lost))
    amendments: dict[str, list[Event]] = defaultdict(list)
    for event in by_id.values():
        if isinstance(event.body, Amendment) and event.id not in withdrawn:
            if event.body.amends in by_id:
                amendments[event.body.amends].append(event)
            elif event.body.amends not in lost:
                problems.append(_unknown(event, "amends", event.body.amends, by_id))
    settled: list[Event] = []
    disputed: list[Disputed] = []
    for event in by_id.values():
        if event.id in withdrawn:
            continue
        changed = amendments.get(event.id)
        settled.append(_amend(event, changed, zone, problems, disputed) if changed else event)
    problems.extend(_tell_disputed(one) for one in disputed)
    return Settled(
        tuple(settled),
        withdrawn,
        {key: tuple(sorted(found, key=_typed)) for key, found in amendments.items()},
        by_id,
        tuple(problems),
        tuple(disputed),
        rings,
    )


def _unknown(event: Event, key: str, wanted: str, known: Iterable[str]) -> Problem:
    guess = nearest(wanted, known)
    mend = f'write  {key}: "{guess}"' if guess else "write the id of an event of this fleet"
    return Problem(
        event.place(key), "event-unknown", f"{key}: no event has the id {wanted!r}", mend
    )


def _find_aims(
    by_id: dict[str, Event], problems: list[Problem], lost: Collection[str]
) -> dict[str, list[Event]]:
    """Which withdrawals name each event."""
    aims: dict[str, list[Event]] = defaultdict(list)
    for event in by_id.values():
        if isinstance(event.body, Withdrawal):
            if event.body.withdraws in by_id:
                aims[event.body.withdraws].append(event)
            elif event.body.withdraws not in lost:
                problems.append(_unknown(event, "withdraws", event.body.withdraws, by_id))
    return aims


def _typed(event: Event) -> tuple[datetime, int, str]:
    return (event.typed or event.moment.instant or _FIRST, event.seq, event.id)


def _amend(
    event: Event,
    changes: list[Event],
    zone: ZoneInfo | None,
    problems: list[Problem],
    disputed: list[Disputed],
) -> Event:
    values: dict[str, list[tuple[Event, Entry]]] = defaultdict(list)
    for change in sorted(changes, key=_typed):
        node = change.node.get("set")
        if isinstance(node, Mapping):
            for entry in node.entries:
                if entry.key not in _FIXED_KEYS:
                    values[entry.key].append((change, entry))
    chosen = {
        key: _choose(key, options, event, disputed) for key, options in sorted(values.items())
    }
    entries = [
        chosen.pop(entry.key) if entry.key in chosen else entry
        for entry in event.node.entries
        # Minutes given anew replace the flight-by-flight list they came from.
        if not (entry.key == "each" and "minutes" in values and "each" not in values)
    ]
    entries.extend(chosen.values())
    node = Mapping(event.node.place, tuple(entries))
    built, found = build_event(event.path, node, zone)
    original_problems = {problem.place for problem in build_event(event.path, event.node, zone)[1]}
    problems.extend(problem for problem in found if problem.place not in original_problems)
    if built is None:
        return event
    return replace(built, amended_by=tuple(change.id for change in sorted(changes, key=_typed)))


def _choose(
    key: str, options: list[tuple[Event, Entry]], event: Event, disputed: list[Disputed]
) -> Entry:
    """The value in force: the last that has seen the others, else the cautious one."""
    live = [
        (change, entry)
        for change, entry in options
        if not any(
            change.id in later.body.seen
            for later, _ in options
            if isinstance(later.body, Amendment) and later.id != change.id
        )
    ]
    if not live:
        live = options[-1:]
    if len({_written(entry.value) for _, entry in live}) == 1:
        return live[-1][1]
    entry = _cautious(key, [entry for _, entry in live])
    says = tuple(change for change, _ in live)
    disputed.append(Disputed(event, key, _written(entry.value), says))
    return entry


def _tell_disputed(one: Disputed) -> Problem:
    nodes = [change.node.get("set") for change in one.amendments]
    entries = [
        entry
        for node in nodes
        if isinstance(node, Mapping)
        for entry in node.entries
        if entry.key == one.key
    ]
    texts = sorted({_written(entry.value) for entry in entries})
    places = tuple(Place(*entry.key_place) for entry in entries)
    return Problem(
        places[0],
        "amendment-clash",
        f"{one.key} of {one.event.id} was amended twice without knowing of each other: "
        f"{' and '.join(texts)}; counted as {one.counted}",
        f"settle it:  tailsheaf amend {one.event.id[:6]} {one.key}=…",
        "warning",
        related=places[1:],
    )


def _written(node: Node) -> str:
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return f"[{', '.join(_written(item) for item in node.items)}]"
    return f"{{{', '.join(f'{item.key}: {_written(item.value)}' for item in node.entries)}}}"


def _number(node: Node) -> float:
    """The number written, or the sum of a list of numbers; without one, less than any."""
    if isinstance(node, Sequence):
        return sum(_number(item) for item in node.items)
    try:
        return float(_written(node))
    except ValueError:
        return float("-inf")


def _cautious(key: str, entries: list[Entry]) -> Entry:
    """The value that makes more due, or sooner."""

    if key == "severity":
        return min(
            entries,
            key=lambda entry: (
                SEVERITIES.index(_written(entry.value))
                if _written(entry.value) in SEVERITIES
                else -1
            ),
        )
    if key in ("until", "flights", "when"):
        return min(entries, key=lambda entry: _written(entry.value).zfill(10))
    if key == "result":
        return next((entry for entry in entries if _written(entry.value) == "fail"), entries[-1])
    if key == "closes":
        return next((entry for entry in entries if _written(entry.value) == "false"), entries[-1])
    if all(_number(entry.value) > float("-inf") for entry in entries):
        return max(entries, key=lambda entry: _number(entry.value))
    return entries[-1]
