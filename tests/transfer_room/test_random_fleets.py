"""Fleets drawn at random: equal totals, equal dues, and no private word in any byte."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from laws.sheets import Sheets
from transfer_room.seller import delivered, search

from register.desk import open_fleet
from register.git.apply import save_paths
from register.git.commit import init_repository
from register.handing import Prepared, Wish, pack, prepare
from register.ledger.ledger import Ledger
from register.storage.parcel import pack_parcel
from register.tasks.items import view_items
from register.trouble import RegisterError

FIRST = date(2026, 3, 2)
LAST = FIRST + timedelta(days=60)
AIRCRAFT = ("heron", "kestrel")
PARTS = ("sv-22", "sv-31", "tu-07", "pump-1")
WORDS = ("Hollow Meadow", "Rupert Jestico", "4137.55", "kestrel-registration", "Würzgarten 9",
         "Jestico", "77,50 EUR", "€ 1.204,00", "ember cove")  # fmt: skip


def begin() -> Sheets:
    """Two aircraft, an engine with a pump in it, servos, a shared pack, tasks."""
    sheets = Sheets(season_gap_days=30)
    for name in AIRCRAFT:
        sheets.aircraft(name, id=f"{name[:4]}000001", per_flight={"landings": 1})
    sheets.data["aircraft/kestrel/aircraft.yaml"]["registration"] = "kestrel-registration"
    sheets.data["private.yaml"] = {
        "people": {"rupert": "Rupert Jestico"}, "places": ["Hollow Meadow", "Würzgarten 9"],
        "prices": {"tu-07": "4137.55"}, "never": ["ember cove"],
    }  # fmt: skip
    for number, name in enumerate(PARTS):
        kind = "turbine" if name == "tu-07" else "pump" if name == "pump-1" else "servo"
        sheets.part(name, kind, id=f"part00000{number}", supplier="Rupert Jestico")
    sheets.part("pk-04", "battery", use="assigned", id="pack000001")
    sheets.task("look", every=[{"counter": "flights", "amount": 9}, {"days": 10}])
    sheets.task("slop", on={"part_kind": "servo"}, every=[{"counter": "flights", "amount": 6}])
    sheets.task("run", on={"part_kind": "turbine"}, every=[{"counter": "minutes", "amount": 60}])
    sheets.task("moved", start=[{"when": "work"}, {"when": "incident"}])
    return sheets


@st.composite
def fleets(draw: st.DrawFn) -> Sheets:
    """Some events of all sorts, with private words in every text."""
    sheets = begin()
    for number in range(draw(st.integers(1, 16))):
        when = (FIRST + timedelta(days=draw(st.integers(0, 40)))).isoformat()
        if draw(st.booleans()):
            when += f"T{draw(st.integers(8, 18)):02d}:00Z"
        add_event(draw, sheets, when, f"e{number:04d}xxxxx")
    return sheets


def add_event(draw: st.DrawFn, sheets: Sheets, when: str, id_: str) -> None:
    """One event."""
    kind = draw(st.sampled_from(
        ["fly", "fly", "fly", "install", "install", "remove", "nest", "done", "snag", "amend",
         "withdraw", "meter", "run"]
    ))  # fmt: skip
    aircraft, part = draw(st.sampled_from(AIRCRAFT)), draw(st.sampled_from(PARTS))
    note = f"at {draw(st.sampled_from(WORDS))} beside Kestrel"
    told = [e["id"] for p, e in sheets.data.items() if e.get("record") == "flights"]
    if kind == "fly":
        sheets.add("flights", when, id_, aircraft=aircraft, count=draw(st.integers(1, 4)),
                   note=note, by="rupert", **draw(flown()))  # fmt: skip
    elif kind == "install":
        sheets.add("install", when, id_, part=part, aircraft=aircraft, position=part, note=note)
    elif kind == "nest":
        sheets.add("install", when, id_, part="pump-1", into="tu-07", position="pump")
    elif kind == "remove":
        sheets.add("remove", when, id_, part=part, reason=note)
    elif kind == "done":
        sheets.add("task-done", when, id_, task="look", subject=aircraft, note=note)
    elif kind == "snag":
        whose: dict[str, Any] = draw(st.sampled_from([{"aircraft": aircraft}, {"part": part}]))
        sheets.add("snag", when, id_, text=note, **whose)
    else:
        add_other(draw, sheets, (kind, when, id_, note), told)


def add_other(
    draw: st.DrawFn, sheets: Sheets, what: tuple[str, str, str, str], told: list[str]
) -> None:
    """An amendment, a withdrawal, a meter reading, an engine run."""
    kind, when, id_, note = what
    if kind == "amend" and told:
        count = draw(st.integers(1, 5))
        sheets.add("amendment", when, id_, amends=told[-1], set={"count": count, "note": note})
    elif kind == "withdraw" and told:
        sheets.add("withdrawal", when, id_, withdraws=draw(st.sampled_from(told)), reason=note)
    elif kind == "meter":
        value = draw(st.integers(0, 200))
        sheets.add("meter-reading", when, id_, part="tu-07", counter="engine-minutes", value=value)
    elif kind == "run":
        sheets.add("engine-run", when, id_, part="tu-07", minutes=3)


def flown() -> st.SearchStrategy[dict[str, Any]]:
    """What a flights event may say besides its count."""
    more = [{}, {"minutes": 20}, {"minutes": 21, "engine_minutes": 24}, {"uses": ["pk-04"]}]
    return st.sampled_from(more)


def put(sheets: Sheets, folder: Path) -> Path:
    """The fleet on the disk, in history."""
    fleet = folder / "fleet"
    for path, data in sheets.texts():
        (fleet / path).parent.mkdir(parents=True, exist_ok=True)
        (fleet / path).write_bytes(data)
    init_repository(fleet)
    save_paths(fleet, sorted(path for path, _ in sheets.texts()), "At Hollow Meadow")
    return fleet


def totals(ledger: Ledger, prepared: Prepared, day: date) -> list[Any]:
    """Every counter of what goes, on a day."""
    then = ledger.at(day)
    subjects = [("aircraft", "heron"), *(("part", name) for name in prepared.scope.parts)]
    return [
        (subject, counter, value.low, value.high)
        for subject in subjects
        for counter in then.listed_counters(subject)
        for value in [then.value(subject, counter)]
    ]


def dues(ledger: Ledger, prepared: Prepared, day: date) -> list[Any]:
    """What is due of the aircraft and of the parts that go."""
    goes = {("aircraft", "heron"), *(("part", name) for name in prepared.scope.parts)}
    return sorted(
        (
            item.task.id,
            item.subject,
            item.state,
            [(limit.state, limit.left) for limit in item.limits],
        )
        for item in view_items(ledger.at(day), day)
        if item.aircraft == "heron" and item.subject in goes
    )


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(fleets())
def test_totals_dues_and_silence(sheets: Sheets) -> None:
    """The new owner's answers are the seller's, and no private word is in any byte sent."""
    with tempfile.TemporaryDirectory() as folder:
        fleet = open_fleet(put(sheets, Path(folder)))
        prepared = prepare(fleet, Wish("heron"), LAST)
        for day in (LAST, LAST + timedelta(days=30)):
            assert totals(prepared.ledger, prepared, day) == totals(fleet.ledger, prepared, day)
            assert dues(prepared.ledger, prepared, day) == dues(fleet.ledger, prepared, day)
        assert totals(prepared.ledger, prepared, FIRST + timedelta(days=20))
        packed = pack(fleet, prepared, "test", LAST, {})
        file = Path(folder) / "heron.tailsheaf"
        file.write_bytes(pack_parcel(packed.members))
        assert search(delivered(file), (*WORDS, "Kestrel", "kestrel")) == []


def test_one_planted_after_the_rewriting_stops_it(tmp_path: Path) -> None:
    """In a record, in a name, in a text beside: nothing is written."""
    sheets = begin()
    sheets.add("flights", "2026-03-03", "e0001xxxxx", aircraft="heron", count=1)
    fleet = open_fleet(put(sheets, tmp_path))
    prepared = prepare(fleet, Wish("heron"), LAST)
    step = prepared.steps[-1]
    path, data = step.files[0]
    forms = (
        b"Rupert Jestico",
        b"rupert-JESTICO",
        b"UnVwZXJ0IEplc3RpY28=",
        "Würzgarten 9".encode(),
        b"486f6c6c6f77204d6561646f77",
        b"Hollow%20Meadow",
    )
    for form in forms:
        bad = ((path, data + b"# " + form + b"\n"), *step.files[1:])
        planted = _with(prepared, step, bad)
        assert code_of(fleet, planted, {}) == "leak", form
        assert code_of(fleet, prepared, {"dossier.txt": b"x " + form}) == "leak", form
    named = (("aircraft/heron/attachments/rupert-jestico.jpg", b"\xff\xd8\xff"), *step.files)
    assert code_of(fleet, _with(prepared, step, named), {}) == "leak"
    assert code_of(fleet, prepared, {}) is None


def _with(prepared: Prepared, step: Any, files: Any) -> Prepared:
    from msgspec.structs import replace

    return replace(prepared, steps=(*prepared.steps[:-1], replace(step, files=files)))


def code_of(fleet: Any, prepared: Prepared, beside: dict[str, bytes]) -> str | None:
    """The code of the refusal, or None."""
    try:
        pack(fleet, prepared, "test", LAST, beside)
    except RegisterError as error:
        return error.code
    return None
