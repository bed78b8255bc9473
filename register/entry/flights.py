"""Entering flights: what is not said is taken from the last entry, and that is said."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.entry.amounts import DAY_MINUTES, read_count, read_each, read_minutes
from register.entry.carried import (
    CARRIED,
    CARRIED_ENGINE,
    last_flights,
    per_flight_engine,
    per_flight_minutes,
)
from register.entry.clerk import Clerk, Plan, Stamp, Written
from register.entry.drafting import Draft, count_words, join_names
from register.entry.open_before import warn_before_flight
from register.entry.order_within_day import say_unordered_moves
from register.entry.running import engines_of
from register.entry.subjects import find_aircraft, find_counter, find_part
from register.entry.unlikely_flights import warn_unlikely_flights
from register.records.bodies import Flights
from register.records.events import Event
from register.records.values import MINUTE_COUNTERS, format_amount
from register.text.nodes import Plain
from register.trouble import RegisterError

NO_PACK = ("none", "-", "no")
UNKNOWN = "?"


class FlightWords(Struct, frozen=True):
    """A flights entry as typed; None is what was not said."""

    count: str | int | None = None
    minutes: str | None = None
    each: str | None = None
    engine_minutes: str | None = None
    packs: Sequence[str] = ()
    landings: int | None = None
    tows: int | None = None
    counters: Sequence[str] = ()


class _Minutes(Struct, frozen=True):
    total: Decimal | None
    each: tuple[Decimal, ...]
    carried: str | None = None


def plan_fly(clerk: Clerk, aircraft: str, words: FlightWords, stamp: Stamp) -> Plan:
    """One entry of flights of one aircraft.

    Raises RegisterError (USAGE) on unknown names and impossible amounts. What is only
    unlikely (not in service, a check open, a rejected pack) is recorded and warned of.
    """
    draft = Draft(clerk, stamp)
    name = find_aircraft(clerk, aircraft)
    _, count = draft_flights(draft, name, words)
    return draft.plan(f"Log {count_words(count, 'flight')} of {name}")


def draft_flights(draft: Draft, name: str, words: FlightWords) -> tuple[Written, int]:
    """Add the entry to a draft, and what is said of it; the record and its number of flights."""
    clerk = draft.clerk
    before = last_flights(clerk, name, draft.when.day)
    each = read_each(words.each) if words.each is not None else ()
    count = _read_flight_count(words, each)
    minutes = _read_minutes(words, each, count, before)
    engine = _read_engine(clerk, name, words, count, before)
    uses, uses_carried = _read_packs(draft, name, words.packs, before)
    body: dict[str, Plain] = {"aircraft": clerk.ref(("aircraft", name)), "count": count}
    if minutes.each:
        body["each"] = list(minutes.each)
    elif minutes.total is not None:
        body["minutes"] = minutes.total
    body["engine_minutes"] = engine.total
    body.update(_read_counts(clerk, words))
    if uses is not None:
        body["uses"] = [clerk.ref(("part", part)) for part in uses]
    written = _write(draft, name, body, minutes.carried, engine.carried)
    draft.say(_say_flights(draft, name, count, minutes, engine, uses))
    say_unordered_moves(draft, name, written.id)
    _say_carried(draft, written, minutes, uses if uses_carried else None)
    _say_engine(draft, name, written, engine, count)
    draft.touch(("aircraft", name), *(("part", part) for part in uses or ()))
    warn_unlikely_flights(draft, name, written, count, minutes.total, minutes.each)
    warn_before_flight(draft, name, uses or ())
    return written, count


def _write(
    draft: Draft, name: str, body: dict[str, Plain], minutes: str | None, engine: str | None
) -> Written:
    """An entry whose minutes were not typed says so for good, in its source and note."""
    marks = [
        f"{mark}: {carried}"
        for mark, carried in ((CARRIED, minutes), (CARRIED_ENGINE, engine))
        if carried
    ]
    if not marks:
        return draft.write(f"aircraft/{name}", "flights", body)
    kept = draft.stamp
    draft.stamp = replace(
        kept,
        source=kept.source or "estimated",
        note="; ".join([kept.note, *marks] if kept.note else marks),
    )
    written = draft.write(f"aircraft/{name}", "flights", body)
    draft.stamp = kept
    return written


def _read_flight_count(words: FlightWords, each: tuple[Decimal, ...]) -> int:
    if words.count is None:
        return len(each) or 1
    count = read_count(words.count, what="flights")
    if each and len(each) != count:
        raise RegisterError(
            f"{len(each)} values for {count_words(count, 'flight')}",
            mend=f"give {count} values in --each, or leave the count out",
            code="each-count",
        )
    return count


def _read_minutes(
    words: FlightWords, each: tuple[Decimal, ...], count: int, before: Event | None
) -> _Minutes:
    if each:
        if words.minutes is not None:
            raise RegisterError(
                "--minutes and --each say the same thing twice",
                mend="give one of the two",
                code="minutes-twice",
            )
        return _Minutes(sum(each, Decimal(0)), each)
    if words.minutes is not None:
        if words.minutes.strip() == UNKNOWN:
            return _Minutes(None, ())
        total = read_minutes(words.minutes, most=DAY_MINUTES * count)
        return _Minutes(total, ())
    per_flight = per_flight_minutes(before)
    if per_flight is None:
        return _Minutes(None, ())
    return _Minutes(per_flight * count, (), f"{format_amount(per_flight)} each")


def _read_engine(
    clerk: Clerk, name: str, words: FlightWords, count: int, before: Event | None
) -> _Minutes:
    """Engine minutes typed; else, where no allowance stands for them, as in the last entry."""
    if words.engine_minutes is not None:
        if words.engine_minutes.strip() == UNKNOWN:
            return _Minutes(None, ())
        total = read_minutes(words.engine_minutes, what="engine-minutes", most=DAY_MINUTES)
        return _Minutes(total, ())
    per_flight = per_flight_engine(before)
    if per_flight is None or has_allowance(clerk, name):
        return _Minutes(None, ())
    return _Minutes(per_flight * count, (), f"{format_amount(per_flight)} each")


def has_allowance(clerk: Clerk, aircraft: str) -> bool:
    """Whether engine minutes follow from the flights of this aircraft."""
    return "engine-minutes" in clerk.ledger.per_flight(aircraft)


def last_packs(clerk: Clerk, aircraft: str, before: Event | None) -> tuple[str, ...] | None:
    """Packs named by the last entry that still belong with the aircraft; None if it named none."""
    if before is None or not isinstance(before.body, Flights) or before.body.uses is None:
        return None
    names = [clerk.ledger.names.part_name(ref) for ref in before.body.uses]
    here = clerk.ledger.places.assigned_parts(aircraft)
    if any(name is None or name not in here for name in names):
        return None
    return tuple(dict.fromkeys(name for name in names if name is not None))


def _read_packs(
    draft: Draft, aircraft: str, packs: Sequence[str], before: Event | None
) -> tuple[tuple[str, ...] | None, bool]:
    clerk = draft.clerk
    typed = [item for pack in packs for item in pack.replace(",", " ").split()]
    if not typed:
        kept = last_packs(clerk, aircraft, before)
        return kept, kept is not None
    if any(word.lower() in NO_PACK for word in typed):
        if len(typed) > 1:
            raise RegisterError(
                "--pack none stands alone", mend="--pack none  or  --pack NAME", code="pack-none"
            )
        return (), False
    names = tuple(dict.fromkeys(find_part(clerk, word) for word in typed))
    for name in names:
        if clerk.ledger.records.parts[name].use != "assigned":
            draft.warn(
                f"{name} counts through the aircraft it is installed in; naming it adds nothing"
            )
    return names, False


def _read_counts(clerk: Clerk, words: FlightWords) -> dict[str, Plain]:
    found: dict[str, Plain] = {}
    for key, stated in (("landings", words.landings), ("tows", words.tows)):
        if stated is not None:
            found[key] = read_count(stated, what=key, least=0)
    more: dict[str, Plain] = {}
    for text in words.counters:
        name, equals, value = text.partition("=")
        if not equals:
            raise RegisterError(
                f"--counter {text[:40]!r} has no value",
                mend="--counter gear-cycles=4",
                code="usage",
            )
        counter = find_counter(clerk, name)
        key = counter.replace("-", "_")
        if counter in ("gear-cycles", "engine-starts", "landings", "tows"):
            found[key] = read_count(value, what=counter, least=0)
        elif counter in MINUTE_COUNTERS or counter in ("flights", "charges"):
            raise RegisterError(
                f"{counter} is not given with --counter",
                mend="--minutes, --engine-minutes, the number of flights, or tailsheaf charge",
                code="usage",
            )
        else:
            more[counter] = read_count(value, what=counter, least=0)
    if more:
        found["counters"] = more
    return found


def _say_flights(
    draft: Draft,
    name: str,
    count: int,
    minutes: _Minutes,
    engine: _Minutes,
    uses: tuple[str, ...] | None,
) -> str:
    words = f"{count_words(count, 'flight')} of {name} on {draft.when.day.isoformat()}"
    if minutes.each:
        listed = "+".join(format_amount(value) for value in minutes.each)
        words += f", {listed} min"
    elif minutes.total is not None:
        words += f", {format_amount(minutes.total)} min"
    if engine.total is not None:
        words += f", engine {format_amount(engine.total)} min"
    if uses is not None:
        words += (
            f", {'packs' if len(uses) > 1 else 'pack'} {join_names(uses)}" if uses else ", no pack"
        )
    return words


def _say_carried(
    draft: Draft, written: Written, minutes: _Minutes, uses: tuple[str, ...] | None
) -> None:
    short = draft.clerk.short(written.id)
    if minutes.carried:
        draft.say(
            f"minutes taken from the last entry: {minutes.carried}; "
            f"to mend: tailsheaf amend {short} minutes=…"
        )
    elif minutes.total is None:
        draft.say(f"minutes not known; to add them: tailsheaf amend {short} minutes=…")
    if uses:
        draft.say(
            f"pack taken from the last entry: {join_names(uses)}; "
            f"to mend: tailsheaf amend {short} uses=…"
        )


def _say_engine(draft: Draft, name: str, written: Written, engine: _Minutes, count: int) -> None:
    """Where engine minutes came from; or, with an engine and no figure, how to give them."""
    short = draft.clerk.short(written.id)
    if engine.carried:
        draft.say(
            f"engine minutes taken from the last entry: {engine.carried}; "
            f"to mend: tailsheaf amend {short} engine_minutes=…"
        )
    elif (
        engine.total is None
        and engines_of(draft.clerk, name)
        and not has_allowance(draft.clerk, name)
    ):
        draft.say(
            "engine minutes not given, so the engine's counter reads at least: "
            f"tailsheaf amend {short} engine_minutes=… , or once for all: "
            f"tailsheaf aircraft {name} --per-flight engine-minutes=9"
        )
