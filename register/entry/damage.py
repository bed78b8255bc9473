"""Entry of where damage is, how large, and how it grew."""

from __future__ import annotations

import difflib
import re
from decimal import Decimal

from msgspec import Struct

from register.entry.amending import plan_amend
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.naming import match_name
from register.entry.snags import find_snag, name_snag, shorten, snag_folder, touch_snag
from register.findings.snags import SnagState
from register.records.as_built import read_section
from register.records.bodies import Snag
from register.records.outlines import Outline
from register.records.scalars import NAME_PATTERN
from register.records.values import format_amount
from register.records.workshop_bodies import Spot
from register.records.zones import Zone
from register.text.nodes import Plain
from register.trouble import RegisterError
from register.workshop.damage import SIZE, zone_of
from register.workshop.spots import (
    DIRECTIONS,
    Unplaced,
    default_directions,
    find_direction,
    form_of,
    locate_spot,
    tell_measure,
)

_TYPO = 0.8
_MEASURE = re.compile(
    r"([+-]?\d{1,6}(?:\.\d{1,3})?)\s*(mm|cm|in|inch|inches|m)?\b\s*(.*)", re.DOTALL
)
_UNITS = {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000), "in": Decimal("25.4")}
_PLACE_EXAMPLE = '--place "120 from leading edge, 340 from root"   or, shorter,  --place 120,340'
#: Larger than the aircraft of this trade are.
_MOST = Decimal(20_000)


