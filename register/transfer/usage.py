"""Totals that parts earned in other aircraft, told without telling in which.

One record for each stretch of such use between two records of the part that go along, so that
what the part had at each of them comes out the same for the new owner; and one for each
aircraft, so that the same owner who takes that one in later has all of a record's use or none
of it twice. Each says by digests which records it stands for.
"""

from __future__ import annotations

from decimal import Decimal
from hashlib import sha256
from itertools import count

from msgspec import Struct

from register.ledger.counters import Contribution
from register.ledger.ledger import Ledger
from register.ledger.stand_ins import digest_id
from register.records.bodies import Flights
from register.records.events import Event
from register.records.owner_bodies import UsageElsewhere
from register.records.values import NOTHING, Span
from register.text.nodes import Plain
from register.transfer.scope import Scope

_LETTERS = "0123456789abcdefghjkmnpqrstvwxyz"
#: Records that one usage stands for at most: their digests must fit into a file.
_MOST = 10_000


class Usage(Struct, frozen=True):
    """One stretch of use elsewhere: the record to write, and the records it stands for."""

    id: str
    part: str
    record: dict[str, Plain]
    stands_for: tuple[str, ...]


def find_usage(ledger: Ledger, scope: Scope) -> tuple[Usage, ...]:
    """Every stretch of use elsewhere, of every part that goes."""
    found: list[Usage] = []
    for part in scope.parts:
        found.extend(_of_part(ledger, scope, part))
    return tuple(found)


def _of_part(ledger: Ledger, scope: Scope, part: str) -> list[Usage]:
    subject = ("part", part)
    elsewhere = {
        item.event.id: item
        for item in ledger.counters.contributions(subject)
        if not _counts_here(ledger, scope, part, item)
    }
    about = {event.id for event in ledger.about(subject) if event.id in scope.homes}
    listed = sorted({*elsewhere, *about}, key=ledger.rank.__getitem__)
    groups: list[list[Contribution]] = []
    open_groups: dict[str, list[Contribution]] = {}
    for id_ in listed:
        if id_ not in elsewhere:
            open_groups.clear()
            continue
        host = _host_of(ledger, elsewhere[id_].event)
        if len(open_groups.get(host, ())) in (0, _MOST):
            open_groups[host] = []
            groups.append(open_groups[host])
        open_groups[host].append(elsewhere[id_])
    return [usage for group in groups if (usage := _tell(ledger, part, group)) is not None]


def _host_of(ledger: Ledger, event: Event) -> str:
    """What a stretch of use is of: one aircraft, what was left out by wish, or one usage that
    was itself told by an owner before."""
    if isinstance(event.body, Flights):
        return f"in {ledger.names.aircraft_name(event.body.aircraft)}"
    return f"as {event.id}" if isinstance(event.body, UsageElsewhere) else ""


def _counts_here(ledger: Ledger, scope: Scope, part: str, item: Contribution) -> bool:
    """Whether the new owner's register finds this contribution by itself."""
    if item.event.id not in scope.homes:
        return False
    if item.event.kind != "flights":
        return True
    spells = ledger.places.spells.get(part, ())
    # In a part that stays behind, the way from the aircraft to this part cannot be told.
    return not any(spell.into is not None and spell.into not in scope.parts for spell in spells)


def _tell(ledger: Ledger, part: str, group: list[Contribution]) -> Usage | None:
    subject = ("part", part)
    counters: dict[str, Plain] = {}
    for counter in ledger.records.fleet.counters:
        if not ledger.counters.gains(subject, counter):
            continue
        span = ledger.counters.sum_of(subject, counter, group)
        if span != NOTHING:
            counters[counter] = _shape(span)
    if not counters:
        return None
    first, last = group[0].event, group[-1].event
    file = ledger.records.parts[part]
    id_ = _make_id(f"{file.id or part}/{first.id}", ledger)
    record: dict[str, Plain] = {
        "record": "usage-elsewhere",
        "id": id_,
        "when": _when(last),
        "part": f"{part}.{file.id}" if file.id else part,
        "since": first.moment.day.isoformat(),
        "until": last.moment.day.isoformat(),
        "counters": counters,
        "stands_for": " ".join(sorted(_stands_for(group))) or None,
        "source": "later",
    }
    return Usage(id_, part, record, tuple(item.event.id for item in group))


def _stands_for(group: list[Contribution]) -> set[str]:
    """Digests of the records; those of a usage that was told before are handed on."""
    found: set[str] = set()
    for item in group:
        body = item.event.body
        found |= body.stands_for if isinstance(body, UsageElsewhere) else {digest_id(item.event.id)}
    return found


def _when(event: Event) -> str:
    """The day; with the time where there is one, since it may order the day."""
    instant = event.moment.instant
    return event.moment.day.isoformat() if instant is None else instant.isoformat()


def _shape(span: Span) -> Plain:
    if span.is_exact and span.known == "known":
        return _number(span.low)
    if span.is_exact:
        return {"value": _number(span.low), "known": span.known}
    found: dict[str, Plain] = {"low": _number(span.low)}
    if span.high is not None:
        found["high"] = _number(span.high)
    found["known"] = span.known if span.high is not None else "unknown"
    return found


def _number(value: Decimal) -> Plain:
    return int(value) if value == value.to_integral_value() else value


def _make_id(words: str, ledger: Ledger) -> str:
    """An id of ten letters and digits, the same each time; never one of the fleet's own."""
    turns = (usage_id(words, turn) for turn in count())
    return next(id_ for id_ in turns if id_ not in ledger.settled.originals)


def usage_id(words: str, turn: int) -> str:
    """The id for a stretch of use: of the part, and its first record elsewhere."""
    digest = sha256(f"usage/{words}/{turn}".encode()).digest()
    return "v" + "".join(_LETTERS[byte % 32] for byte in digest[:9])
