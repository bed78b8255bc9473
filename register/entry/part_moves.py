"""Parts going in, coming off, and changing places."""

from __future__ import annotations

from itertools import count

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Stamp, Written
from register.entry.drafting import Draft, join_names, with_article
from register.entry.order_within_day import say_unordered
from register.entry.subjects import (
    current_spell,
    find_aircraft,
    find_part,
    find_position,
    folder_of,
    known_positions,
)
from register.findings.conditions import view_condition
from register.ledger.places import Spell
from register.text.nodes import Plain
from register.trouble import RegisterError


class InstallWords(Struct, frozen=True):
    """Where a part goes, as typed: an aircraft and a position, or into another part."""

    aircraft: str | None = None
    position: str | None = None
    into: str | None = None


def plan_install(clerk: Clerk, part: str, words: InstallWords, stamp: Stamp) -> Plan:
    """A part goes to a position of an aircraft, or into another part.

    Recorded and warned of: a part still recorded elsewhere, a position that is taken or
    not known, a part that is not serviceable.
    """
    draft = Draft(clerk, stamp)
    name = find_part(clerk, part)
    if words.into is not None:
        return _install_into(draft, name, words)
    if words.aircraft is None:
        raise RegisterError(
            f"where does {name} go?",
            mend=f"tailsheaf install {name} AIRCRAFT POSITION  or  --into PART",
            code="usage",
        )
    aircraft = find_aircraft(clerk, words.aircraft)
    position = _choose_position(draft, name, aircraft, words.position)
    written = _write_install(draft, name, aircraft, position)
    where = f"{aircraft}, {position}" if position else aircraft
    draft.say(f"{name} installed in {where}{draft.day}")
    _warn_install(draft, name, aircraft, position)
    if clerk.ledger.records.parts[name].use != "assigned":
        say_unordered(draft, aircraft, written.id, (name,))
    return draft.plan(f"Install {name} in {where}")


def _install_into(draft: Draft, name: str, words: InstallWords) -> Plan:
    clerk = draft.clerk
    into = find_part(clerk, words.into or "")
    if words.aircraft is not None:
        raise RegisterError(
            "a part goes into an aircraft or into another part, not both",
            mend=f"tailsheaf install {name} --into {into}",
            code="install-twice",
        )
    if into == name or _holds(clerk, name, into):
        raise RegisterError(
            f"{name} cannot go into {into}: it would hold itself",
            mend=f"tailsheaf remove {into}   first, if {into} is no longer in {name}",
            code="install-ring",
        )
    body: dict[str, Plain] = {
        "part": clerk.ref(("part", name)),
        "into": clerk.ref(("part", into)),
        "position": words.position,
    }
    draft.write(folder_of(clerk, ("part", into)), "install", body)
    draft.touch(("part", name), ("part", into))
    draft.say(f"{name} installed into {into}{draft.day}")
    _warn_elsewhere(draft, name)
    _warn_condition(draft, name)
    return draft.plan(f"Install {name} into {into}")


def _holds(clerk: Clerk, part: str, other: str) -> bool:
    """Whether `other` is, by however many steps, inside `part`."""
    seen: set[str] = set()
    name: str | None = other
    while name is not None and name not in seen:
        seen.add(name)
        spell = current_spell(clerk, name)
        name = spell.into if spell is not None else None
        if name == part:
            return True
    return False


def _choose_position(draft: Draft, part: str, aircraft: str, typed: str | None) -> str | None:
    clerk = draft.clerk
    file = clerk.ledger.records.parts[part]
    positions = clerk.ledger.positions(aircraft)
    if typed is not None:
        found, known = find_position(clerk, aircraft, typed)
        if not known:
            draft.warn(_new_position_words(clerk, aircraft, found))
        return found
    if file.use == "assigned":
        return None
    fitting = [item.name for item in positions.values() if item.kind == file.kind]
    free = [name for name in fitting if clerk.ledger.places.at_position(aircraft, name) is None]
    chosen = free if len(free) == 1 else fitting
    if len(chosen) == 1:
        return chosen[0]
    raise RegisterError(
        f"at which position of {aircraft}? {_position_words(draft, aircraft)}",
        mend=f"tailsheaf install {part} {aircraft} "
        + (fitting[0] if fitting else _free_name(draft, aircraft, file.kind))
        + ("" if fitting else "   (any name of a-z, 0-9 and - makes a new one)"),
        code="position-none",
    )


