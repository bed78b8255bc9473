"""Charges, and engine runs off the air."""

from __future__ import annotations

from collections.abc import Sequence

from register.entry.amounts import read_count, read_minutes
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, count_words, join_names, with_article
from register.entry.subjects import find_part
from register.findings.conditions import view_condition
from register.records.kinds import ENGINE_KINDS
from register.records.values import format_amount
from register.text.nodes import Plain
from register.trouble import RegisterError


def plan_charge(clerk: Clerk, parts: Sequence[str], count: str | int | None, stamp: Stamp) -> Plan:
    """Each part named was charged `count` times. Takes the time now unless told otherwise."""
    draft = Draft(clerk, stamp, takes_time=True)
    typed = [item for part in parts for item in part.replace(",", " ").split()]
    names = tuple(dict.fromkeys(find_part(clerk, part) for part in typed))
    if not names:
        raise RegisterError("which pack?", mend="tailsheaf charge pk-04", code="usage")
    times = read_count(count, what="charges", most=50) if count is not None else 1
    refs: list[Plain] = [clerk.ref(("part", name)) for name in names]
    draft.write(f"parts/{names[0]}", "charge", {"parts": refs, "count": times})
    draft.touch(*(("part", name) for name in names))
    for name in names:
        if not clerk.ledger.counters.gains(("part", name), "charges"):
            kind = clerk.ledger.records.parts[name].kind
            draft.warn(f"{name} is {with_article(kind)}, which counts no charges")
        state = view_condition(clerk.ledger, name)
        if not state.is_usable:
            draft.warn(f"{name} is recorded as {state.condition}")
    more = f", {count_words(times, 'time')}" if times > 1 else ""
    draft.say(f"{join_names(names)} charged{more}{draft.day}")
    return draft.plan(f"Charge {join_names(names)}{more}")


def plan_engine_run(
    clerk: Clerk, part: str, minutes: str, starts: str | int | None, stamp: Stamp
) -> Plan:
    """An engine ran on the ground or on the bench; its minutes add to those flown."""
    draft = Draft(clerk, stamp)
    name = _find_engine(clerk, part)
    ran = read_minutes(minutes)
    started = read_count(starts, what="starts", least=0, most=100) if starts is not None else None
    body: dict[str, Plain] = {
        "part": clerk.ref(("part", name)),
        "minutes": ran,
        "starts": started,
    }
    draft.write(f"parts/{name}", "engine-run", body)
    draft.touch(("part", name))
    kind = clerk.ledger.records.parts[name].kind
    if not clerk.ledger.counters.gains(("part", name), "engine-minutes"):
        draft.warn(f"{name} is {with_article(kind)}, which counts no engine minutes")
    more = f", {count_words(started, 'start')}" if started is not None else ""
    draft.say(f"{name} ran {format_amount(ran)} min{more}{draft.day}")
    return draft.plan(f"Record an engine run of {name}, {format_amount(ran)} min")


def _find_engine(clerk: Clerk, typed: str) -> str:
    """A part; or the one engine of an aircraft, since that is what a person thinks of."""
    word = typed.strip().lower()
    records = clerk.ledger.records
    if word in records.aircraft and word not in records.parts:
        engines = engines_of(clerk, word)
        if len(engines) == 1:
            return engines[0]
        raise RegisterError(
            f"{word} has {join_names(engines) or 'no engine'} recorded",
            mend="tailsheaf engine-run PART MINUTES   names the engine",
            code="engine-which",
        )
    return find_part(clerk, typed)


def engines_of(clerk: Clerk, aircraft: str) -> tuple[str, ...]:
    """Parts fitted to an aircraft that run."""
    ledger = clerk.ledger
    return tuple(
        spell.part
        for spell in ledger.places.fitted(aircraft)
        if ledger.records.parts[spell.part].kind in ENGINE_KINDS
    )
