"""How the workshop's events are read from their fields."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from register.records.bodies import Body, Measured
from register.records.fields import Fields
from register.records.lengths import read_in_unit, read_positive
from register.records.values import ZERO
from register.records.workshop_bodies import (
    ANSWERS,
    HANDS,
    JOB_STATES,
    MEASURES,
    TANKS,
    WORK_STATES,
    Cure,
    CureWanted,
    Draw,
    FastenerChange,
    Job,
    Modification,
    NoticeAnswer,
    Spot,
    Throw,
    ThrowSheet,
    Weighing,
    Weight,
)
from register.text.nodes import Scalar


def read_measured(fields: Fields) -> Measured:
    """One reading: name, value, unit; the value may be below zero (a temperature)."""
    return Measured(
        fields.text("name") or "",
        fields.amount("value", negative=True),
        fields.text("unit") or "",
    )


def read_spot(fields: Fields) -> Spot | None:
    """`place: {along, along_from, across, across_from}` of a snag, in millimetres."""
    inner = fields.mapping("place")
    if inner is None:
        return None
    return Spot(
        inner.amount("along"),
        inner.text("along_from") or "",
        inner.amount("across"),
        inner.text("across_from") or "",
    )


def read_draws(fields: Fields) -> tuple[Draw, ...]:
    """`draws: [{item, count}]` of a fix: what was taken off the shelf."""
    found = []
    for inner in fields.mappings("draws"):
        item = inner.text("item", required='"screw-m3x10-cap"')
        count = inner.amount("count")
        if item:
            found.append(Draw(item, Decimal(1) if count is None else count))
    return tuple(found)


def _read_weighing(fields: Fields) -> Weighing:
    from register.records.units import MASS_UNITS, read_quantity

    weights = []
    for inner in fields.mappings("weights"):
        point = inner.text("point", required='"nose"')
        reading = read_quantity(inner, "reading", MASS_UNITS, "2.31")
        tare = read_quantity(inner, "tare", MASS_UNITS, "0.12")
        as_read = inner.text("as_read") or ""
        if point:
            name = point.strip().lower()
            weights.append(Weight(name, reading, ZERO if tare is None else tare, as_read))
    if not weights:
        fields.missing("weights", "[{point: nose, reading: 2.31}]")
    return Weighing(
        fields.ref("aircraft", required=True),
        tuple(weights),
        fields.choice("tanks", TANKS, "not-stated") or "not-stated",
        read_quantity(fields, "fuel", MASS_UNITS, "1.2"),
        fields.amount("attitude", negative=True),
    )


def _read_throws(fields: Fields) -> ThrowSheet:
    measure = fields.choice("measure", MEASURES, "not-stated") or "not-stated"
    if not fields.has("measure"):
        fields.report(
            fields.node.place,
            "measure-missing",
            "throws: not said how they were measured, so they are compared only as written",
            f"add a line  measure: chordal  (one of {', '.join(MEASURES)})",
            "warning",
        )
    values = []
    inner = fields.mapping("throws")
    unit = "degrees" if measure == "degrees" else "mm"
    for entry in inner.node.entries if inner is not None else ():
        if inner is not None and isinstance(entry.value, Scalar):
            value = read_in_unit(inner, entry.key, entry.value, unit)
            if value is not None:
                values.append(Throw(entry.key, value))
    if not values:
        fields.missing("throws", "{up: 12, down: 10}")
    return ThrowSheet(
        fields.ref("aircraft", required=True),
        (fields.text("surface", required='"aileron-left"') or "").strip().lower(),
        (fields.text("rate") or "high").strip().lower(),
        measure,
        tuple(values),
        read_positive(fields, "station"),
        fields.flag("sets_up"),
        tuple(read_measured(item) for item in fields.mappings("readings")),
    )


def _read_modification(fields: Fields) -> Modification:
    return Modification(
        fields.ref("aircraft"),
        fields.ref("part"),
        fields.text("at") or fields.text("position"),
        fields.text("text", required='"what was done"') or "",
        fields.text("manual"),
        fields.text("why"),
        fields.texts("tried"),
        fields.amount("mass", negative=True),
        fields.text("throws"),
        fields.text("strength"),
        fields.choice("state", WORK_STATES, "fixed") or "fixed",
        tuple(read_measured(item) for item in fields.mappings("before")),
        tuple(read_measured(item) for item in fields.mappings("after_work")),
        fields.event_id("follows"),
        _read_fastener(fields),
    )


def _read_fastener(fields: Fields) -> FastenerChange | None:
    inner = fields.mapping("fastener")
    if inner is None:
        return None
    # Seldom there, and the everyday commands load neither threads nor joints.
    from register.records.joints import HEADS, read_length, read_thread

    joint = inner.text("joint", required='"wing-bolts"')
    thread = read_thread(inner, "thread")
    change = FastenerChange(
        (joint or "").strip().lower(),
        inner.count("count", least=1) or 1,
        thread.name if thread is not None else None,
        read_length(inner, "length"),
        inner.choice("head", HEADS, None),
    )
    return change if change.joint else None


def _read_job(fields: Fields) -> Job:
    job = fields.event_id("job")
    text = fields.text("text", required=None if job else '"what to do"') or ""
    return Job(
        fields.ref("aircraft", required=True),
        text,
        fields.text("at"),
        fields.choice("hand", HANDS, "none") or "none",
        fields.event_ids("waits_for"),
        fields.amount("minutes"),
        fields.choice("state", JOB_STATES, "open") or "open",
        job,
        fields.event_id("other_hand_of"),
        read_cure_wanted(fields),
    )


def read_cure_wanted(fields: Fields) -> CureWanted | None:
    """`cure: {adhesive, handling_minutes, full_minutes, basis}` of a job or snag."""
    inner = fields.mapping("cure")
    if inner is None:
        return None
    handling, full = inner.amount("handling_minutes"), inner.amount("full_minutes")
    if handling is not None and full is not None and handling > full:
        inner.report(
            inner.place("handling_minutes"),
            "number-wrong",
            f"handling_minutes: {handling} is longer than full_minutes: {full}",
            f"the shorter one comes first:  handling_minutes: {full}",
        )
        handling = full
    wanted = CureWanted(inner.text("adhesive") or "", handling, full, inner.basis())
    inner.odd_keys(())
    return wanted


def _read_cure(fields: Fields) -> Cure:
    return Cure(
        fields.ref("aircraft"),
        fields.ref("part"),
        fields.text("at"),
        fields.text("text") or "",
        fields.text("adhesive", required='"epoxy 30 minutes"') or "",
        fields.moment("mixed"),
        fields.amount("handling_minutes"),
        fields.amount("full_minutes"),
        fields.amount("temperature", negative=True),
        fields.basis(),
        fields.event_ids("holds"),
    )


def _read_notice_answer(fields: Fields) -> NoticeAnswer:
    return NoticeAnswer(
        (fields.text("notice", required='"notice-name"') or "").strip().lower(),
        fields.ref("subject", required=True),
        fields.choice("result", ANSWERS, "clear") or "clear",
        fields.text("text") or "",
        fields.text("lot"),
    )


WORKSHOP_READERS: dict[str, Callable[[Fields], Body]] = {
    "weighing": _read_weighing,
    "throws": _read_throws,
    "modification": _read_modification,
    "job": _read_job,
    "cure": _read_cure,
    "notice-answer": _read_notice_answer,
}
