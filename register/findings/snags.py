"""Snags folded with every decision about them: severity, deferral, fix.

A snag belongs to the part that stood at its position and follows that part. A decision
names what it has seen; a grounding that a fix has not seen stays in force.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from datetime import date
from weakref import WeakKeyDictionary

from msgspec import Struct

from register.findings.repeats import mark_repeats
from register.ledger.ledger import Ledger
from register.records.bodies import SEVERITIES, Deferral, Fix, Severity, Snag
from register.records.events import Event

#: The rest of a broken screw that lies loose inside grounds until it is found.
LOOSE = "loose-inside"


class SnagState(Struct, frozen=True):
    """One snag as it stands now. `aircraft` is whom it touches now, None if on the shelf."""

    id: str
    event: Event
    text: str
    severity: str
    severity_event: Event
    is_open: bool
    aircraft: str | None
    hosts: tuple[str, ...]
    found_on: str | None
    part: str | None
    position: str | None
    system: str | None
    first_day: date
    deferral: Event | None
    deferrals: tuple[Event, ...]
    fixes: tuple[Event, ...]
    events_seen: tuple[str, ...]
    repeat: bool
    earlier_actions: tuple[str, ...]
    rest: str | None = None
    #: The fix after which it came back too soon, and how soon in words.
    unheld: Event | None = None
    unheld_says: str = ""
    #: Whether it came back within the limit is not told by the order of its day.
    unheld_open: bool = False

    @property
    def closed_by(self) -> Event | None:
        """The fix that closed it."""
        return self.fixes[-1] if self.fixes and not self.is_open else None

    @property
    def back_words(self) -> str:
        """What is said of one that came back: which fix did not hold, or that it is a repeat."""
        if self.unheld is None:
            return "repeat" if self.repeat else ""
        action = self.unheld.body.action if isinstance(self.unheld.body, Fix) else ""
        day = self.unheld.moment.day.isoformat()
        held = "may not have held" if self.unheld_open else "did not hold"
        return f'back {self.unheld_says}: the fix of {day}, "{action}", {held}'


#: Folded once for a ledger, which never changes; as long as anything holds the ledger.
_FOLDED: WeakKeyDictionary[Ledger, dict[str, SnagState]] = WeakKeyDictionary()


def fold_snags(ledger: Ledger) -> dict[str, SnagState]:
    """Every snag by id, in order of discovery."""
    found = _FOLDED.get(ledger)
    if found is None:
        found = _FOLDED[ledger] = _fold_all(ledger)
    return dict(found)


def fold_snag_at(ledger: Ledger, state: SnagState, day: date) -> SnagState:
    """One snag as it stood at the end of a day; whom it touches is told as of now."""
    related = [ledger.orders.events[id_] for id_ in state.events_seen[1:]]
    return _fold(ledger, state.event, [item for item in related if item.moment.day <= day])


def _fold_all(ledger: Ledger) -> dict[str, SnagState]:
    about: dict[str, list[Event]] = defaultdict(list)
    for event in ledger.events:
        body = event.body
        if isinstance(body, Severity | Deferral):
            about[body.snag].append(event)
        elif isinstance(body, Fix):
            for id_ in body.snags:
                about[id_].append(event)
    snags = [event for event in ledger.events if isinstance(event.body, Snag)]
    related = _relate(about, [event.id for event in snags])
    states = {event.id: _fold(ledger, event, related[event.id]) for event in snags}
    return mark_repeats(ledger, states)


def _relate(about: dict[str, list[Event]], ids: list[str]) -> dict[str, list[Event]]:
    """Events about each snag; they may name it by the unambiguous beginning of its id."""
    found = {id_: list(about.get(id_, ())) for id_ in ids}
    ordered = sorted(ids)
    for named, events in about.items():
        first = bisect_left(ordered, named)
        matching = [id_ for id_ in ordered[first : first + 2] if id_.startswith(named)]
        if len(named) >= 4 and len(matching) == 1 and matching[0] != named:
            found[matching[0]].extend(events)
    return found


def _fold(ledger: Ledger, event: Event, related: list[Event]) -> SnagState:
    snag = event.body
    if not isinstance(snag, Snag):
        raise TypeError(event.kind)
    related = sorted(related, key=lambda item: ledger.rank[item.id])
    severity, severity_event = _severity(event, snag, related)
    deferrals = [item for item in related if isinstance(item.body, Deferral)]
    fixes = [item for item in related if isinstance(item.body, Fix)]
    is_open = not any(_closes(item, event, snag, related) for item in fixes)
    rest, rest_event = _rest(event, snag, fixes)
    if rest == LOOSE:
        # Whoever rated it, and whatever was done: something lies loose in the aircraft.
        severity, severity_event, is_open = "grounding", rest_event, True
    part = _part_of(ledger, event, snag)
    hosts = _hosts(ledger, snag, part)
    found_on = ledger.names.aircraft_name(snag.aircraft)
    return SnagState(
        event.id,
        event,
        snag.text,
        severity,
        severity_event,
        is_open,
        hosts[0] if hosts else None,
        hosts,
        found_on,
        part,
        snag.position,
        snag.system or _system(ledger, found_on, snag.position),
        event.moment.day,
        _current_deferral(ledger, deferrals, severity, severity_event),
        tuple(deferrals),
        tuple(fixes),
        (event.id, *(item.id for item in related)),
        False,
        (),
        rest,
    )


def _rest(event: Event, snag: Snag, fixes: list[Event]) -> tuple[str | None, Event]:
    """Where the rest of what broke is, and who says so: loose, while anyone says it unanswered."""
    said = [(event, snag.rest)] if snag.rest is not None else []
    said.extend(
        (fix, fix.body.rest)
        for fix in fixes
        if isinstance(fix.body, Fix) and fix.body.rest not in (None, "not-known")
    )
    for n, (earlier, rest) in enumerate(said):
        if rest == LOOSE and not any(_has_seen(later, earlier) for later, _ in said[n + 1 :]):
            return rest, earlier
    return (said[-1][1], said[-1][0]) if said else (None, event)


def _seen(event: Event) -> tuple[str, ...]:
    return getattr(event.body, "seen", ())


def _has_seen(later: Event, earlier: Event) -> bool:
    """A decision written by hand without `seen` has seen all that stands before it."""
    seen = _seen(later)
    return not seen or any(earlier.id.startswith(id_) for id_ in seen)


def _severity(event: Event, snag: Snag, related: list[Event]) -> tuple[str, Event]:
    """The decision in force; of several that have not seen each other, the gravest."""
    decisions = [item for item in related if isinstance(item.body, Severity)]
    if not decisions:
        return snag.severity, event
    live = [
        item
        for n, item in enumerate(decisions)
        if not any(_has_seen(later, item) for later in decisions[n + 1 :])
    ]

    def gravity(item: Event) -> int:
        return _gravity(item.body.severity if isinstance(item.body, Severity) else "")

    chosen = min(live, key=gravity)
    word = chosen.body.severity if isinstance(chosen.body, Severity) else snag.severity
    return word, chosen


def _gravity(severity: str) -> int:
    """Grounding first, then unrated, then the rest."""
    order = ("grounding", *(word for word in SEVERITIES if word != "grounding"))
    return order.index(severity) if severity in order else len(order)


def _closes(fix: Event, event: Event, snag: Snag, related: list[Event]) -> bool:
    body = fix.body
    if not isinstance(body, Fix) or not body.closes:
        return False
    groundings = [
        item
        for item in related
        if isinstance(item.body, Severity) and item.body.severity == "grounding"
    ]
    return all(_has_seen(fix, item) or _lifted(item, related) for item in groundings)


def _lifted(grounding: Event, related: list[Event]) -> bool:
    """A later rating that has seen the grounding took it back."""
    place = related.index(grounding)
    return any(
        isinstance(item.body, Severity)
        and item.body.severity != "grounding"
        and _seen(item)
        and _has_seen(item, grounding)
        for item in related[place + 1 :]
    )


def _part_of(ledger: Ledger, event: Event, snag: Snag) -> str | None:
    part = ledger.names.part_name(snag.part)
    if part is not None or snag.position is None:
        return part
    aircraft = ledger.names.aircraft_name(snag.aircraft)
    if aircraft is None:
        return None
    point = ledger.orders.last_point(event.id)
    chosen = None
    for spell in ledger.places.history_at(aircraft, snag.position):
        if ledger.orders.compare(spell.start.earliest, point) == "after":
            continue
        ended = spell.end is not None and (
            ledger.orders.compare(spell.end.latest, point) == "before"
        )
        if not ended and (
            chosen is None or spell.end is None or _rank_covers(ledger, spell, event)
        ):
            chosen = spell.part
    return chosen


def _rank_covers(ledger: Ledger, spell: object, event: Event) -> bool:
    """Where the order within the day is not known, the order of writing decides."""
    start = ledger.rank[spell.install.id]  # type: ignore[attr-defined]
    return start < ledger.rank[event.id]


def _hosts(ledger: Ledger, snag: Snag, part: str | None) -> tuple[str, ...]:
    if part is None:
        aircraft = ledger.names.aircraft_name(snag.aircraft)
        return (aircraft,) if aircraft else ()
    if ledger.records.parts[part].use == "assigned":
        return ledger.places.assigned_to(part)
    return host_aircraft(ledger, part)


def host_aircraft(ledger: Ledger, part: str) -> tuple[str, ...]:
    """The aircraft an installed part is in now, through other parts if need be."""
    seen: set[str] = set()
    name: str | None = part
    while name is not None and name not in seen:
        seen.add(name)
        spell = ledger.places.current(name)
        if spell is None:
            return ()
        if spell.aircraft is not None:
            return (spell.aircraft,)
        name = spell.into
    return ()


def _system(ledger: Ledger, aircraft: str | None, position: str | None) -> str | None:
    if aircraft is None or position is None:
        return None
    found = ledger.positions(aircraft).get(position)
    return found.system if found else None


def _current_deferral(
    ledger: Ledger, deferrals: list[Event], severity: str, severity_event: Event
) -> Event | None:
    """The deferral in force: the last, unless the snag was raised to grounding after it."""
    live = [
        item
        for n, item in enumerate(deferrals)
        if not any(_has_seen(later, item) for later in deferrals[n + 1 :])
    ]
    if not live:
        return None
    if severity == "grounding" and all(
        ledger.rank[severity_event.id] > ledger.rank[item.id] or severity_event.kind == "snag"
        for item in live
    ):
        return None

    def strictness(item: Event) -> tuple[date, int]:
        body = item.body
        if not isinstance(body, Deferral):
            return (date.max, 0)
        return (body.until or date.max, 10**6 if body.flights is None else body.flights)

    return min(live, key=strictness)
