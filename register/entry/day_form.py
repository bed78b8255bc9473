"""A whole flying day in one entry: answers in the order of the pocket card, one change."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.entry.amounts import DAY_MINUTES, read_count, read_each, read_minutes
from register.entry.carried import last_flights, per_flight_engine, per_flight_minutes
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.day_checks import CheckLine, day_aims
from register.entry.dones import record_list, say_done, write_done
from register.entry.drafting import Draft, count_words, join_names
from register.entry.flights import UNKNOWN, FlightWords, draft_flights, last_packs
from register.entry.measures import Taken, read_taken
from register.entry.part_moves import draft_swap
from register.entry.running import engines_of
from register.entry.snags import SnagWords, draft_snag
from register.entry.subjects import current_spell, find_part
from register.entry.task_names import Aim, find_aim, find_task, tasks_of
from register.ledger.counters import Subject
from register.records.bodies import Flights
from register.records.values import format_amount
from register.tasks.items import view_items
from register.trouble import RegisterError

#: One letter at the end of a snag line rates it.
LETTERS = {
    "g": "grounding",
    "l": "limiting",
    "d": "deferrable",
    "m": "monitor",
    "c": "cosmetic",
}
_EACH = re.compile(r"(.+?) ?(?:each|e)")


class SwapLine(Struct, frozen=True):
    """One part for another; after the n-th flight of the day, 0 before the first, None unknown."""

    old: str
    new: str
    after: int | None


class DoneLine(Struct, frozen=True):
    """A task of the card's first lines, done before flying."""

    aim: Aim
    taken: tuple[Taken, ...]
    fail: bool


class AircraftDay(Struct, frozen=True):
    """What one aircraft did that day, as answered."""

    aircraft: str
    flights: FlightWords
    swaps: tuple[SwapLine, ...] = ()
    snags: tuple[SnagWords, ...] = ()
    checks: CheckLine | None = None
    dones: tuple[DoneLine, ...] = ()
    each_flight: CheckLine | None = None


class Offered(Struct, frozen=True):
    """What stands in brackets: taken from the last entry of the aircraft."""

    count: int
    minutes: Decimal | None
    packs: tuple[str, ...] | None
    allowance: Decimal | None
    engine: Decimal | None
    has_engine: bool
    has_packs: bool
    checks: tuple[str, ...]
    flown: int
    due: tuple[str, ...]


def offer_answers(clerk: Clerk, aircraft: str, day: date) -> Offered:
    """The answers that Enter gives for an aircraft on a day."""
    ledger = clerk.ledger
    before = last_flights(clerk, aircraft, day)
    body = before.body if before is not None else None
    allowance = ledger.per_flight(aircraft).get("engine-minutes")
    return Offered(
        body.count if isinstance(body, Flights) else 1,
        per_flight_minutes(before),
        last_packs(clerk, aircraft, before),
        allowance.amount if allowance is not None else None,
        per_flight_engine(before),
        bool(engines_of(clerk, aircraft)),
        any(part.use == "assigned" for part in ledger.records.parts.values()),
        tuple(dict.fromkeys(aim.task.id for aim in day_aims(clerk, aircraft))),
        sum(
            event.body.count
            for event in ledger.flights(aircraft)
            if event.moment.day == day and isinstance(event.body, Flights)
        ),
        _due_names(clerk, aircraft, day),
    )


def read_minutes_answer(text: str, count: int) -> tuple[str | None, str | None]:
    """Minutes and each as FlightWords take them: "24" in all, "7 8 6", "8 each", "?"."""
    word = text.strip()
    if not word:
        return None, None
    if word == UNKNOWN:
        return UNKNOWN, None
    if not any(sign.isdigit() for sign in word):
        raise RegisterError(
            f"{word[:40]!r} is no number of minutes",
            mend="24 in all, or 8 7 9 one by one; ? where they are not known",
            code="amount-wrong",
        )
    found = _EACH.fullmatch(word)
    if found:
        value = read_minutes(found[1])
        return None, ",".join([format_amount(value)] * count)
    items = re.split(r"[,\s]+", word)
    if len(items) > 1 and all(re.fullmatch(r"[\d.:]+m?", item) for item in items):
        each = read_each(word)
        if len(each) != count:
            raise RegisterError(
                f"{len(each)} values for {count_words(count, 'flight')}",
                mend=f"give {count}, or one total",
                code="each-count",
            )
        return None, ",".join(format_amount(value) for value in each)
    return format_amount(read_minutes(word, most=DAY_MINUTES * count)), None


def read_engine_answer(text: str, count: int) -> str | None:
    """Engine minutes in all: "27", or flight by flight "8 9 7"; "?" is not known."""
    minutes, each = read_minutes_answer(text, count)
    if each is None:
        return minutes
    return format_amount(sum(read_each(each), Decimal(0)))


def _due_names(clerk: Clerk, aircraft: str, day: date) -> tuple[str, ...]:
    """Tasks that the card of that day lists as due."""
    found = [
        item.task.id
        for item in view_items(clerk.ledger.at(day), day, aircraft)
        if item.state in ("overdue", "due", "in-window") and not item.is_day_check
    ]
    return tuple(dict.fromkeys(found))


