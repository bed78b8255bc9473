"""Mending an earlier event: the old file stays, a new one says what is changed."""

from __future__ import annotations

import re
from collections.abc import Sequence

from msgspec.structs import replace

from register.entry.amended_values import find_key, read_plain_number, read_value
from register.entry.carried import CARRIED, CARRIED_ENGINE, is_carried, strip_carried
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft
from register.entry.event_words import subjects_about, tell_event
from register.ledger.settling import settle_events
from register.records.bodies import Amendment, Flights, Withdrawal
from register.records.events import Event, build_event
from register.storage.writing import FileChange
from register.text.nodes import Mapping, Node, Plain, Scalar
from register.text.nodes import Sequence as Items
from register.text.parsing import parse_text
from register.trouble import Exit, Problem, RegisterError

_REFS = ("aircraft", "part", "into", "subject", "uses", "parts")
_IDS = re.compile(r"\.[a-z0-9]+")
_FIXED = ("record", "id", "typed", "machine", "seq", "schema", "seen", "amends", "withdraws")


def plan_amend(clerk: Clerk, event: str, pairs: Sequence[str], stamp: Stamp) -> Plan:
    """Change fields of an event: KEY=VALUE, or KEY= to take the value out.

    What comes out is built and read as the records are; nonsense is refused (exit 2).
    An event that is withdrawn is refused (exit 4).
    """
    found = clerk.find_event(event)
    _refuse_unmendable(clerk, found)
    if stamp.at is not None and not pairs:
        raise RegisterError(
            "--at is the day of the mending; the day of the event is its key when",
            mend=f"tailsheaf amend {clerk.short(found.id)} when={_quote(stamp.at)}",
            code="usage",
        )
    draft = Draft(clerk, stamp)
    values = _read_pairs(clerk, found, pairs)
    _refuse_silent_lowering(clerk, found, values, stamp)
    earlier = clerk.ledger.settled.amendments.get(found.id, ())
    marker = f"none-{clerk.new_id()}"
    body: dict[str, Plain] = {
        "amends": found.id,
        "set": {key: marker if value is None else value for key, value in values.items()},
        "seen": [item.id for item in earlier],
    }
    folder = found.path.partition("/events/")[0]
    draft.write(folder, "amendment", body)
    # The canonical form leaves empty keys out; here the emptiness is the message.
    change = draft.changes[-1]
    text = change.after.decode().replace(f'"{marker}"', "null")
    draft.changes[-1] = replace(change, after=text.encode())
    after = _check_amended(clerk, found, earlier, draft.changes[-1])
    draft.touch(*subjects_about(clerk, found), *clerk.ledger.subjects_of(after))
    short = clerk.short(found.id)
    draft.say(f"{short} ({tell_event(clerk, found)}): {_tell_changes(found, after, values)}")
    _warn_anchors(draft, found, after)
    return draft.plan(f"Amend {tell_event(clerk, found)}: {', '.join(values)}")


def _refuse_silent_lowering(
    clerk: Clerk, event: Event, values: dict[str, Plain], stamp: Stamp
) -> None:
    """A grounding rating is lowered only with its reason, whichever command does it."""
    before = getattr(event.body, "severity", None)
    after = values.get("severity", before)
    if before == "grounding" and after != before and not stamp.note:
        raise RegisterError(
            "a grounding rating is lowered only with its reason",
            mend=f"tailsheaf amend {clerk.short(event.id)} severity={after} "
            '--note "why the rating was wrong"',
            code="lowering-unexplained",
        )


def _quote(text: str) -> str:
    return f'"{text}"' if " " in text else text


def _refuse_unmendable(clerk: Clerk, event: Event) -> None:
    short = clerk.short(event.id)
    if event.id in clerk.ledger.settled.withdrawn:
        by = clerk.ledger.settled.withdrawn[event.id]
        raise RegisterError(
            f"{short} is withdrawn ({by.moment.day.isoformat()}); mending it would change nothing",
            mend=f"tailsheaf withdraw {clerk.short(by.id)}   counts it again",
            exit_code=Exit.REFUSED,
            code="event-withdrawn",
        )
    body = event.body
    if isinstance(body, Amendment):
        raise RegisterError(
            f"{short} is itself an amendment",
            mend=f"tailsheaf amend {clerk.short(body.amends)} KEY=VALUE   or withdraw {short}",
            code="amend-amendment",
        )
    if isinstance(body, Withdrawal):
        raise RegisterError(
            f"{short} is a withdrawal",
            mend=f"tailsheaf withdraw {short}   takes it back",
            code="amend-withdrawal",
        )


