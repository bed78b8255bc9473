"""Whom a notice asks: each physical part of its kit, with yes, no or cannot tell, and why.

A part belongs to the kit its file names, else to that of every aircraft it was ever in: so a
wing keeps its notices when it moves, and on the shelf. What is not known never clears anybody.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from register.findings.conditions import view_condition
from register.findings.snags import host_aircraft
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.ledger.places import Spell
from register.records.lots import Answer, is_known, match_lot
from register.records.notices import SIDES, Notice
from register.tasks.reasons import Step
from register.trouble import Place

GONE = ("sold", "written-off")


class Verdict(Struct, frozen=True):
    """Does a notice apply? `why` is in a few words; `steps` name the records it rests on."""

    answer: Answer
    why: str
    steps: tuple[Step, ...]


class Asked(Struct, frozen=True):
    """One part, or an aircraft as a whole, that a notice asks. `hosts`: whom it touches now."""

    subject: Subject
    hosts: tuple[str, ...]
    position: str | None
    verdict: Verdict


class Scope(Struct, frozen=True):
    """The aircraft whose file or kit holds a notice. `kit` is None for an aircraft's own."""

    kit: str | None
    aircraft: tuple[str, ...]
    #: Those whose own file takes the notice away.
    off: tuple[str, ...] = ()


def find_asked(ledger: Ledger, notice: Notice, scope: Scope) -> Iterator[Asked]:
    """Everything a notice is about, in name order; those it does not apply to as well."""
    if not notice.applies.is_for_parts:
        for name in scope.aircraft:
            yield _ask_aircraft(ledger, notice, scope, name, "")
        return
    held: set[str] = set()
    for part in sorted(ledger.records.parts):
        hosts_ever = ever_in(ledger, part)
        if not _is_of(ledger, part, scope, hosts_ever) or not _is_meant(ledger, notice, part):
            continue
        hosts = _hosts(ledger, part)
        if not hosts and view_condition(ledger, part).condition == "scrapped":
            continue
        asked = _ask_part(ledger, notice, scope, part, hosts)
        if _may_be_it(ledger, notice, part):
            held |= hosts_ever
        yield asked
    what = notice.applies.part_kind or f"part at {notice.applies.position}"
    side = f"{notice.applies.side} " if notice.applies.side else ""
    for name in scope.aircraft:
        if name not in held:
            yield _ask_aircraft(ledger, notice, scope, name, f"{side}{what}")


def ever_in(ledger: Ledger, part: str, seen: tuple[str, ...] = ()) -> set[str]:
    """Every aircraft a part was ever in or used with, through other parts too."""
    if part in seen:
        return set()
    found = set(ledger.places.used_since(part))
    for spell in ledger.places.spells.get(part, ()):
        if spell.aircraft is not None:
            found.add(spell.aircraft)
        elif spell.into is not None:
            found |= ever_in(ledger, spell.into, (*seen, part))
    return found


def _hosts(ledger: Ledger, part: str) -> tuple[str, ...]:
    if ledger.records.parts[part].use == "assigned":
        return ledger.places.assigned_to(part)
    return host_aircraft(ledger, part)


def _is_of(ledger: Ledger, part: str, scope: Scope, hosts_ever: set[str]) -> bool:
    """Is a part of the notice's kit, or of the aircraft it stands with?"""
    stated = ledger.records.parts[part].kit
    if stated is not None and scope.kit is not None:
        kit = ledger.records.find_kit(stated)
        return (kit.name if kit else stated.name) == scope.kit
    return bool(hosts_ever & set(scope.aircraft))


def _last_spell(ledger: Ledger, part: str) -> Spell | None:
    """Where it is, else where it was last."""
    spells = ledger.places.spells.get(part, ())
    return ledger.places.current(part) or (spells[-1] if spells else None)


def _is_meant(ledger: Ledger, notice: Notice, part: str) -> bool:
    """Is it of the kind; without a kind, is it at the position?"""
    if notice.applies.part_kind is not None:
        return ledger.records.parts[part].kind == notice.applies.part_kind
    spell = _last_spell(ledger, part)
    return spell is not None and spell.position == notice.applies.position


def _may_be_it(ledger: Ledger, notice: Notice, part: str) -> bool:
    """Not ruled out by position or side: then the aircraft it was in has it recorded."""
    where, _ = _match_position(ledger, notice, part)
    side, _ = _match_side(ledger, notice, part)
    return "no" not in (where, side)


