"""Traps and open notices at a place: shown whenever work touches it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from register.findings.notices import list_notices
from register.ledger.ledger import Ledger
from register.records.notices import Notice

#: Shorter words of a sentence are no names of places.
_LEAST_WORD = 4


def find_traps(
    ledger: Ledger, aircraft: str, places: Iterable[str | None], text: str = ""
) -> tuple[Notice, ...]:
    """The traps of an aircraft that work at these places, or of these words, touches.

    A place is a position, zone, joint, surface, line or opening. A trap at something that a
    zone holds is touched by work on the zone, and the other way about.
    """
    traps = [
        notice
        for notice, scope in list_notices(ledger)
        if notice.is_trap and aircraft in scope.aircraft and aircraft not in scope.off
    ]
    if not traps:
        return ()
    wanted = {place.strip().lower() for place in places if place}
    wanted |= set(_around(ledger, aircraft, wanted))
    words = set(re.findall(r"[\w-]+", text.lower()))
    return tuple(notice for notice in traps if _is_touched(notice, wanted, words))


def places_of(notice: Notice) -> set[str]:
    """Where a notice is: what it touches, and the position it applies to."""
    position = notice.applies.position
    return {*notice.touches, *((position,) if position else ())}


def _is_touched(notice: Notice, places: set[str], words: set[str]) -> bool:
    mine = places_of(notice)
    if notice.applies.part_kind:
        mine.add(notice.applies.part_kind)
    if mine & places:
        return True
    # The words of a job: a name of the place itself, or all the words of it.
    for place in mine:
        parts = [part for part in re.split(r"[\s-]+", place) if len(part) >= _LEAST_WORD]
        if place in words or (parts and all(part in words for part in parts)):
            return True
    return False


def _around(ledger: Ledger, aircraft: str, places: set[str]) -> Iterator[str]:
    """What zones hold of these places, and the zones they lie in."""
    from register.records.as_built import read_section

    for name, zone in read_section(ledger.records, aircraft, "zones")[0].items():
        if name in places:
            yield from zone.holds
        elif places & set(zone.holds):
            yield name