def _read_pairs(clerk: Clerk, event: Event, pairs: Sequence[str]) -> dict[str, Plain]:
    if not pairs:
        raise RegisterError(
            "nothing to change was given",
            mend=f'tailsheaf amend {clerk.short(event.id)} KEY=VALUE, for example note="…"',
            code="usage",
        )
    values: dict[str, Plain] = {}
    for pair in pairs:
        word, equals, text = pair.partition("=")
        key = word.strip().lower().replace("-", "_")
        if not equals or not key:
            raise RegisterError(
                f"{pair[:40]!r} is not KEY=VALUE",
                mend=f"tailsheaf amend {clerk.short(event.id)} minutes=21",
                code="usage",
            )
        if key in _FIXED:
            raise RegisterError(
                f"{key} of a record never changes",
                mend=f"tailsheaf withdraw {clerk.short(event.id)}   and enter it anew",
                code="amend-fixed",
            )
        head, dot, counter = key.partition(".")
        if dot and head == "counters":
            values["counters"] = _counters_with(event, values, counter, text)
            continue
        key = find_key(event, key)
        if key in values:
            raise RegisterError(f"{key} is given twice", mend="give it once", code="usage")
        values[key] = read_value(clerk, event, key, text) if text.strip() else None
    return _complete(event, values)


def _counters_with(event: Event, values: dict[str, Plain], counter: str, text: str) -> Plain:
    """The mapping of further counters with one changed."""
    held = values.get("counters")
    kept: dict[str, Plain] = dict(held) if isinstance(held, dict) else {}
    node = event.node.get("counters")
    if not kept and isinstance(node, Mapping):
        kept = {
            entry.key: read_plain_number(entry.key, entry.value.text)
            for entry in node.entries
            if isinstance(entry.value, Scalar)
        }
    kept[counter.replace("_", "-")] = read_plain_number(counter, text) if text.strip() else None
    return kept


def _complete(event: Event, values: dict[str, Plain]) -> dict[str, Plain]:
    """What follows from a change: a list of minutes gives the count; given minutes are no guess."""
    if not isinstance(event.body, Flights):
        return values
    each = values.get("each")
    if isinstance(each, list) and each and "count" not in values:
        values["count"] = len(each)
    if values.get("minutes") is not None and event.body.each and "each" not in values:
        # One total given anew replaces the list, which would otherwise go on counting.
        values["each"] = None
    marks = [CARRIED] if "minutes" in values or "each" in values else []
    if "engine_minutes" in values:
        marks.append(CARRIED_ENGINE)
    left = strip_carried(event.note, *marks)
    if left != event.note and "note" not in values:
        values["note"] = left
    if left != event.note and not is_carried(left) and event.source == "estimated":
        values.setdefault("source", "later")
    return values


def _check_amended(
    clerk: Clerk, event: Event, earlier: Sequence[Event], change: FileChange
) -> Event:
    """The event as it will be. Raises RegisterError (USAGE) where it would be worse than before."""
    zone = clerk.ledger.records.zone
    parsed = parse_text(change.path, change.after)
    built = build_event(change.path, parsed.node, zone)[0] if parsed.node is not None else None
    if built is None:
        raise RegisterError(
            "these values cannot be written down", mend="tailsheaf amend --help", code="amend-wrong"
        )
    original = clerk.ledger.settled.originals[event.id]
    before = settle_events([original, *earlier], zone)
    after = settle_events([original, *earlier, built], zone)
    known = {(problem.code, problem.says) for problem in before.problems}
    worse = [
        problem
        for problem in after.problems
        if (problem.code, problem.says) not in known and _matters(problem)
    ]
    if worse:
        first = worse[0]
        raise RegisterError(
            f"{clerk.short(event.id)}: {first.says}", mend=first.mend, code=first.code
        )
    return next(item for item in after.events if item.id == event.id)


def _matters(problem: Problem) -> bool:
    return problem.level == "error" or problem.code == "key-unknown"


def _tell_changes(before: Event, after: Event, values: dict[str, Plain]) -> str:
    told = []
    for key in values:
        old, new = _tell(before.node.get(key)), _tell(after.node.get(key))
        if key == "place":
            old, new = (_tell_place(event.node.get(key)) for event in (before, after))
        if key in _REFS:
            old, new = _IDS.sub("", old), _IDS.sub("", new)
        told.append(f"{key} {old} -> {new}")
    return ", ".join(told)


def _tell(node: Node | None) -> str:
    if node is None:
        return "none"
    if isinstance(node, Scalar):
        return "none" if node.plain and node.text == "null" else node.text
    if isinstance(node, Items):
        return "+".join(_tell(item) for item in node.items) or "none"
    return " ".join(f"{entry.key} {_tell(entry.value)}" for entry in node.entries) or "none"


def _tell_place(node: Node | None) -> str:
    """A place of damage as it is typed: 120 from front, 34 from bottom."""
    if not isinstance(node, Mapping):
        return _tell(node)
    from register.workshop.spots import tell_measure

    told = [
        tell_measure(_tell(node.get(key)), _tell(node.get(f"{key}_from")))
        for key in ("along", "across")
        if node.get(key) is not None
    ]
    return ", ".join(told).replace(" from none", "") or "none"


def _warn_anchors(draft: Draft, before: Event, after: Event) -> None:
    """A day that changed leaves what was ordered by it without an order."""
    if before.moment.day == after.moment.day:
        return
    if after.after is not None:
        draft.warn("it no longer follows the event it named, which is of another day")
    hanging = [
        draft.clerk.short(event.id)
        for event in draft.clerk.ledger.events
        if event.after is not None and before.id.startswith(event.after.event)
    ]
    if hanging:
        draft.warn(f"{', '.join(hanging)} followed it and now has no order within its day")
