"""The places of one aircraft by name, and which of them some work is at."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from register.ledger.ledger import Ledger
from register.records.access import Access
from register.records.as_built import read_section
from register.workshop.openings import Openings

#: Shorter words of a name do not tell a place by themselves.
_LEAST_WORD = 4


class Places:
    """The names of places of one aircraft, and what its access says of them."""

    def __init__(self, ledger: Ledger, aircraft: str, entries: Mapping[str, Access]):
        self.ledger = ledger
        self.aircraft = aircraft
        self.names = dict.fromkeys(ledger.positions(aircraft))
        self.zones: frozenset[str] = frozenset()
        self.holders: dict[str, tuple[str, ...]] = {}
        for section in ("zones", "surfaces", "linkages", "lines", "joints"):
            found = read_section(ledger.records, aircraft, section)[0]
            self.names.update(dict.fromkeys(found))
            if section == "zones":
                self.zones = frozenset(found)
            for name, item in found.items():
                for held in item.holds if section == "zones" else ():
                    self.holders[held] = (*self.holders.get(held, ()), name)
        self.names.update(dict.fromkeys(entries))
        self.openings = Openings(entries, self.holders)

    def find(
        self, stated: Iterable[str | None], text: str, least: int = 1
    ) -> tuple[str | None, bool]:
        """The place meant, and whether it was told by the words alone: `least` of them.

        Of several places stated, the first that the access knows, else the first that the
        aircraft knows, else the first.
        """
        words = [place.strip().lower() for place in stated if place]
        for knows in (self.openings.is_known, self.names.__contains__):
            for place in words:
                if knows(place):
                    return place, False
        if words:
            return words[0], False
        return self._by_words(text, least), True

    def zone_of(self, at: str | None) -> str | None:
        """The zone a place lies in; a zone itself; None where no zone holds it."""
        if at is None:
            return None
        return at if at in self.zones else next(iter(self.holders.get(at, ())), None)

    def _by_words(self, text: str, least: int) -> str | None:
        """The place all of whose words stand in a text; the one of most words, if one only."""
        spoken = set(re.findall(r"[a-z0-9]+", text.lower()))
        found: dict[str, int] = {}
        for name in self.names:
            parts = re.findall(r"[a-z0-9]+", name)
            long = [part for part in parts if len(part) >= _LEAST_WORD]
            if len(parts) >= least and long and all(part in spoken for part in parts):
                found[name] = len(parts)
        most = max(found.values(), default=0)
        best = sorted(name for name, count in found.items() if count == most)
        return best[0] if best else None