class DamageWords(Struct, frozen=True):
    """What is said of a mark, as typed."""

    size: str | None = None
    zone: str | None = None
    place: str | None = None
    finish: str | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was said."""
        return self == DamageWords()


def zones_of(clerk: Clerk, aircraft: str | None) -> dict[str, Zone]:
    """The zones of an aircraft; none where it is not known."""
    if aircraft is None:
        return {}
    zones: dict[str, Zone] = read_section(clerk.ledger.records, aircraft, "zones")[0]
    return zones


def find_zone(clerk: Clerk, aircraft: str | None, typed: str) -> tuple[str, bool]:
    """The zone meant, and whether the aircraft has it.

    One that is not known is taken as written, unless it looks like a slip of the pen.
    A number (500) finds the zone that bears it.
    """
    zones = zones_of(clerk, aircraft)
    word = re.sub(r"[\s_]+", "-", typed.strip().lower())
    numbered = [zone.name for zone in zones.values() if zone.number == typed.strip()]
    if len(numbered) == 1:
        return numbered[0], True
    starting = [name for name in zones if word and name.startswith(word)]
    if word in zones or len(starting) == 1:
        return (word if word in zones else starting[0]), True
    near = difflib.get_close_matches(word, zones, n=3, cutoff=_TYPO)
    if near or len(starting) > 1 or not NAME_PATTERN.fullmatch(word):
        match_name(word, zones, "zone", add="a word of a-z, 0-9 and -")
        raise RegisterError(
            f"{typed[:60]!r} cannot be the name of a zone",
            mend="use a-z, 0-9 and -",
            code="zone-wrong",
        )
    return word, False


def read_millimetres(typed: str, what: str) -> Decimal:
    """A length as typed: 12, 12mm, 1.2 cm, 0.5in. Raises RegisterError (USAGE)."""
    found = _MEASURE.fullmatch(typed.strip().lower())
    if found is None or found[3]:
        raise RegisterError(
            f"{what}: {typed[:40]!r} is not a length",
            mend=f"--{what} 12   in millimetres, or 1.2cm",
            code="amount-wrong",
        )
    value = _scaled(found[1], found[2])
    if value < 0 or value > _MOST:
        raise RegisterError(
            f"{what}: {typed[:40]} is {'negative' if value < 0 else 'longer than an aircraft'}",
            mend=f"--{what} 12   in millimetres",
            code="amount-wrong",
        )
    return value


def _scaled(number: str, unit: str | None) -> Decimal:
    word = "in" if unit and unit.startswith("in") else unit or "mm"
    return (Decimal(number) * _UNITS[word]).normalize() + 0


def read_place(typed: str, zone: Zone | None, outline: Outline | None = None) -> dict[str, Plain]:
    """A place as typed: one or two lengths, each with what it is measured from.

    Bare lengths are measured from the zone's own directions. Raises RegisterError (USAGE)
    where the words do not give a place on the zone.
    """
    pieces = [item for item in re.split(r"[,;]|\band\b|(?<=\d)\s*[x/]\s*(?=\d)", typed) if item]
    if not 1 <= len(pieces) <= 2:
        raise _place_error(typed, "one or two lengths are wanted")
    measures = [_read_measure(typed, piece) for piece in pieces]
    words = [word for _, word in measures]
    if zone is not None and form_of(zone) != "none":
        bare = list(default_directions(zone))
        if len(words) == 2 and words.count("") == 1:
            # One direction was said: the other is the zone's that is left.
            said = next(word for word in words if word)
            bare = [word for word in bare if word != said] * 2
        words = [word or bare[n] for n, word in enumerate(words)]
    (along, _), *rest = measures
    body: dict[str, Plain] = {"along": along, "along_from": words[0] or None}
    if rest:
        body["across"] = rest[0][0]
        body["across_from"] = words[1] or None
    if zone is not None and form_of(zone) != "none":
        spot = Spot(
            along,
            words[0],
            rest[0][0] if rest else None,
            words[1] if rest else "",
        )
        where = locate_spot(zone, spot, outline)
        if isinstance(where, Unplaced) and where.by_words:
            first, second = default_directions(zone)
            raise _place_error(typed, where.reason, f'--place "120 from {first}, 40 from {second}"')
    return {key: value for key, value in body.items() if value is not None}


def _read_measure(typed: str, piece: str) -> tuple[Decimal, str]:
    found = _MEASURE.fullmatch(piece.strip().lower())
    if found is None:
        raise _place_error(typed, f"{piece.strip()[:40]!r} does not begin with a length")
    value = _scaled(found[1], found[2])
    if value < 0 or value > _MOST:
        raise _place_error(typed, f"{found[1]} is no length on an aircraft")
    rest = found[3].strip()
    word = find_direction(rest) if rest else ""
    if word is None:
        near = difflib.get_close_matches(rest.removeprefix("from "), DIRECTIONS, n=1, cutoff=0.5)
        meant = f"; did you mean {near[0]}?" if near else f"; known: {', '.join(DIRECTIONS)}"
        raise _place_error(typed, f"{rest[:40]!r} is no direction{meant}")
    return value, word


def _place_error(typed: str, why: str, mend: str = _PLACE_EXAMPLE) -> RegisterError:
    return RegisterError(f"place {typed[:60]!r}: {why}", mend=mend, code="place-wrong")


def describe_mark(
    draft: Draft, aircraft: str | None, position: str | None, words: DamageWords
) -> dict[str, Plain]:
    """The keys of a snag that say where and how large it is, and its finish."""
    clerk = draft.clerk
    body: dict[str, Plain] = {}
    zones = zones_of(clerk, aircraft)
    name = None
    if words.zone:
        name, known = find_zone(clerk, aircraft, words.zone)
        if not known:
            whose = aircraft or "this part"
            draft.warn(f"{whose} has no zone {name}; recorded as written")
        body["zone"] = name
    elif position is not None:
        name = next((zone.name for zone in zones.values() if position in zone.holds), None)
    if words.place:
        outline = _outline_of(clerk, aircraft)
        body["place"] = read_place(words.place, zones.get(name or ""), outline)
        if name is None:
            draft.warn("a place without --zone cannot be drawn")
    if words.size:
        body["size"] = read_millimetres(words.size, "size")
    if words.finish:
        check_words(words.finish, "finish")
        body["finish"] = " ".join(words.finish.split())
    return body


def tell_mark(body: dict[str, Plain]) -> str:
    """What describe_mark added, as said: ", left-wing, 120 from leading edge, 12 mm"."""
    size, place = body.get("size"), body.get("place")
    pieces = [
        body.get("zone"),
        tell_place(place) if isinstance(place, dict) else None,
        f"{format_amount(size)} mm" if isinstance(size, Decimal) else None,
    ]
    return "".join(f", {piece}" for piece in pieces if piece)


def _outline_of(clerk: Clerk, aircraft: str | None) -> Outline | None:
    if aircraft is None:
        return None
    outline: Outline | None = read_section(clerk.ledger.records, aircraft, "outline")[0]
    return outline


def plan_damage(clerk: Clerk, aircraft: str, snag: str, words: DamageWords, stamp: Stamp) -> Plan:
    """More about a mark: its size by now (a reading of the snag), its zone, place or finish.

    Zone, place and finish complete the snag by an amendment. Raises RegisterError (USAGE)
    where the snag is not on that aircraft.
    """
    state = find_snag(clerk, snag)
    if aircraft not in (state.found_on, *state.hosts):
        raise RegisterError(
            f"the snag {clerk.short(state.id)} is on "
            f"{state.aircraft or state.part or 'no aircraft'}, not on {aircraft}",
            mend=f"tailsheaf damage {state.aircraft or aircraft}",
            code="snag-elsewhere",
        )
    plans = []
    pairs = _amending_pairs(clerk, aircraft, state, words)
    if pairs:
        plans.append(plan_amend(clerk, state.id, pairs, stamp))
    if words.size is not None:
        plans.append(_plan_size(clerk, state, read_millimetres(words.size, "size"), stamp))
    plan = plans[0]
    for other in plans[1:]:
        plan = plan.plus(other)
    return plan


def _amending_pairs(clerk: Clerk, aircraft: str, state: SnagState, words: DamageWords) -> list[str]:
    snag = state.event.body
    zones = zones_of(clerk, aircraft)
    name = zone_of(snag, zones) if isinstance(snag, Snag) else None
    pairs = []
    if words.zone:
        name = find_zone(clerk, aircraft, words.zone)[0]
        pairs.append(f"zone={name}")
    if words.place:
        zone = zones.get(name or "")
        pairs.append(f"place={tell_place(read_place(words.place, zone, None))}")
    if words.finish:
        pairs.append(f"finish={words.finish}")
    return pairs


def tell_place(body: dict[str, Plain]) -> str:
    """A place as words that read_place reads again."""
    pieces = []
    for key in ("along", "across"):
        value, word = body.get(key), body.get(f"{key}_from")
        if isinstance(value, Decimal):
            pieces.append(tell_measure(format_amount(value), word if isinstance(word, str) else ""))
    return ", ".join(pieces)


def _plan_size(clerk: Clerk, state: SnagState, size: Decimal, stamp: Stamp) -> Plan:
    draft = Draft(clerk, stamp, takes_time=True)
    whose = ("aircraft", state.aircraft) if state.aircraft else ("part", state.part or "")
    draft.write(
        snag_folder(state),
        "reading",
        {
            "subject": clerk.ref(whose if whose[1] else ("aircraft", state.found_on or "")),
            "snag": state.id,
            "name": SIZE,
            "value": size,
            "unit": "mm",
        },
    )
    touch_snag(draft, state)
    before = _last_size(clerk, state)
    change = ""
    if before is not None:
        change = f", was {format_amount(before)} mm"
    draft.say(
        f"{name_snag(state)} ({clerk.short(state.id)}){draft.day}: {format_amount(size)} mm{change}"
    )
    if not state.is_open:
        draft.warn(f"{clerk.short(state.id)} is closed")
    return draft.plan(f"Measure the snag {shorten(state.text)}: {format_amount(size)} mm")


def _last_size(clerk: Clerk, state: SnagState) -> Decimal | None:
    from register.workshop.damage import sizes_of

    found = sizes_of(clerk.ledger, state)
    return found[-1].size if found else None
