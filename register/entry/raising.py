"""Raising a snag, departure or note to a notice of its kit: every other aircraft is asked."""

from __future__ import annotations

import re
from collections.abc import Sequence

from msgspec import Struct

from register.entry.clerk import Clerk, Plan
from register.entry.drafting import check_signs, check_words, join_names
from register.entry.kits import check_kind, check_title, parse_basis, plain_basis
from register.entry.naming import check_new_name, match_name
from register.entry.openings import match_counter, parse_quantity, split_pair
from register.entry.sheets import Sheet, plain_number
from register.entry.snags import shorten
from register.entry.subjects import find_position
from register.findings.notices import asks_words, list_notices
from register.findings.snags import fold_snags
from register.records.bodies import Other, Snag
from register.records.events import Event
from register.records.fields import Fields
from register.records.lots import parse_range
from register.records.notices import ACTIONS, SIDES, read_notices
from register.records.standing_files import KitFile
from register.records.workshop_bodies import Modification
from register.text.nodes import Plain
from register.text.parsing import parse_text
from register.trouble import Exit, RegisterError

_LONGEST_NAME = 40
_UNITS = ("days", "months", "calendar-months")
ANY_SIDE = "both"


class NoticeWish(Struct, frozen=True):
    """What is typed of a new notice; what is left out is taken from the record raised."""

    title: str | None = None
    name: str | None = None
    text: str | None = None
    trap: bool = False
    kind: str | None = None
    position: str | None = None
    side: str | None = None
    lots: tuple[str, ...] = ()
    action: str | None = None
    every: tuple[str, ...] = ()
    grounds: bool = False
    touches: tuple[str, ...] = ()
    basis: str | None = None


class _Origin(Struct, frozen=True):
    """What a notice is raised from: the words, and on what it was found."""

    event: Event
    text: str
    aircraft: str | None
    part: str | None
    position: str | None
    places: tuple[str, ...]


def plan_raise(clerk: Clerk, typed: str, wish: NoticeWish) -> Plan:
    """A notice in the kit file, by the smallest edit. Raises RegisterError on wrong words.

    Refused (exit 4): an aircraft without a kit, for then nobody else could be asked; a
    record that was raised before.
    """
    origin = _find_origin(clerk, typed)
    kit = _find_kit(clerk, origin)
    _refuse_raised(clerk, origin)
    title = check_title(wish.title or shorten(origin.text))
    taken = {notice.name for notice, _ in list_notices(clerk.ledger)}
    name = check_new_name(wish.name or _name_of(title), taken, "notice")
    warnings: list[str] = []
    entry = _entry(clerk, origin, wish, title, warnings)
    check_signs("notice", entry)
    sheet = Sheet(kit.path, clerk.sources[kit.path])
    sheet.set(("notices", name), entry)
    change = sheet.change()
    says = [f"notice {name} of kit {kit.name}: {title} ({kit.path})"]
    says.extend(_say_asked(clerk, kit, name, change.after, wish))
    aircraft = _of_kit(clerk, kit)
    return Plan(
        (change,),
        f"Raise notice {name} of kit {kit.name}: {shorten(title)}",
        tuple(says),
        (),
        tuple(("aircraft", item) for item in aircraft),
        tuple(dict.fromkeys(warnings)),
    )


def _find_origin(clerk: Clerk, typed: str) -> _Origin:
    event = clerk.find_event(typed)
    body = event.body
    names = clerk.ledger.names
    if event.id in clerk.ledger.settled.withdrawn:
        raise RegisterError(
            f"{clerk.short(event.id)} is withdrawn; nothing is raised from it",
            mend="withdraw its withdrawal first",
            exit_code=Exit.REFUSED,
            code="event-withdrawn",
        )
    if isinstance(body, Snag):
        state = fold_snags(clerk.ledger)[event.id]
        places = tuple(word for word in (body.position, body.zone, body.joint) if word)
        return _Origin(event, body.text, state.found_on, state.part, state.position, places)
    part = names.part_name(getattr(body, "part", None))
    aircraft = names.aircraft_name(getattr(body, "aircraft", None))
    if isinstance(body, Modification):
        places = (body.at,) if body.at else ()
        return _Origin(event, body.text, aircraft, part, None, places)
    if isinstance(body, Other) and event.kind == "note":
        places = (body.position,) if body.position else ()
        return _Origin(event, body.text, aircraft, part, body.position, places)
    raise RegisterError(
        f"{clerk.short(event.id)} is of kind {event.kind}; a snag, a modification or a note is "
        "raised to a notice",
        mend=f"tailsheaf snag {aircraft or 'AIRCRAFT'} WORDS   and raise that",
        code="event-kind",
    )


