"""A place on an aircraft as typed: position, zone, joint, surface, line or opening."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

from register.entry.clerk import Clerk
from register.entry.drafting import Draft, check_words
from register.entry.naming import match_name
from register.entry.snags import shorten
from register.findings.traps import find_traps
from register.records.as_built import overlaid
from register.standing.asked import has_notices
from register.text.nodes import Mapping
from register.trouble import RegisterError

SECTIONS = ("zones", "positions", "surfaces", "joints", "lines", "access", "linkages")
_TYPO = 0.85


def known_places(clerk: Clerk, aircraft: str) -> tuple[str, ...]:
    """Every name of a place that the aircraft, or its kit, has."""
    node = overlaid(clerk.ledger.records, aircraft)
    found = {name: None for name in clerk.ledger.positions(aircraft)}
    for section in SECTIONS:
        inner = node.get(section) if node is not None else None
        if isinstance(inner, Mapping):
            found.update({entry.key.lower(): None for entry in inner.entries})
    return tuple(found)


def read_place(clerk: Clerk, aircraft: str, typed: str) -> str:
    """The place meant: known by name or beginning, else as written.

    One that looks like a slip of the pen is refused (RegisterError, USAGE).
    """
    word = re.sub(r"[\s_]+", "-", typed.strip().lower())
    check_words(word, "place")
    known = known_places(clerk, aircraft)
    starting = [name for name in known if name.startswith(word)]
    if word in known or len(starting) == 1:
        return word if word in known else starting[0]
    slips = [
        name
        for name in difflib.get_close_matches(word, known, n=3, cutoff=_TYPO)
        if re.sub(r"\d+", "#", name) != re.sub(r"\d+", "#", word)
    ]
    if len(starting) > 1 or slips:
        match_name(word, known, "place")
    return word


def say_traps(draft: Draft, aircraft: str, places: Iterable[str | None], text: str) -> None:
    """Say the traps of the kit that this work touches."""
    ledger = draft.clerk.ledger
    if not has_notices(ledger):
        return
    for notice in find_traps(ledger, aircraft, places, text):
        words = f": {shorten(notice.text)}" if notice.text else ""
        draft.warn(f"trap here: {notice.title}{words} (tailsheaf notices {notice.name})")


def check_when(clerk: Clerk, typed: str | None) -> None:
    """Refuse a place typed where a time is meant (RegisterError, USAGE)."""
    if typed is None:
        return
    word = re.sub(r"[\s_]+", "-", typed.strip().lower())
    known = {place for name in clerk.ledger.records.aircraft for place in known_places(clerk, name)}
    if word in known:
        raise RegisterError(
            f"--at says when it was; {word} is a place",
            mend=f"--where {word}",
            code="usage",
        )
