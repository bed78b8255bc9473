"""What goes with an aircraft: parts, kit, programmes and records, and what stays behind."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.ledger.places import Spell
from register.records.bodies import (
    Amendment,
    Deferral,
    Fix,
    Flights,
    Install,
    Remove,
    Severity,
    Snag,
    Withdrawal,
)
from register.records.events import Event
from register.records.owner_bodies import ChangeOfOwner, UsageElsewhere
from register.records.workshop_bodies import Cure, Job, Modification
from register.trouble import RegisterError

#: Kinds of record that no wish can leave out: what is open, deferred, or was broken.
ALWAYS = (Snag, Severity, Deferral, Fix)


class Scope(Struct, frozen=True):
    """What goes. `parts` go with their history, `stubs` only by name: they stay behind.

    `homes` gives the folder of each record that goes, by id; `left` the ids that were left out
    by wish, `later` those of records dated after the change of owner, which are not the new
    owner's; `shared` are assigned parts that do not go along.
    """

    aircraft: str
    parts: tuple[str, ...]
    stubs: tuple[str, ...]
    shared: tuple[str, ...]
    kit: str | None
    programmes: tuple[str, ...]
    homes: dict[str, str]
    left: tuple[str, ...]
    later: tuple[str, ...] = ()

    def takes(self, subject: Subject | None) -> bool:
        """Whether an aircraft or part goes with its history."""
        if subject is None:
            return False
        kind, name = subject
        return name == self.aircraft if kind == "aircraft" else name in self.parts


def find_scope(
    ledger: Ledger,
    aircraft: str,
    more: Sequence[str] = (),
    less: Sequence[str] = (),
    leave: Sequence[str] = (),
    went: Sequence[str] | None = None,
    until: date | None = None,
) -> Scope:
    """What goes with an aircraft: the parts fitted to it, with those chosen and without others.

    `leave` are ids of records to leave out; raises RegisterError (USAGE) for one that cannot
    be, for a part to leave that is not fitted, and for one more that is here by name alone.
    `went` are the parts that went with an aircraft that is gone: an update tells of those,
    whatever stands in its place by now. `until` is the day of the change of owner; a correction
    of what was before goes whenever it was typed.
    """
    fitted = _fitted(ledger, aircraft) if went is None else {*went}
    for part in less:
        if part not in fitted and part not in more:
            raise RegisterError(
                f"{part} is not fitted to {aircraft}, so it does not go along anyway",
                mend="leave it out of --without",
                code="part-not-fitted",
            )
    for part in more:
        if ledger.records.parts[part].stayed:
            raise RegisterError(
                f"{part} stayed with an earlier owner: it is here by name alone, and nothing of it "
                "can go along",
                mend="leave it out of --with",
                code="part-stayed",
            )
    parts = tuple(sorted({*fitted, *more} - {*less}))
    named = _named(ledger, aircraft) | _nested(ledger, parts)
    stubs = tuple(sorted(named - {*parts}))
    file = ledger.records.aircraft[aircraft]
    kit = ledger.records.find_kit(file.kit)
    programmes = (ledger.programme(use.ref) for use in file.programmes)
    scope = Scope(
        aircraft,
        parts,
        stubs,
        tuple(name for name in ledger.places.assigned_parts(aircraft) if name not in parts),
        None if kit is None else kit.name,
        tuple(dict.fromkeys(item.name for item in programmes if item is not None)),
        {},
        tuple(leave),
    )
    homes = _find_homes(ledger, scope, frozenset())
    _check_leave(ledger, leave, homes)
    later = _find_later(ledger, homes, until)
    if leave or later:
        homes = _find_homes(ledger, scope, frozenset((*leave, *later)))
    return replace(scope, homes=homes, later=later)


def _find_later(ledger: Ledger, homes: Iterable[str], until: date | None) -> tuple[str, ...]:
    """Records of what happened after a day, as amended since."""
    if until is None:
        return ()
    settled = {event.id: event for event in ledger.settled.events}
    found = ((id_, settled.get(id_, ledger.settled.originals[id_])) for id_ in homes)
    return tuple(
        id_
        for id_, event in found
        if event.moment.day > until and not isinstance(event.body, (Amendment, Withdrawal))
    )


def _fitted(ledger: Ledger, aircraft: str) -> set[str]:
    """Parts installed in the aircraft now, and in those parts. Assigned ones are shared."""
    found = {spell.part for spell in ledger.places.fitted(aircraft) if not spell.assigned}
    waiting = list(found)
    while waiting:
        host = waiting.pop()
        for part in ledger.records.parts:
            spell = ledger.places.current(part)
            if spell is not None and spell.into == host and part not in found:
                found.add(part)
                waiting.append(part)
    return found


def _named(ledger: Ledger, aircraft: str) -> set[str]:
    """Every part that a record about the aircraft names."""
    found = set(ledger.places.assigned_parts(aircraft))
    for event in ledger.settled.originals.values():
        subjects = ledger.subjects_of(event)
        if ("aircraft", aircraft) in subjects:
            found.update(name for kind, name in subjects if kind == "part")
    return found


def _nested(ledger: Ledger, parts: Sequence[str]) -> set[str]:
    """Every part that ever sat in one of these."""
    return {
        name
        for name, spells in ledger.places.spells.items()
        if any(spell.into in parts for spell in spells)
    }


def _find_homes(ledger: Ledger, scope: Scope, leave: frozenset[str]) -> dict[str, str]:
    """The folder of each record that goes: about the aircraft, else about a part that goes."""
    homes: dict[str, str] = {}
    waiting: list[Event] = []
    for id_, event in sorted(ledger.settled.originals.items()):
        if id_ in leave:
            continue
        home = _home_of(ledger, scope, event)
        if home is not None:
            homes[id_] = home
        elif not ledger.subjects_of(event):
            waiting.append(event)
    # Decisions name records, not things: they go where what they decide goes.
    while True:
        found = {
            event.id: home
            for event in waiting
            if event.id not in homes and (home := _home_by_reference(event, homes)) is not None
        }
        if not found:
            return homes
        homes.update(found)


def _home_of(ledger: Ledger, scope: Scope, event: Event) -> str | None:
    subjects = ledger.subjects_of(event)
    body = event.body
    if isinstance(body, (Amendment, Withdrawal)):
        return None
    if isinstance(body, ChangeOfOwner) and body.way == "out":
        # To whom it went is the owner's own; that it came from another owner is its history.
        return None
    if isinstance(body, UsageElsewhere) and ledger.counters.weight(event).share != "whole":
        # Told by other records too: what counts of it goes as use elsewhere of this register.
        return None
    if ("aircraft", scope.aircraft) in subjects:
        return f"aircraft/{scope.aircraft}"
    parts = [name for kind, name in subjects if kind == "part" and name in scope.parts]
    if isinstance(body, Remove) and not parts:
        # One that stays behind came off one that goes, which has to be told of that one.
        ended = (spell for spell in _ended_by(ledger, event) if spell.into in scope.parts)
        return next((f"parts/{spell.part}" for spell in ended), None)
    elsewhere = any(kind == "aircraft" for kind, _ in subjects)
    if not parts or isinstance(body, Flights):
        return None
    if isinstance(body, (Install, Remove)) and not _stays_inside(ledger, scope, body):
        return None
    if elsewhere and isinstance(body, (Job, Modification, Cure)) and getattr(body, "part", 0) == 0:
        return None
    return f"parts/{parts[0]}"


def _ended_by(ledger: Ledger, event: Event) -> list[Spell]:
    """The stays that a removal ended."""
    part = ledger.names.part_name(getattr(event.body, "part", None)) or ""
    return [
        spell
        for spell in ledger.places.spells.get(part, ())
        if spell.removal is not None and spell.removal.id == event.id
    ]


def _stays_inside(ledger: Ledger, scope: Scope, body: Install | Remove) -> bool:
    """Whether a move is between things that go; other hosts are told as use elsewhere."""
    if isinstance(body, Install):
        into = ledger.names.part_name(body.into)
        return into is not None and into in scope.parts
    return body.aircraft is None and ledger.names.part_name(body.part) in scope.parts


def references(event: Event) -> tuple[str, ...]:
    """Ids of the records that one is about."""
    body = event.body
    found: list[str] = []
    for key in ("snag", "amends", "withdraws", "follows", "job", "extends"):
        value = getattr(body, key, None)
        if isinstance(value, str):
            found.append(value)
    if isinstance(body, Fix):
        found.extend(body.snags)
    return tuple(found)


def _home_by_reference(event: Event, homes: dict[str, str]) -> str | None:
    return next((homes[id_] for id_ in references(event) if id_ in homes), None)


def _check_leave(ledger: Ledger, leave: Iterable[str], homes: dict[str, str]) -> None:
    for id_ in leave:
        event = ledger.settled.originals.get(id_)
        if event is None or id_ not in homes:
            raise RegisterError(
                f"no record that would go along has the id {id_!r}",
                mend="take it out of --leave",
                code="event-unknown",
            )
        if isinstance(event.body, ALWAYS) or event.kind == "incident":
            raise RegisterError(
                f"{id_[:4]} is a {event.kind.replace('-', ' ')}: what was broken, is open or "
                "deferred cannot be left out",
                mend="take it out of --leave; words in it that must not go:\nnever: "
                '["WORD", "another"]   in private.yaml leaves them out, saved or not',
                code="must-go",
            )