def _find_kit(clerk: Clerk, origin: _Origin) -> KitFile:
    records = clerk.ledger.records
    stated = records.parts[origin.part].kit if origin.part else None
    hosts = [origin.aircraft] if origin.aircraft else []
    if not hosts and origin.part:
        hosts = [
            spell.aircraft
            for spell in clerk.ledger.places.spells.get(origin.part, ())
            if spell.aircraft
        ]
    ref = stated or next((records.aircraft[name].kit for name in hosts if name), None)
    kit = records.find_kit(ref)
    if kit is not None:
        return kit
    who = hosts[0] if hosts else "AIRCRAFT"
    if ref is not None:
        raise RegisterError(
            f"{who} is of kit {ref.name}, and this fleet has no file of it",
            mend=f"tailsheaf kit {ref.name} --add",
            exit_code=Exit.REFUSED,
            code="kit-unknown",
        )
    raise RegisterError(
        f"{who} names no kit, so no other aircraft would be asked",
        mend=f"tailsheaf aircraft {who} --kit KIT   (tailsheaf kit KIT --add makes one)",
        exit_code=Exit.REFUSED,
        code="kit-none",
    )


def _refuse_raised(clerk: Clerk, origin: _Origin) -> None:
    for notice, _ in list_notices(clerk.ledger):
        if notice.raised_from == origin.event.id:
            raise RegisterError(
                f"{clerk.short(origin.event.id)} was raised before, to notice {notice.name}",
                mend=f"tailsheaf notices {notice.name}   shows it; {notice.place.file} is yours "
                "to edit",
                exit_code=Exit.REFUSED,
                code="notice-raised",
            )


def _name_of(title: str) -> str:
    """A name made of the title's first words."""
    words = re.findall(r"[a-z0-9]+", title.lower())
    name = ""
    for word in words:
        if len(name) + len(word) >= _LONGEST_NAME or name.count("-") >= 3:
            break
        name = f"{name}-{word}" if name else word
    return name or "notice"


def _entry(
    clerk: Clerk, origin: _Origin, wish: NoticeWish, title: str, warnings: list[str]
) -> dict[str, Plain]:
    text = " ".join((wish.text or origin.text).split())
    check_words(text, "text")
    entry: dict[str, Plain] = {"title": title}
    if text != title:
        entry["text"] = text
    entry["kind"] = "trap" if wish.trap else "defect"
    applies = _applies(clerk, origin, wish, warnings)
    if applies:
        entry["applies"] = applies
    if wish.trap:
        if wish.action or wish.every or wish.grounds:
            raise RegisterError(
                "a trap needs no answer, so --action, --every and --grounds mean nothing",
                mend="leave them out, or leave --trap out",
                code="trap-asks",
            )
    else:
        entry |= _asks(clerk, wish)
    touches = [word.strip().lower() for word in wish.touches] or list(origin.places)
    if touches:
        entry["touches"] = list(dict.fromkeys(touches))
    elif wish.trap:
        warnings.append("it names no place it is shown at: --touches PLACE")
    basis = parse_basis(wish.basis or f"owner: raised from {clerk.short(origin.event.id)}")
    entry["basis"] = plain_basis(basis)
    entry["raised_from"] = origin.event.id
    return entry


def _asks(clerk: Clerk, wish: NoticeWish) -> dict[str, Plain]:
    every = [_parse_every(clerk, text) for text in wish.every]
    default = "recurring" if every else "once"
    action = match_name((wish.action or default).replace(" ", "-"), ACTIONS, "action")
    if action == "recurring" and not every:
        raise RegisterError(
            "a recurring notice needs to say how often",
            mend="--every flights=10   or  --every months=6",
            code="notice-interval-missing",
        )
    if action == "once" and every:
        raise RegisterError(
            "what is looked at once has no interval",
            mend="--action recurring   or  --action until-repaired",
            code="notice-interval-idle",
        )
    found: dict[str, Plain] = {"action": action}
    if every:
        found["every"] = list(every)
    if wish.grounds:
        found["grounds"] = True
    return found