def _new_position_words(clerk: Clerk, aircraft: str, position: str) -> str:
    """What looked like a slip was refused before: this is a place that was not named yet."""
    listed = known_positions(clerk, aircraft)
    known = f"; it had {', '.join(listed[:6])}" if listed else ""
    return f"{position} is a new position of {aircraft}{known}"


def _free_name(draft: Draft, aircraft: str, kind: str) -> str:
    """A name for a position that nothing bears yet: the kind and the first number that is free."""
    taken = known_positions(draft.clerk, aircraft)
    return next(name for n in count(1) if (name := f"{kind}-{n}") not in taken)


def _position_words(draft: Draft, aircraft: str) -> str:
    """Its positions with the kind of part each takes, or how to name one."""
    ledger = draft.clerk.ledger
    positions = ledger.positions(aircraft)
    told = []
    for name in known_positions(draft.clerk, aircraft):
        kind = positions[name].kind if name in positions else None
        held = ledger.places.at_position(aircraft, name)
        about = [word for word in (kind, f"{held.part} is there" if held else None) if word]
        told.append(f"{name} ({', '.join(about)})" if about else name)
    if not told:
        return (
            f"none is named yet: name it in this line, or with its kind by  "
            f"tailsheaf aircraft {aircraft} --position NAME=KIND"
        )
    return f"its positions: {', '.join(told)}"


def _write_install(
    draft: Draft, part: str, aircraft: str, position: str | None, *, after: str | None = None
) -> Written:
    clerk = draft.clerk
    body: dict[str, Plain] = {
        "part": clerk.ref(("part", part)),
        "aircraft": clerk.ref(("aircraft", aircraft)),
        "position": position,
    }
    draft.touch(("aircraft", aircraft), ("part", part))
    return draft.write(f"aircraft/{aircraft}", "install", body, after=after)


def _warn_install(
    draft: Draft, part: str, aircraft: str, position: str | None, *, leaving: str | None = None
) -> None:
    clerk = draft.clerk
    records = clerk.ledger.records
    _warn_condition(draft, part)
    _warn_elsewhere(draft, part)
    if position is None or records.parts[part].use == "assigned":
        return
    place = clerk.ledger.positions(aircraft).get(position)
    kind = records.parts[part].kind
    if place is not None and place.kind is not None and place.kind != kind:
        draft.warn(f"{position} is for {with_article(place.kind)}; {part} is {with_article(kind)}")
    held = clerk.ledger.places.at_position(aircraft, position)
    if held is not None and held.part not in (part, leaving):
        draft.warn(
            f"{held.part} was still recorded at {position}; it counts as taken off now "
            f"(tailsheaf swap {held.part} {part}   says both at once)"
        )


def _warn_condition(draft: Draft, part: str) -> None:
    state = view_condition(draft.clerk.ledger, part)
    if not state.is_usable:
        draft.warn(
            f"{part} is recorded as {state.condition}: "
            f"tailsheaf condition {part} serviceable   if it is that again"
        )


def _warn_elsewhere(draft: Draft, part: str) -> None:
    spell = current_spell(draft.clerk, part)
    if spell is not None:
        host = spell.aircraft or spell.into
        draft.warn(
            f"{part} was still recorded in {host}; its removal is implied, the day not known: "
            f"tailsheaf remove {part} --at DATE"
        )
        if spell.aircraft:
            draft.touch(("aircraft", spell.aircraft))