def parse_done(clerk: Clerk, aircraft: str, text: str) -> DoneLine:
    """`TASK [PART] [VALUE…] [fail]`: surface-play 0.8mm."""
    words = text.split()
    where: Subject = ("aircraft", aircraft)
    tasks = tasks_of(clerk, where)
    task = find_task(clerk, words[0], tasks, aircraft)
    rest = words[1:]
    if rest and rest[0].lower() in clerk.ledger.records.parts:
        where = ("part", rest.pop(0).lower())
    fail = bool(rest) and rest[-1].lower() == "fail"
    aim = find_aim(clerk, task, where, None)
    taken = read_taken(clerk.ledger, task, aim.subject, rest[:-1] if fail else rest)
    return DoneLine(aim, taken, fail)


def parse_swap(clerk: Clerk, aircraft: str, text: str, count: int) -> SwapLine:
    """`OLD NEW [N]` or `N OLD NEW`: N flights were flown before it."""
    words = [word for word in text.replace(",", " ").split() if word.lower() != "after"]
    if len(words) == 3 and words[0].isdigit() and not words[2].isdigit():
        # In the order of the card: after flight, off, on.
        words = [*words[1:], words[0]]
    if len(words) not in (2, 3):
        raise RegisterError(
            f"{text[:40]!r} is not a swap",
            mend="old part, new part, and after which flight: sv-22 sv-31 2",
            code="swap-wrong",
        )
    old, new = find_part(clerk, words[0]), find_part(clerk, words[1])
    after = read_count(words[2], what="after flight", least=0, most=count) if words[2:] else None
    spell = current_spell(clerk, old)
    if spell is None or spell.aircraft != aircraft:
        where = spell.aircraft or spell.into if spell is not None else "no aircraft"
        raise RegisterError(
            f"{old} is recorded in {where}, not in {aircraft}",
            mend="name the part that was in it",
            code="swap-not-there",
        )
    return SwapLine(old, new, after)


def parse_snag(text: str) -> SnagWords:
    """Words, with a letter at the end that rates it and @position anywhere."""
    words = text.split()
    position = next((word[1:] for word in words if len(word) > 1 and word.startswith("@")), None)
    words = [word for word in words if not (len(word) > 1 and word.startswith("@"))]
    severity = None
    if len(words) > 1 and words[-1].lower() in LETTERS:
        severity = LETTERS[words.pop().lower()]
    if not words:
        raise RegisterError("what was found?", mend="chip on left wing c", code="words-none")
    return SnagWords(words, severity, position)


def plan_day(clerk: Clerk, entries: Sequence[AircraftDay], stamp: Stamp) -> Plan:
    """Everything of a day as one change. Entries come from paper unless said otherwise."""
    draft = Draft(clerk, stamp if stamp.source else replace(stamp, source="from-paper"))
    names = []
    for entry in entries:
        said, warned = len(draft.says), len(draft.warnings)
        count = _draft_aircraft(draft, entry)
        if len(entries) > 1:
            draft.says[said:] = _named(entry.aircraft, draft.says[said:])
            draft.warnings[warned:] = _named(entry.aircraft, draft.warnings[warned:])
        names.append(f"{entry.aircraft} {count}")
    return draft.plan(f"Log the flying day {draft.when.day.isoformat()}: {join_names(names)}")


def _named(aircraft: str, texts: list[str]) -> list[str]:
    """Lines that name their aircraft: of several, it is not plain whose a line is."""
    whose = re.compile(rf"(?<![\w-]){re.escape(aircraft)}(?![\w-])")
    return [text if whose.search(text) else f"{aircraft}: {text}" for text in texts]


def _draft_aircraft(draft: Draft, entry: AircraftDay) -> int:
    """One aircraft: what came before its flights, in that order, the flights, what followed."""
    where = ("aircraft", entry.aircraft)
    draft.chaining, draft.chain = True, None
    for line in entry.dones:
        _draft_done(draft, line)
    for name, checks in (("day", entry.checks), ("each flight", entry.each_flight)):
        if checks is not None:
            record_list(draft, name, where, list(checks.aims), checks.given)
    for swap in entry.swaps:
        if swap.after == 0:
            draft_swap(draft, swap.old, swap.new, ordered=True)
    written, count = draft_flights(draft, entry.aircraft, entry.flights)
    draft.chaining, draft.chain = False, None
    for swap in entry.swaps:
        if swap.after:
            draft_swap(draft, swap.old, swap.new, after=f"{written.id}:{swap.after}")
        elif swap.after is None:
            draft_swap(draft, swap.old, swap.new)
    for snag in entry.snags:
        draft_snag(draft, where, snag)
    return count


def _draft_done(draft: Draft, line: DoneLine) -> None:
    _, result = write_done(draft, line.aim, line.taken, fail=line.fail)
    draft.say(say_done(draft, line.aim, line.taken, result))
