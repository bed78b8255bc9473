"""Whom an entry is about: aircraft, parts, positions and counters as typed."""

from __future__ import annotations

import difflib
import re

from register.entry.clerk import Clerk
from register.entry.naming import match_name, read_alias
from register.findings.snags import host_aircraft
from register.ledger.counters import Subject
from register.ledger.places import Spell
from register.records.scalars import NAME_PATTERN
from register.trouble import RegisterError

_TYPO = 0.85


def find_aircraft(clerk: Clerk, typed: str) -> str:
    """The aircraft meant, or the nearest names."""
    known = clerk.ledger.records.aircraft
    add = "tailsheaf aircraft NAME   makes one"
    name = match_name(read_alias(typed, known), known, "aircraft", add=add)
    clerk.check_read(("aircraft", name))
    return name


def find_part(clerk: Clerk, typed: str) -> str:
    """The part meant, or the nearest names."""
    known = clerk.ledger.records.parts
    add = "tailsheaf parts NAME --add --kind KIND   makes one"
    name = match_name(read_alias(typed, known), known, "part", add=add)
    clerk.check_read(("part", name))
    return name


def find_subject(clerk: Clerk, typed: str) -> Subject:
    """The aircraft or part meant; an exact name wins, then an aircraft's over a part's."""
    records = clerk.ledger.records
    word = read_alias(typed, records.aircraft, records.parts).strip().lower()
    if word not in records.aircraft and word not in records.parts:
        word = match_name(typed, {*records.aircraft, *records.parts}, "aircraft or part")
    subject: Subject = ("aircraft" if word in records.aircraft else "part", word)
    clerk.check_read(subject)
    return subject


def check_thing_read(clerk: Clerk, typed: str) -> None:
    """Refuse the name of an aircraft or part whose file cannot be read, also for a new one."""
    name = typed.strip().lower()
    clerk.check_file_read(f"aircraft/{name}/aircraft.yaml", name)
    clerk.check_file_read(f"parts/{name}/part.yaml", name)


def is_subject(clerk: Clerk, typed: str) -> bool:
    """Whether the word names an aircraft or part, in full or by its beginning."""
    records = clerk.ledger.records
    word = read_alias(typed, records.aircraft, records.parts).strip().lower()
    return any(name.startswith(word) for name in (*records.aircraft, *records.parts))


def hosts_of(clerk: Clerk, part: str) -> tuple[str, ...]:
    """Aircraft that a part is in, through other parts if need be, or is used with."""
    if clerk.ledger.records.parts[part].use == "assigned":
        return clerk.ledger.places.assigned_to(part)
    return host_aircraft(clerk.ledger, part)


def folder_of(clerk: Clerk, subject: Subject) -> str:
    """Where events about it live: with the aircraft it is fitted to, else with the part."""
    kind, name = subject
    if kind == "aircraft":
        return f"aircraft/{name}"
    if clerk.ledger.records.parts[name].use != "assigned":
        hosts = host_aircraft(clerk.ledger, name)
        if hosts:
            return f"aircraft/{hosts[0]}"
    return f"parts/{name}"


def current_spell(clerk: Clerk, part: str) -> Spell | None:
    """Where an installed part is now."""
    if clerk.ledger.records.parts[part].use == "assigned":
        return None
    return clerk.ledger.places.current(part)


def known_positions(clerk: Clerk, aircraft: str) -> tuple[str, ...]:
    """Positions of the aircraft and its kit, and any that a part was ever recorded at."""
    used = {
        spell.position
        for spells in clerk.ledger.places.spells.values()
        for spell in spells
        if spell.aircraft == aircraft and spell.position
    }
    return tuple(sorted({*clerk.ledger.positions(aircraft), *used}))


def find_position(clerk: Clerk, aircraft: str, typed: str) -> tuple[str, bool]:
    """The position meant, and whether the aircraft knows it.

    One that is not known is taken as written, unless it looks like a slip of the pen.
    """
    word = re.sub(r"[\s_]+", "-", typed.strip().lower())
    known = known_positions(clerk, aircraft)
    starting = [name for name in known if word and name.startswith(word)]
    if word in known or len(starting) == 1:
        return (word if word in known else starting[0]), True
    slips = [
        name
        for name in difflib.get_close_matches(word, known, n=3, cutoff=_TYPO)
        if re.sub(r"\d+", "#", name) != re.sub(r"\d+", "#", word)
    ]
    if len(starting) > 1 or slips or not NAME_PATTERN.fullmatch(word):
        match_name(
            word,
            known,
            "position",
            add=f"write it under positions: in aircraft/{aircraft}/aircraft.yaml",
        )
        raise RegisterError(
            f"{typed[:60]!r} cannot be the name of a position",
            mend="use a-z, 0-9 and -",
            code="position-wrong",
        )
    return word, False


def find_counter(clerk: Clerk, typed: str) -> str:
    """One of the fleet's counters."""
    return match_name(typed.replace("_", "-"), clerk.ledger.records.fleet.counters, "counter")


def kind_word(kind: str) -> str:
    """A kind of record or part as words."""
    return kind.replace("-", " ")
