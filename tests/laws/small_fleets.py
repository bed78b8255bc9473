"""Small fleets drawn at random: flights, moves, packs, dones and readings over some weeks."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st
from laws.sheets import Sheets

from register.ledger.ledger import Ledger
from register.tasks.items import view_items

FIRST = date(2026, 3, 2)
AIRCRAFT = ("heron", "swift")
SERVOS = ("sv-22", "sv-31")
COUNTERS = ("flights", "minutes", "landings", "engine-minutes", "charges")


def begin() -> Sheets:
    """Two aircraft, two servos, a turbine, a pack, and a task of every sort."""
    sheets = Sheets(season_gap_days=30)
    sheets.aircraft("swift", opening={"as_of": "2026-03-01", "counters": {"flights": 30}})
    for servo in SERVOS:
        sheets.part(servo)
    sheets.part("tu-07", "turbine", opening={"counters": {"engine-minutes": 100}})
    sheets.part("pk-04", "battery", use="assigned")
    every = {"counter": "flights", "amount": 6, "early": 1, "late": 1}
    sheets.task("slop", on={"part_kind": "servo"}, every=[every], reset="from-due-in-window")
    sheets.task("look", every=[{"counter": "flights", "amount": 9}, {"days": 10}])
    sheets.task("due", every=[{"months": 1}], reset="from-due")
    sheets.task("run", on={"part_kind": "turbine"}, every=[{"counter": "minutes", "amount": 60}])
    sheets.task("season", start=[{"when": "season"}, {"when": "layup", "days": 12}])
    sheets.task("moved", start=[{"when": "work"}, {"when": "incident"}])
    return sheets


@st.composite
def fleets(draw: st.DrawFn, most: int = 12) -> Sheets:
    """A fleet with some events, in no particular order."""
    sheets = begin()
    for n in range(draw(st.integers(1, most))):
        add_event(draw, sheets, FIRST + timedelta(days=draw(st.integers(0, 40))), n)
    return sheets


def add_event(draw: st.DrawFn, sheets: Sheets, day: date, n: int) -> None:
    """One event of any sort on a day, timed or not."""
    when = day.isoformat()
    if draw(st.booleans()):
        when += f"T{draw(st.integers(8, 18)):02d}:00Z"
    id = f"{draw(st.sampled_from('abxyz'))}{n:03d}e"
    kind = draw(st.sampled_from(["fly", "fly", "fly", "install", "remove", "done", "more"]))
    aircraft = draw(st.sampled_from(AIRCRAFT))
    part = draw(st.sampled_from([*SERVOS, "tu-07"]))
    if kind == "fly":
        sheets.fly(when, draw(st.integers(1, 4)), id, aircraft=aircraft, **draw(flown()))
    elif kind == "install":
        sheets.add("install", when, id, part=part, aircraft=aircraft, position=part)
    elif kind == "remove":
        sheets.add("remove", when, id, part=part)
    elif kind == "done":
        whole = [(task, aircraft) for task in ("look", "due", "season", "moved")]
        task, subject = draw(st.sampled_from([("slop", "sv-22"), ("run", "tu-07"), *whole]))
        result = draw(st.sampled_from(["pass", "pass", "fail"]))
        sheets.done(task, when, id, subject=subject, result=result)
    else:
        add_rest(draw, sheets, when, id, aircraft)


def flown() -> st.SearchStrategy[dict[str, Any]]:
    """What a flights event may say besides its count."""
    return st.sampled_from(
        [{}, {"minutes": 20}, {"engine_minutes": 24, "minutes": 21}, {"uses": ["pk-04"]}]
    )


def add_rest(draw: st.DrawFn, sheets: Sheets, when: str, id: str, aircraft: str) -> None:
    """A charge, an engine run, an incident or a meter reading."""
    kind = draw(st.sampled_from(["charge", "engine-run", "incident", "meter-reading"]))
    if kind == "charge":
        sheets.add(kind, when, id, parts=["pk-04"])
    elif kind == "engine-run":
        sheets.add(kind, when, id, part="tu-07", minutes=3)
    elif kind == "incident":
        sheets.add(kind, when, id, aircraft=aircraft, what="hard-landing")
    else:
        value = draw(st.integers(0, 200))
        sheets.add(kind, when, id, part="tu-07", counter="engine-minutes", value=value)


def answer(ledger: Ledger, on: date) -> list[Any]:
    """Everything the register answers on a day, as plain values."""
    found: list[Any] = []
    for item in view_items(ledger, on):
        limits = [
            (
                limit.state,
                limit.due_at,
                limit.left,
                limit.day,
                limit.permits_to,
                limit.missed,
                limit.late_by,
            )
            for limit in item.limits
        ]
        opened = [(one.state, one.says, one.left) for one in item.opened]
        steps = [step.says for step in item.steps]
        found.append((item.aircraft, item.subject, item.task.id, item.state, limits, opened, steps))
    subjects = [("aircraft", name) for name in AIRCRAFT]
    subjects += [("part", name) for name in ledger.records.parts]
    for subject in subjects:
        found.append((subject, [ledger.value(subject, counter) for counter in COUNTERS]))
    for part in sorted(ledger.records.parts):
        for spell in ledger.places.spells.get(part, ()):
            found.append((part, spell.aircraft, spell.start, spell.end, spell.is_current))
    found.append([event.id for event in ledger.events])
    found.append(sorted((problem.order, problem.says) for problem in ledger.problems))
    return found
