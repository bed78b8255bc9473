"""Readings outside any task, and what a meter shows."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from register.entry.amounts import read_minutes, read_number
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words, join_names
from register.entry.measures import check_sign, parse_measured
from register.entry.running import engines_of
from register.entry.subjects import find_counter, find_subject, folder_of
from register.ledger.counters import Subject
from register.records.bodies import MeterReading
from register.records.values import MINUTE_COUNTERS, format_amount
from register.text.nodes import Plain
from register.trouble import RegisterError


def plan_reading(clerk: Clerk, subject: str, readings: Sequence[str], stamp: Stamp) -> Plan:
    """Measurements of an aircraft or part: NAME=VALUE[UNIT], one record each, one commit."""
    draft = Draft(clerk, stamp)
    where = find_subject(clerk, subject)
    if not readings:
        raise RegisterError(
            "what was measured?",
            mend=f"tailsheaf reading {where[1]} weight=11.4kg",
            code="usage",
        )
    said = []
    for text in readings:
        measured = parse_measured(text, None)
        check_sign(measured)
        check_words(measured.name, "name of the reading")
        body: dict[str, Plain] = {
            "subject": clerk.ref(where),
            "name": measured.name,
            "value": measured.value,
            "unit": measured.unit or None,
        }
        draft.write(folder_of(clerk, where), "reading", body)
        value = format_amount(measured.value) if measured.value is not None else "?"
        said.append(f"{measured.name} {value}{' ' if measured.unit else ''}{measured.unit}")
    draft.touch(where)
    draft.say(f"{where[1]}{draft.day}: {', '.join(said)}")
    return draft.plan(f"Record a reading of {where[1]}: {', '.join(said)}")


def plan_meter(clerk: Clerk, part: str, text: str, stamp: Stamp, *, replaced: bool = False) -> Plan:
    """What a meter shows: COUNTER=VALUE. It fills gaps since its last reading, and never
    overrules the events; `replaced` begins anew with another meter.
    """
    draft = Draft(clerk, stamp)
    name = _find_metered(clerk, find_subject(clerk, part))
    word, equals, value = text.partition("=")
    if not equals:
        raise RegisterError(
            f"--meter {text[:40]!r} has no value",
            mend=f"tailsheaf reading {name} --meter engine-minutes=1530",
            code="usage",
        )
    counter = find_counter(clerk, word)
    if counter in MINUTE_COUNTERS:
        shown = read_minutes(value, what=counter, most=None)
    else:
        shown = read_number(value, what=counter)
        if shown < 0:
            raise RegisterError(
                f"{counter}: {value} is negative", mend="give what it shows", code="amount-wrong"
            )
    body: dict[str, Plain] = {
        "part": clerk.ref(("part", name)),
        "counter": counter,
        "value": shown,
        "replaced": True if replaced else None,
    }
    earlier = _last_meter(clerk, name, counter)
    draft.write(folder_of(clerk, ("part", name)), "meter-reading", body)
    draft.touch(("part", name))
    draft.say(f"the meter of {name} shows {format_amount(shown)} {counter.replace('-', ' ')}")
    if replaced:
        draft.say("it is another meter: counting from it begins here")
    elif earlier is not None and shown < earlier:
        draft.warn(
            f"it showed {format_amount(earlier)} before; if the meter was replaced, say --new-meter"
        )
    return draft.plan(f"Read the meter of {name}: {format_amount(shown)} {counter}")


def _find_metered(clerk: Clerk, where: Subject) -> str:
    kind, name = where
    if kind == "part":
        return name
    engines = engines_of(clerk, name)
    if len(engines) == 1:
        return engines[0]
    raise RegisterError(
        f"a meter belongs to a part; {name} has {join_names(engines) or 'no engine'} recorded",
        mend="tailsheaf reading PART --meter engine-minutes=1530",
        code="meter-whose",
    )


def _last_meter(clerk: Clerk, part: str, counter: str) -> Decimal | None:
    """What the meter showed last."""
    for event in reversed(clerk.ledger.about(("part", part))):
        body = event.body
        if isinstance(body, MeterReading) and body.counter == counter:
            return body.value
    return None