def plan_remove(
    clerk: Clerk, part: str, stamp: Stamp, *, aircraft: str | None = None, reason: str | None = None
) -> Plan:
    """A part comes off; for a shared pack, off the aircraft named, else off all."""
    draft = Draft(clerk, stamp)
    name = find_part(clerk, part)
    host = find_aircraft(clerk, aircraft) if aircraft else None
    ledger = clerk.ledger
    if ledger.records.parts[name].use == "assigned":
        hosts = ledger.places.assigned_to(name)
        _write_remove(draft, name, host, f"parts/{name}", reason)
        draft.touch(*(("aircraft", item) for item in ([host] if host else hosts)))
        if not hosts or (host is not None and host not in hosts):
            draft.warn(f"{name} was not recorded with {host or 'any aircraft'}")
        draft.say(f"{name} no longer goes with {host or join_names(hosts) or 'any aircraft'}")
        return draft.plan(f"Take {name} off {host or 'all aircraft'}")
    spell = current_spell(clerk, name)
    if spell is None:
        folder = f"aircraft/{host}" if host else f"parts/{name}"
        _write_remove(draft, name, host, folder, reason)
        draft.warn(
            f"{name} was not recorded as installed anywhere: "
            f"tailsheaf install {name} AIRCRAFT POSITION --at DATE"
        )
        draft.say(f"{name} removed{draft.day}")
        return draft.plan(f"Remove {name}")
    written = _remove_from(draft, name, spell, host, reason)
    where = _host_words(spell)
    draft.say(f"{name} removed from {where}{draft.day}")
    if spell.aircraft is not None:
        say_unordered(draft, spell.aircraft, written.id, (name,))
    return draft.plan(f"Remove {name} from {where}")


def _host_words(spell: Spell) -> str:
    host = spell.aircraft or spell.into or ""
    return f"{host}, {spell.position}" if spell.position else host


def _remove_from(
    draft: Draft, part: str, spell: Spell, host: str | None, reason: str | None
) -> Written:
    if host is not None and host != spell.aircraft:
        raise RegisterError(
            f"{part} is recorded in {_host_words(spell)}, not in {host}",
            mend=f"tailsheaf remove {part}",
            code="remove-elsewhere",
        )
    folder = folder_of(draft.clerk, ("part", part))
    if draft.when.day < spell.install.moment.day:
        draft.warn(f"this is before {part} went in ({spell.install.moment.day.isoformat()})")
    return _write_remove(draft, part, spell.aircraft, folder, reason)


def _write_remove(
    draft: Draft, part: str, aircraft: str | None, folder: str, reason: str | None
) -> Written:
    clerk = draft.clerk
    body: dict[str, Plain] = {
        "part": clerk.ref(("part", part)),
        "aircraft": clerk.ref(("aircraft", aircraft)) if aircraft else None,
        "reason": reason,
    }
    draft.touch(("part", part))
    if aircraft:
        draft.touch(("aircraft", aircraft))
    return draft.write(folder, "remove", body)


def plan_swap(clerk: Clerk, old: str, new: str, stamp: Stamp, *, reason: str | None = None) -> Plan:
    """One part out, another in, at the same position and in one commit."""
    draft = Draft(clerk, stamp)
    names = draft_swap(draft, old, new, reason=reason)
    return draft.plan(f"Swap {names[0]} for {names[1]} in {names[2]}")


def draft_swap(
    draft: Draft,
    old: str,
    new: str,
    *,
    reason: str | None = None,
    after: str | None = None,
    ordered: bool = False,
) -> tuple[str, str, str]:
    """Add a swap to a draft; `after` (an id, or id:n) orders it, `ordered` says that something
    else will. Old, new, and where.
    """
    clerk = draft.clerk
    out, into = find_part(clerk, old), find_part(clerk, new)
    spell = current_spell(clerk, out)
    if out == into:
        raise RegisterError(
            f"{out} cannot be swapped for itself", mend="name two parts", code="swap-same"
        )
    if spell is None or spell.aircraft is None:
        raise RegisterError(
            f"{out} is not recorded as installed in an aircraft",
            mend=f"tailsheaf install {into} AIRCRAFT POSITION   records the new one alone",
            code="swap-not-there",
        )
    aircraft, position = spell.aircraft, spell.position
    body: dict[str, Plain] = {
        "part": clerk.ref(("part", out)),
        "aircraft": clerk.ref(("aircraft", aircraft)),
        "reason": reason,
    }
    removed = draft.write(f"aircraft/{aircraft}", "remove", body, after=after)
    draft.touch(("part", out))
    _write_install(draft, into, aircraft, position, after=removed.id)
    where = f"{aircraft}, {position}" if position else aircraft
    draft.say(f"{out} out, {into} in at {where}{draft.day}")
    _warn_install(draft, into, aircraft, position, leaving=out)
    if after is None and not ordered:
        say_unordered(draft, aircraft, removed.id, (out, into))
    return out, into, where