def _ask_part(
    ledger: Ledger, notice: Notice, scope: Scope, part: str, hosts: tuple[str, ...]
) -> Asked:
    file = ledger.records.parts[part]
    spell = _last_spell(ledger, part)
    position = spell.position if spell is not None else None
    place = Place(file.path)
    gone = _gone(ledger, scope, hosts)
    if gone is not None:
        return Asked(("part", part), hosts, position, gone)
    lot: Answer = match_lot(file.lot, notice.applies.lots)
    tests: list[tuple[Answer, str]] = [
        _match_position(ledger, notice, part),
        _match_side(ledger, notice, part),
        (lot, _lot_words(file.lot, notice, lot)),
    ]
    return Asked(("part", part), hosts, position, _decide(tests, place))


def _decide(tests: list[tuple[Answer, str]], place: Place) -> Verdict:
    """One no is enough; else one cannot tell; all that was asked stands in the steps."""
    steps = tuple(Step(words, place) for _, words in tests if words)
    for answer in ("no", "cannot-tell"):
        why = [words for found, words in tests if found == answer]
        if why:
            return Verdict(answer, "; ".join(why), steps)
    return Verdict("yes", "; ".join(words for _, words in tests if words), steps)


def _match_position(ledger: Ledger, notice: Notice, part: str) -> tuple[Answer, str]:
    wanted = notice.applies.position
    if wanted is None:
        return "yes", ""
    spell = _last_spell(ledger, part)
    if spell is None or spell.position is None:
        return "cannot-tell", f"its position is not recorded; asked at {wanted}"
    if spell.position == wanted:
        return "yes", f"at {wanted}"
    return "no", f"position: at {spell.position}, asked at {wanted}"


def _match_side(ledger: Ledger, notice: Notice, part: str) -> tuple[Answer, str]:
    wanted = notice.applies.side
    if wanted is None:
        return "yes", ""
    side, source = find_side(ledger, part)
    if side is None:
        return "cannot-tell", f"side not recorded; asked on the {wanted}"
    if side == wanted:
        return "yes", f"on the {side} ({source})"
    return "no", f"side: {side} ({source}), asked on the {wanted}"


def find_side(ledger: Ledger, part: str, seen: tuple[str, ...] = ()) -> tuple[str | None, str]:
    """Left or right: by its file, else by the name of its position, else as what it is in."""
    file = ledger.records.parts[part]
    word = (file.side or "").strip().lower()
    if word in SIDES:
        return word, "by its file"
    spell = _last_spell(ledger, part)
    if spell is None or part in seen:
        return None, ""
    named = [token for token in (spell.position or "").split("-") if token in SIDES]
    if len(set(named)) == 1:
        return named[0], f"by its position {spell.position}"
    if spell.into is not None and spell.into in ledger.records.parts:
        return find_side(ledger, spell.into, (*seen, part))
    return None, ""


def _lot_words(lot: str | None, notice: Notice, answer: Answer) -> str:
    lots = notice.applies.lots
    if not lots:
        return ""
    asked = ", ".join(item.text for item in lots)
    if not is_known(lot):
        return f"lot not recorded; asked of {asked}"
    if answer == "yes":
        return f"lot {lot} is in {asked}"
    if answer == "no":
        return f"lot: {lot} is not in {asked}"
    return f"lot {lot} has another form than {asked}"


def _ask_aircraft(ledger: Ledger, notice: Notice, scope: Scope, name: str, missing: str) -> Asked:
    """The aircraft asked as a whole: the notice is of it, or the part meant is not recorded."""
    file = ledger.records.aircraft[name]
    gone = _gone(ledger, scope, (name,))
    if gone is not None:
        return Asked(("aircraft", name), (name,), None, gone)
    lot: Answer = match_lot(file.lot, notice.applies.lots)
    words = _lot_words(file.lot, notice, lot)
    if missing:
        unseen = f"no {missing} is recorded as a part, so {name} itself is asked"
        words = f"{unseen}; {words}" if words else unseen
    return Asked(("aircraft", name), (name,), None, _decide([(lot, words)], Place(file.path)))


def _gone(ledger: Ledger, scope: Scope, hosts: tuple[str, ...]) -> Verdict | None:
    """Whoever has left the fleet, or whose own file says "none", is asked nothing."""
    stages = {name: ledger.stage(name)[0] for name in hosts}
    if hosts and all(stage in GONE for stage in stages.values()):
        words = f"{hosts[0]} is {stages[hosts[0]].replace('-', ' ')}"
        return Verdict("no", words, (Step(words, Place(ledger.records.aircraft[hosts[0]].path)),))
    if hosts and all(name in scope.off for name in hosts):
        path = ledger.records.aircraft[hosts[0]].path
        words = f"taken away by {hosts[0]}'s own file"
        return Verdict("no", words, (Step(words, Place(path)),))
    return None