def _parse_every(clerk: Clerk, text: str) -> Plain:
    name, value = split_pair(text, "--every", "flights=10   or  months=6, days=90")
    word = name.replace("_", "-")
    unit = next((unit for unit in _UNITS if unit in (word, f"{word}s")), None)
    if unit is not None:
        if not (value.isascii() and value.isdigit() and 1 <= int(value[:6]) <= 3650):
            raise RegisterError(
                f"--every {text[:40]!r}: {value[:20]!r} is not a number of {unit}",
                mend=f"--every {unit}=6",
                code="number-wrong",
            )
        return {unit.replace("-", "_"): int(value)}
    counter = match_counter(name, (*clerk.ledger.records.fleet.counters, *_UNITS))
    amount = parse_quantity(value, counter)
    if amount <= 0:
        raise RegisterError(
            f"--every {counter}: an interval is more than nothing",
            mend=f"--every {counter}=10",
            code="number-wrong",
        )
    return {"counter": counter, "amount": plain_number(amount)}


def _applies(
    clerk: Clerk, origin: _Origin, wish: NoticeWish, warnings: list[str]
) -> dict[str, Plain]:
    found: dict[str, Plain] = {}
    part = clerk.ledger.records.parts[origin.part] if origin.part else None
    if wish.kind is not None:
        found["part_kind"] = check_kind(clerk, wish.kind, warnings)
    elif part is not None and wish.position is None:
        found["part_kind"] = part.kind
    if wish.position is not None:
        aircraft = origin.aircraft
        found["position"] = (
            find_position(clerk, aircraft, wish.position)[0]
            if aircraft
            else wish.position.strip().lower()
        )
    side = wish.side.strip().lower() if wish.side else None
    if side is not None:
        side = match_name(side, (*SIDES, ANY_SIDE), "side")
    if side in SIDES:
        if not found and not wish.trap:
            raise RegisterError(
                "a side alone says nothing of an aircraft, which has both",
                mend="--kind wing --side left   or  --position left-wing",
                code="side-alone",
            )
        found["side"] = side
    if wish.lots:
        found["lots"] = list(_read_lots(wish.lots))
    return found


def _read_lots(lots: Sequence[str]) -> list[str]:
    found = []
    for text in (item.strip() for word in lots for item in word.split(",")):
        if not text or parse_range(text) is None:
            raise RegisterError(
                f"--lots {text[:40]!r} is no lot and no range of lots",
                mend="--lots B12-B40   (the same letters at both ends, the lower first)",
                code="lot-range-wrong",
            )
        found.append(text)
    return found


def _of_kit(clerk: Clerk, kit: KitFile) -> list[str]:
    records = clerk.ledger.records
    return [
        name
        for name in sorted(records.aircraft)
        if records.find_kit(records.aircraft[name].kit) is kit
    ]


def _say_asked(clerk: Clerk, kit: KitFile, name: str, data: bytes, wish: NoticeWish) -> list[str]:
    """Whom it asks from now on, in the words that the notice itself is told in."""
    node = parse_text(kit.path, data).node
    notices = read_notices(Fields(node, []), kit.name) if node is not None else {}
    aircraft = _of_kit(clerk, kit)
    whose = f"{len(aircraft)} aircraft: {join_names(aircraft)}"
    if wish.trap:
        places = ", ".join(notices[name].touches) or "no place yet"
        return [f"shown whenever work touches {places} of {whose}"]
    wide = [] if wish.lots else ["all lots (--lots)"]
    # A defect looked for on one side only is the commoner mistake: both are asked unless said.
    if (
        notices[name].applies.is_for_parts
        and not wish.position
        and notices[name].applies.side is None
    ):
        wide.append("both sides (--side, --position)")
    narrows = f", of {' and '.join(wide)} unless narrowed," if wide else ""
    return [f"it asks {asks_words(notices[name])}{narrows or ','} in {whose}"]
