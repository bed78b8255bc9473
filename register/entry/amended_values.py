"""Values of an amendment as typed, by the key they stand under."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal

from register.entry.amounts import read_each, read_minutes
from register.entry.clerk import Clerk
from register.entry.dates import read_day, read_when
from register.entry.drafting import check_words, read_after
from register.entry.measures import check_sign, parse_measured
from register.entry.naming import match_name
from register.entry.subjects import find_aircraft, find_part, find_position, find_subject
from register.records.bodies import CONDITIONS, FOUND, SEVERITIES, STAGES
from register.records.events import SOURCES, Event
from register.records.workshop_bodies import MENDINGS, RESTS
from register.text.nodes import Plain
from register.trouble import RegisterError

CHOICES: dict[str, tuple[str, ...]] = {
    "severity": SEVERITIES,
    "condition": CONDITIONS,
    "stage": STAGES,
    "found": FOUND,
    "source": SOURCES,
    "rest": RESTS,
    "mending": MENDINGS,
    "result": ("pass", "fail", "recorded"),
}
#: Keys that may be amended, by kind of record; a kind not listed takes any key.
KEYS: dict[str, tuple[str, ...]] = {
    "flights": (
        "aircraft",
        "count",
        "minutes",
        "each",
        "engine_minutes",
        "landings",
        "gear_cycles",
        "engine_starts",
        "tows",
        "counters",
        "uses",
    ),
    "engine-run": ("part", "minutes", "starts"),
    "charge": ("parts", "count"),
    "meter-reading": ("part", "counter", "value", "replaced"),
    "task-done": ("task", "subject", "position", "result", "readings"),
    "reading": ("subject", "name", "value", "unit", "snag"),
    "snag": (
        "aircraft",
        "part",
        "position",
        "text",
        "severity",
        "found",
        "zone",
        "system",
        "joint",
        "broken",
        "rest",
        "place",
        "size",
        "finish",
        "mode",
        "mechanism",
        "circumstance",
    ),
    "severity": ("snag", "severity"),
    "deferral": ("snag", "reason", "limit", "until", "flights", "extends"),
    "fix": ("snags", "action", "closes", "cause", "mending", "rest", "minutes"),
    "install": ("part", "aircraft", "into", "position"),
    "remove": ("part", "aircraft", "reason"),
    "condition": ("part", "condition", "reason"),
    "incident": ("aircraft", "what"),
    "layup": ("subject", "state"),
    "stage": ("aircraft", "stage"),
}
COMMON = ("when", "after", "by", "note", "source")
NUMBERS = frozenset(
    {
        "count",
        "landings",
        "gear_cycles",
        "engine_starts",
        "tows",
        "flights",
        "value",
        "starts",
        "broken",
    }
)
FLAGS = frozenset({"closes", "replaced"})
EVENT_KEYS = frozenset({"snag", "extends", "duplicate_of"})
_ITEMS = re.compile(r"[,\s]+")


def find_key(event: Event, typed: str) -> str:
    """The key meant, or the nearest that a record of this kind has."""
    key = typed.strip().lower().replace("-", "_")
    known = KEYS.get(event.kind)
    if known is None:
        return key
    return match_name(key, (*known, *COMMON), f"key of a {event.kind.replace('-', ' ')} record")


def read_value(clerk: Clerk, event: Event, key: str, text: str) -> Plain:
    """The value to write under a key of an event.

    Raises RegisterError (USAGE) on a name, date or amount that cannot stand there.
    """
    special = _READERS.get(key)
    if special is not None:
        return special(clerk, event, text)
    if key in CHOICES:
        return match_name(text.replace("_", "-").replace(" ", "-"), CHOICES[key], key)
    if key == "state":
        return match_name(text, ("begin", "end"), "state")
    if key in NUMBERS:
        return read_plain_number(key, text)
    if key in FLAGS:
        return match_name(text, ("true", "false", "yes", "no"), key) in ("true", "yes")
    if key in EVENT_KEYS:
        return clerk.find_event(text).id
    check_words(text, key)
    return text


def read_plain_number(key: str, text: str) -> Plain:
    """A number, whole where it is whole."""
    word = text.strip()
    if not re.fullmatch(r"[+-]?\d{1,9}(\.\d{1,6})?", word, re.ASCII):
        raise RegisterError(
            f"{key}: {word[:40]!r} is not a number",
            mend=f"write {key}=3, or {key}= to take it out",
            code="amount-wrong",
        )
    value = Decimal(word)
    return int(value) if "." not in word else value


def _items(text: str) -> list[str]:
    found = [item for item in _ITEMS.split(text.strip("[] ")) if item]
    return [] if [item.lower() for item in found] == ["none"] else found


def _aircraft(clerk: Clerk, _: Event, text: str) -> Plain:
    return clerk.ref(("aircraft", find_aircraft(clerk, text)))


def _part(clerk: Clerk, _: Event, text: str) -> Plain:
    return clerk.ref(("part", find_part(clerk, text)))


def _subject(clerk: Clerk, _: Event, text: str) -> Plain:
    return clerk.ref(find_subject(clerk, text))


def _parts(clerk: Clerk, _: Event, text: str) -> Plain:
    return [clerk.ref(("part", find_part(clerk, item))) for item in _items(text)]


def _snags(clerk: Clerk, _: Event, text: str) -> Plain:
    return [clerk.find_event(item, kind="snag").id for item in _items(text)]


def _after(clerk: Clerk, event: Event, text: str) -> Plain:
    anchor, written = read_after(clerk, text)
    if anchor.id == event.id:
        raise RegisterError(
            "an event cannot follow itself",
            mend="name another event of that day",
            code="after-wrong",
        )
    if anchor.moment.day != event.moment.day:
        raise RegisterError(
            f"{clerk.short(anchor.id)} is of {anchor.moment.day.isoformat()}, "
            f"{clerk.short(event.id)} of {event.moment.day.isoformat()}",
            mend="name an event of the same day",
            code="after-other-day",
        )
    return written


def _when(clerk: Clerk, _: Event, text: str) -> Plain:
    return read_when(text, clerk.now, clerk.ledger.records.zone).text


def _until(clerk: Clerk, _: Event, text: str) -> Plain:
    return read_day(text, clerk.now, clerk.ledger.records.zone, ahead=True).isoformat()


def _minutes(_: Clerk, __: Event, text: str) -> Plain:
    return read_minutes(text, most=None)


def _each(_: Clerk, __: Event, text: str) -> Plain:
    return list(read_each(text.strip("[] ")))


def _readings(_: Clerk, event: Event, text: str) -> Plain:
    found: list[Plain] = []
    for item in _items(text):
        measured = parse_measured(item, None)
        check_sign(measured)
        found.append(
            {"name": measured.name, "value": measured.value, "unit": measured.unit or None}
        )
    return found


def _task(clerk: Clerk, _: Event, text: str) -> Plain:
    known = {
        task.id
        for programme in clerk.ledger.records.programmes.values()
        for task in programme.tasks
    }
    return match_name(text, known, "task")


def _zone(clerk: Clerk, event: Event, text: str) -> Plain:
    from register.entry.damage import find_zone

    aircraft = clerk.ledger.names.aircraft_name(getattr(event.body, "aircraft", None))
    return find_zone(clerk, aircraft, text)[0]


def _place(clerk: Clerk, event: Event, text: str) -> Plain:
    from register.entry.damage import read_place, zones_of

    aircraft = clerk.ledger.names.aircraft_name(getattr(event.body, "aircraft", None))
    name = getattr(event.body, "zone", None) or ""
    # Said in full, it may be of a zone that is amended with it.
    zone = None if "from" in text or " of " in text else zones_of(clerk, aircraft).get(name)
    return read_place(text, zone)


def _fault_word(key: str) -> Callable[[Clerk, Event, str], Plain]:
    def read(clerk: Clerk, _: Event, text: str) -> Plain:
        from register.entry.fault_entry import read_fault_word

        return read_fault_word(clerk, key, text)[0]

    return read


def _size(_: Clerk, __: Event, text: str) -> Plain:
    from register.entry.damage import read_millimetres

    return read_millimetres(text, "size")


def _position(clerk: Clerk, event: Event, text: str) -> Plain:
    aircraft = clerk.ledger.names.aircraft_name(getattr(event.body, "aircraft", None))
    if aircraft is None:
        return text.strip().lower()
    return find_position(clerk, aircraft, text)[0]


_READERS: dict[str, Callable[[Clerk, Event, str], Plain]] = {
    "aircraft": _aircraft,
    "part": _part,
    "into": _part,
    "subject": _subject,
    "uses": _parts,
    "parts": _parts,
    "snags": _snags,
    "after": _after,
    "when": _when,
    "until": _until,
    "minutes": _minutes,
    "engine_minutes": _minutes,
    "each": _each,
    "readings": _readings,
    "task": _task,
    "position": _position,
    "zone": _zone,
    "place": _place,
    "size": _size,
    "system": _fault_word("system"),
    "mode": _fault_word("mode"),
    "mechanism": _fault_word("mechanism"),
    "circumstance": _fault_word("circumstance"),
}
