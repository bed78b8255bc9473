"""How each kind of event is read from its fields.

To add a kind: a body class in bodies.py, a `_read_` function here, one row in `READERS`.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from register.records.bodies import (
    CONDITIONS,
    FOUND,
    SEVERITIES,
    STAGES,
    Amendment,
    Body,
    Charge,
    Condition,
    Deferral,
    EngineRun,
    Fix,
    Flights,
    Incident,
    Install,
    Layup,
    MeterReading,
    Other,
    Reading,
    Remove,
    Severity,
    Snag,
    Stage,
    TaskDone,
    Withdrawal,
)
from register.records.fields import Fields
from register.records.scalars import read_amount
from register.records.values import counter_name
from register.records.workshop_bodies import MENDINGS, RESTS
from register.records.workshop_readers import (
    WORKSHOP_READERS,
    read_cure_wanted,
    read_draws,
    read_measured,
    read_spot,
)
from register.text.nodes import Scalar


def _read_flights(fields: Fields) -> Flights:
    each = _read_each(fields)
    minutes = fields.amount("minutes")
    count = fields.count("count", least=1)
    if count is None:
        count = len(each) or 1
        if not fields.has("count") and not each:
            fields.missing("count", "1")
    if each and count != len(each):
        fields.report(
            fields.place("each"),
            "each-count",
            f"each: {len(each)} values for {count} flights",
            f"give {count} values, or write  count: {len(each)}",
        )
        each = ()
    if each:
        minutes = sum(each, Decimal(0))
    gained = []
    for key, counter in (
        ("landings", "landings"),
        ("gear_cycles", "gear-cycles"),
        ("engine_starts", "engine-starts"),
        ("tows", "tows"),
    ):
        value = fields.count(key)
        if value is not None:
            gained.append((counter, Decimal(value)))
    more = fields.mapping("counters")
    if more is not None:
        for entry in more.node.entries:
            value_here = more.amount(entry.key)
            if value_here is not None:
                gained.append((counter_name(entry.key), value_here))
    return Flights(
        fields.ref("aircraft", required=True),
        count,
        minutes,
        each,
        fields.count("landings"),
        fields.amount("engine_minutes"),
        tuple(gained),
        fields.refs("uses") if fields.has("uses") else None,
    )


def _read_each(fields: Fields) -> tuple[Decimal, ...]:
    found = []
    for item in fields.items("each"):
        if isinstance(item, Scalar):
            value = read_amount(fields, "each", item)
            found.append(Decimal(0) if value is None else value)
        else:
            fields.report(
                item.place,
                "value-shape",
                "each: a list of minutes is wanted",
                "write  each: [7, 8, 6]",
            )
    return tuple(found)


def _read_engine_run(fields: Fields) -> EngineRun:
    return EngineRun(
        fields.ref("part", required=True), fields.amount("minutes"), fields.count("starts")
    )


def _read_charge(fields: Fields) -> Charge:
    parts = fields.refs("parts") or fields.refs("part")
    if not parts:
        fields.missing("parts", '["pack"]')
    return Charge(parts, fields.count("count", least=1) or 1)


def _read_meter(fields: Fields) -> MeterReading:
    return MeterReading(
        fields.ref("part", required=True),
        counter_name(fields.text("counter", required='"engine-minutes"') or ""),
        fields.amount("value"),
        fields.flag("replaced"),
    )


def _read_task_done(fields: Fields) -> TaskDone:
    return TaskDone(
        (fields.text("task", required='"task-name"') or "").strip().lower(),
        fields.ref("subject", required=True),
        fields.text("position"),
        fields.choice("result", ("pass", "fail", "recorded"), "pass") or "pass",
        tuple(read_measured(item) for item in fields.mappings("readings")),
    )


def _read_reading(fields: Fields) -> Reading:
    return Reading(
        fields.ref("subject", required=True),
        read_measured(fields),
        fields.event_id("snag"),
        fields.amount("temperature", negative=True),
        fields.amount("ambient"),
        fields.flag("begins"),
    )


def _read_snag(fields: Fields) -> Snag:
    aircraft, part = fields.ref("aircraft"), fields.ref("part")
    if aircraft is None and part is None and not fields.has("aircraft") and not fields.has("part"):
        fields.missing("aircraft", '"name"')
    return Snag(
        aircraft,
        part,
        fields.text("position"),
        fields.text("text", required='"what was found"') or "",
        fields.choice("severity", SEVERITIES, "not-yet-rated") or "not-yet-rated",
        fields.choice("found", FOUND, None),
        fields.text("zone"),
        fields.text("system"),
        fields.text("joint"),
        fields.count("broken", least=1),
        fields.choice("rest", RESTS, None),
        read_spot(fields),
        fields.amount("size"),
        fields.text("finish"),
        fields.text("mode"),
        fields.text("mechanism"),
        fields.text("circumstance"),
        read_cure_wanted(fields),
    )


def _read_severity(fields: Fields) -> Severity:
    return Severity(
        fields.event_id("snag", required=True) or "",
        fields.choice("severity", SEVERITIES, "not-yet-rated") or "not-yet-rated",
        fields.event_ids("seen"),
    )


def _read_deferral(fields: Fields) -> Deferral:
    until, flights = fields.day("until"), fields.count("flights")
    if until is None and flights is None and not (fields.has("until") or fields.has("flights")):
        fields.missing("until", '"2026-06-16"')
    return Deferral(
        fields.event_id("snag", required=True) or "",
        fields.text("reason", required='"why it can wait"') or "",
        fields.text("limit"),
        until,
        flights,
        fields.event_id("extends"),
        fields.event_ids("seen"),
    )


def _read_fix(fields: Fields) -> Fix:
    snags = fields.event_ids("snags") or fields.event_ids("snag")
    if not snags:
        fields.missing("snags", '["…"]')
    return Fix(
        snags,
        fields.text("action", required='"what was done"') or "",
        fields.flag("closes", default=True),
        fields.text("cause"),
        fields.event_ids("seen"),
        fields.choice("mending", MENDINGS, None),
        read_draws(fields),
        fields.choice("rest", RESTS, None),
        fields.amount("minutes"),
    )


def _read_install(fields: Fields) -> Install:
    aircraft, into = fields.ref("aircraft"), fields.ref("into")
    if aircraft is None and into is None and not fields.has("aircraft") and not fields.has("into"):
        fields.missing("aircraft", '"name"')
    return Install(fields.ref("part", required=True), aircraft, into, fields.text("position"))


def _read_remove(fields: Fields) -> Remove:
    return Remove(fields.ref("part", required=True), fields.ref("aircraft"), fields.text("reason"))


def _read_condition(fields: Fields) -> Condition:
    return Condition(
        fields.ref("part", required=True),
        fields.choice("condition", CONDITIONS, "serviceable") or "serviceable",
        fields.text("reason"),
    )


def _read_incident(fields: Fields) -> Incident:
    what = fields.text("what", required='"hard-landing"') or ""
    return Incident(fields.ref("aircraft", required=True), what.strip().lower().replace(" ", "-"))


def _read_layup(fields: Fields) -> Layup:
    return Layup(
        fields.ref("subject", required=True),
        fields.choice("state", ("begin", "end"), "begin") or "begin",
    )


def _read_stage(fields: Fields) -> Stage:
    return Stage(
        fields.ref("aircraft", required=True),
        fields.choice("stage", STAGES, "in-service") or "in-service",
    )


def _read_amendment(fields: Fields) -> Amendment:
    if fields.mapping("set") is None and not fields.has("set"):
        fields.missing("set", "{}")
    return Amendment(fields.event_id("amends", required=True) or "", fields.event_ids("seen"))


def _read_withdrawal(fields: Fields) -> Withdrawal:
    return Withdrawal(
        fields.event_id("withdraws", required=True) or "",
        fields.text("reason"),
        fields.event_id("duplicate_of"),
    )


def _read_other(fields: Fields) -> Other:
    text = next((fields.text(key) for key in ("text", "what", "reason") if fields.has(key)), None)
    for entry in fields.node.entries:
        fields.read.add(entry.key)
    return Other(
        fields.ref("aircraft"),
        fields.ref("part"),
        fields.text("position"),
        text or "",
        fields.event_id("about"),
        _read_kept(fields),
    )


def _read_kept(fields: Fields) -> str | None:
    """The path of a file kept with a record; `attachments/…` is beside the record's own sheaf,
    under whatever name that has in this fleet."""
    path = fields.text("attachment")
    if path is None or not path.startswith("attachments/"):
        return path
    return f"{fields.node.place.file.partition('/events/')[0]}/{path}"


def _read_change_of_owner(fields: Fields) -> Body:
    from register.records.owner_readers import read_change

    return read_change(fields)


def _read_usage_elsewhere(fields: Fields) -> Body:
    from register.records.owner_readers import read_usage

    return read_usage(fields)


READERS: dict[str, Callable[[Fields], Body]] = {
    "flights": _read_flights,
    "engine-run": _read_engine_run,
    "charge": _read_charge,
    "meter-reading": _read_meter,
    "task-done": _read_task_done,
    "reading": _read_reading,
    "snag": _read_snag,
    "severity": _read_severity,
    "deferral": _read_deferral,
    "fix": _read_fix,
    "install": _read_install,
    "remove": _read_remove,
    "condition": _read_condition,
    "incident": _read_incident,
    "layup": _read_layup,
    "stage": _read_stage,
    "amendment": _read_amendment,
    "withdrawal": _read_withdrawal,
    "note": _read_other,
    **WORKSHOP_READERS,
    "change-of-owner": _read_change_of_owner,
    "usage-elsewhere": _read_usage_elsewhere,
}
