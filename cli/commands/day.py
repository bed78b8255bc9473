"""day: type up a whole flying day, in the order of the pocket card."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from cli.asking import AnswersEnded, Asker
from cli.options import At, By, Note, Source, stamp_of
from cli.session import current_session

if TYPE_CHECKING:
    from datetime import date

    from register.entry.clerk import Clerk, Stamp
    from register.entry.day_form import AircraftDay, DoneLine, Offered

EXAMPLE = "Example: tailsheaf day --at sat"


def command(at: At = None, by: By = None, note: Note = None, source: Source = None) -> None:
    """Type up a flying day: short questions in the order of the pocket card, one entry for all."""
    from register.entry.day_form import plan_day

    session = current_session()
    clerk = session.clerk()
    asker = Asker(session)
    try:
        day = _ask_day(asker, clerk, at)
        stamp = replace(stamp_of(at, None, by, note, source), at=day.isoformat())
        entries = _ask_aircraft(asker, clerk, day, stamp)
        if not entries:
            asker.say("nothing to write")
            return
        plan = plan_day(session.clerk(), entries, stamp)
        asker.say("")
        for text in plan.says:
            asker.say(f"  {text}")
        for text in plan.warnings:
            asker.say(f"  note: {text}")
        if not asker.agrees("write it?", otherwise=True):
            asker.say("nothing was written")
            return
    except AnswersEnded:
        asker.say("nothing was written")
        return
    session.record(plan)


def _ask_day(asker: Asker, clerk: Clerk, at: str | None) -> date:
    from register.entry.dates import read_when

    zone = clerk.ledger.records.zone
    if at is not None:
        return read_when(at, clerk.now, zone).day
    today = clerk.today.isoformat()
    return asker.ask(
        f"day [{today}]:", lambda text: read_when(text or "today", clerk.now, zone).day
    )


def _ask_aircraft(asker: Asker, clerk: Clerk, day: date, stamp: Stamp) -> list[AircraftDay]:
    """One aircraft after another until an empty line."""
    from register.entry.day_form import plan_day
    from register.trouble import RegisterError

    entries: list[AircraftDay] = []
    names = ", ".join(sorted(clerk.ledger.records.aircraft)[:8])
    asker.say(f"which aircraft flew on {day.isoformat()}? ({names}; Enter to end)")
    taken: set[str] = set()
    while True:
        chosen = asker.ask("aircraft:", lambda text: _read_aircraft(clerk, text, taken))
        if chosen is None:
            return entries
        entry = _ask_one(asker, clerk, chosen[0], chosen[1], day)
        try:
            # Tried alone first, so that a wrong answer never costs the whole form.
            plan_day(clerk, [entry], stamp)
        except RegisterError as error:
            asker.refuse(error)
            continue
        entries.append(entry)
        taken.add(entry.aircraft)


def _read_aircraft(clerk: Clerk, text: str, taken: set[str]) -> tuple[str, str | None] | None:
    """`heron`, or `heron 3`; None for an empty line."""
    from register.entry.amounts import read_count
    from register.entry.subjects import find_aircraft
    from register.trouble import RegisterError

    words = text.split()
    if not words:
        return None
    name = find_aircraft(clerk, words[0])
    if name in taken:
        raise RegisterError(
            f"{name} is in this form already", mend="enter the next one, or Enter", code="usage"
        )
    count = str(read_count(words[1], what="flights")) if len(words) > 1 else None
    return name, count


def _ask_one(asker: Asker, clerk: Clerk, name: str, typed: str | None, day: date) -> AircraftDay:
    from register.entry.amounts import read_count
    from register.entry.day_form import (
        AircraftDay,
        offer_answers,
        parse_snag,
        parse_swap,
        read_minutes_answer,
    )
    from register.entry.flights import FlightWords

    offered = offer_answers(clerk, name, day)
    if offered.flown:
        asker.say(f"  {name} has {offered.flown} flights on that day already; these come on top")
    dones = _ask_dones(asker, clerk, name, offered)
    checked = bool(offered.checks) and asker.agrees(
        f"  first-of-day checks done ({', '.join(offered.checks)})?", otherwise=False
    )
    count = (
        int(typed)
        if typed
        else asker.ask(
            f"  flights [{offered.count}]:",
            lambda text: read_count(text or offered.count, what="flights"),
        )
    )
    minutes, each = asker.ask(
        f"  minutes, in all or one by one [{_each_words(offered)}]:",
        lambda text: read_minutes_answer(text, count),
    )
    engine = _ask_engine(asker, offered)
    packs = _ask_packs(asker, clerk, offered)
    swaps = asker.several(
        "  swap (after which flight, off, on; Enter: none):",
        lambda text: parse_swap(clerk, name, text, count),
    )
    snags = asker.several("  snag (words, last letter g l d m c; Enter: none):", parse_snag)
    flights = FlightWords(count, minutes, each, engine, packs)
    return AircraftDay(name, flights, swaps, snags, checked, dones)


def _ask_dones(asker: Asker, clerk: Clerk, name: str, offered: Offered) -> tuple[DoneLine, ...]:
    from register.entry.day_form import parse_done

    if not offered.due:
        return ()
    asker.say(f"  due: {', '.join(offered.due)}")
    return asker.several(
        "  done before flying (task value; Enter: none):",
        lambda text: parse_done(clerk, name, text),
    )


def _each_words(offered: Offered) -> str:
    from register.records.values import format_amount

    return "not known" if offered.minutes is None else f"{format_amount(offered.minutes)} each"


def _ask_engine(asker: Asker, offered: Offered) -> str | None:
    from register.entry.amounts import read_minutes
    from register.records.values import format_amount

    if not offered.has_engine:
        return None
    shown = "not known"
    if offered.allowance is not None:
        shown = f"{format_amount(offered.allowance)} a flight"

    def read(text: str) -> str | None:
        return format_amount(read_minutes(text, what="engine-minutes")) if text else None

    return asker.ask(f"  engine minutes in all [{shown}]:", read)


def _ask_packs(asker: Asker, clerk: Clerk, offered: Offered) -> tuple[str, ...]:
    from register.entry.flights import NO_PACK
    from register.entry.subjects import find_part

    if not offered.has_packs:
        return ()
    shown = " ".join(offered.packs or ()) or ("none" if offered.packs == () else "not named")

    def read(text: str) -> tuple[str, ...]:
        words = text.replace(",", " ").split()
        if len(words) == 1 and words[0].lower() in NO_PACK:
            return ("none",)
        return tuple(find_part(clerk, word) for word in words)

    return asker.ask(f"  packs [{shown}] (- for none):", read)
