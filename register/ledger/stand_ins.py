"""Records that stand for others: what a part gained elsewhere counts once, told either way.

A usage elsewhere names the records it stands for by a digest of each id. Where one of those
is in this register too, and counts for the part by itself, it is not counted again. So the
order in which aircraft of one former owner come in changes no total.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from hashlib import sha256
from typing import Literal

from msgspec import Struct

from register.ledger.places import Names, Whereabouts
from register.records.bodies import Charge, EngineRun, Flights
from register.records.events import Event
from register.records.owner_bodies import UsageElsewhere
from register.records.values import NOTHING, ZERO, Ref, Span

#: Consonants alone: no digit and no word that could be taken for a private one.
_SIGNS = "bcdfghjkmnpqrstvwxyz"
_LENGTH = 12
_TABLE = bytes(ord(_SIGNS[byte % len(_SIGNS)]) for byte in range(256))

Share = Literal["whole", "partly", "nothing"]


class Weight(Struct, frozen=True):
    """How much of a usage elsewhere counts: `here` of the `covered` records are told otherwise."""

    share: Share = "whole"
    covered: int = 0
    here: int = 0

    def of(self, span: Span) -> Span:
        """What counts of an amount: partly is low without it, high with all of it."""
        if self.share == "whole":
            return span
        return NOTHING if self.share == "nothing" else Span(ZERO, span.high, span.known)


WHOLE = Weight()


def digest_id(id_: str) -> str:
    """A short digest of a record's id, for one who has the record to know it by.

    Twelve of twenty signs: two of a fleet of 20,000 records are alike once in 20 million.
    """
    return sha256(f"stands for/{id_}".encode()).digest()[:_LENGTH].translate(_TABLE).decode()


def weigh_usages(usages: Iterable[Event], told: Iterable[str]) -> dict[str, Weight]:
    """Weight of each usage elsewhere of one part that says what it stands for, by its id.

    `told` are the digests of what is told by other records. Of two usages that stand for the
    same, the finer counts, and among equals the one that tells of more.
    """
    seen = set(told)
    found: dict[str, Weight] = {}
    for usage in sorted(usages, key=_rank):
        covered = _stands_for(usage)
        if not covered:
            continue
        here = len(covered & seen)
        share: Share = "whole" if not here else "partly"
        if here == len(covered):
            share = "nothing"
        found[usage.id] = Weight(share, len(covered), here)
        seen |= covered
    return found


def _stands_for(usage: Event) -> frozenset[str]:
    return usage.body.stands_for if isinstance(usage.body, UsageElsewhere) else frozenset()


def _rank(usage: Event) -> tuple[int, Decimal, str]:
    gained = usage.body.gained if isinstance(usage.body, UsageElsewhere) else ()
    total = sum((span.low for _, span in gained), ZERO)
    return len(_stands_for(usage)), -total, usage.id


class StandIns:
    """Weighs usages elsewhere beside the records of this register, part by part."""

    def __init__(
        self,
        originals: Mapping[str, Event],
        counted: Mapping[str, Event],
        names: Names,
        places: Whereabouts,
    ):
        self.originals = originals
        self.counted = counted
        self.names = names
        self.places = places
        #: Weight of each usage of the parts asked for so far, by its id; whole if not there.
        self.weights: dict[str, Weight] = {}
        self._digests: dict[str, str] | None = None

    def weigh(self, part: str, usages: Sequence[Event], counting: Collection[str]) -> list[Event]:
        """Those of a part's usages that count; `counting` are other ids that count for it."""
        covered: set[str] = set()
        for usage in usages:
            covered.update(_stands_for(usage))
        if covered:
            told = self._find_told(part, covered, counting)
            self.weights.update(weigh_usages(usages, told))
        return [usage for usage in usages if self.weights.get(usage.id, WHOLE).share != "nothing"]

    def _find_told(self, part: str, covered: Iterable[str], counting: Collection[str]) -> list[str]:
        """Those of the digests whose records are here.

        One that is here and does not count is told all the same where it was withdrawn, or
        named the part before it was amended: somebody knew better. Else only the way from it
        to the part is lacking, as in another part that stayed behind, and the usage stands.
        """
        if self._digests is None:
            self._digests = {digest_id(id_): id_ for id_ in self.originals}
        hosts: frozenset[str] | None = None
        found = []
        for digest in covered:
            id_ = self._digests.get(digest)
            if id_ is None:
                continue
            event = self.originals[id_]
            if id_ not in counting and not self._names(event, part):
                hosts = self._hosts_of(part, frozenset()) if hosts is None else hosts
                if id_ in self.counted or self._aircraft_of(event) not in hosts:
                    continue
            found.append(digest)
        return found

    def _names(self, event: Event, part: str) -> bool:
        body = event.body
        refs: Iterable[Ref | None] = ()
        if isinstance(body, Flights):
            refs = body.uses or ()
        elif isinstance(body, Charge):
            refs = body.parts
        elif isinstance(body, EngineRun):
            refs = (body.part,)
        return any(self.names.part_name(ref) == part for ref in refs)

    def _aircraft_of(self, event: Event) -> str | None:
        return self.names.aircraft_name(getattr(event.body, "aircraft", None))

    def _hosts_of(self, part: str, path: frozenset[str]) -> frozenset[str]:
        """Every aircraft that a part is known to have been in, by itself or in another part."""
        found: set[str] = set()
        for spell in self.places.spells.get(part, ()):
            if spell.into is None:
                found.add(spell.aircraft or "")
            elif spell.into not in path:
                found |= self._hosts_of(spell.into, path | {part})
        return frozenset(found)
