"""Flights entered twice, packs in two places, and clocks that cannot have been right."""

from __future__ import annotations

import pytest
from checks_room.checking import found, the
from laws.sheets import Sheets


def two(first: str, second: str, **keys: object) -> Sheets:
    """Two entries of heron by two machines."""
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[])
    sheets.fly(first, 1, "a7k2qd0001", machine="m-1", minutes=7)
    sheets.fly(second, 1, "b2m8xw0002", **{"machine": "m-2", "minutes": 7, **keys})
    return sheets


def test_a_day_entered_twice_on_one_machine() -> None:
    for keys, twice in (({}, True), ({"landings": 2}, False), ({"after": "a7k2qd0001"}, False)):
        sheets = Sheets()
        sheets.aircraft("heron", programmes=[])
        sheets.fly("2026-05-09", 5, "a7k2qd0001", machine="m-1", minutes=40)
        sheets.fly("2026-05-09", 5, "b2m8xw0002", **{"machine": "m-1", "minutes": 40, **keys})
        assert ("flights-twice" in found(sheets)) is twice, keys


@pytest.mark.parametrize(
    ("first", "second", "keys", "twice"),
    [
        ("2026-05-09T14:20+02:00", "2026-05-09T14:21+02:00", {}, True),
        ("2026-05-09T14:20+02:00", "2026-05-09T14:25+02:00", {}, True),
        ("2026-05-09T14:20+02:00", "2026-05-09T14:26+02:00", {}, True),  # inside seven minutes
        ("2026-05-09T14:20+02:00", "2026-05-09T14:27+02:00", {}, False),
        ("2026-05-09T14:20+02:00", "2026-05-09T13:20+01:00", {}, True),  # one instant
        ("2026-05-09T14:20+02:00", "2026-05-09T14:20+01:00", {}, False),
        ("2026-05-09", "2026-05-09", {}, True),
        ("2026-05-09", "2026-05-09T14:20+02:00", {}, True),
        ("2026-05-09", "2026-05-09", {"machine": "m-1"}, False),
        ("2026-05-09", "2026-05-09", {"minutes": 8}, False),
        ("2026-05-09", "2026-05-09", {"count": 2}, False),
        ("2026-05-09", "2026-05-10", {}, False),
        ("2026-05-09", "2026-05-09", {"aircraft": "osprey"}, False),
        ("2026-05-09", "2026-05-09", {"after": "a7k2qd0001"}, False),
    ],
)
def test_what_looks_like_one_flight_twice(
    first: str, second: str, keys: dict[str, object], twice: bool
) -> None:
    count = keys.pop("count", 1)
    sheets = two(first, second, **keys)
    sheets.data[next(path for path in sheets.data if "b2m8" in path)]["count"] = count
    sheets.aircraft("osprey", programmes=[])
    assert ("flights-twice" in found(sheets)) is twice


def test_both_are_counted_until_one_is_withdrawn_and_that_is_reversible() -> None:
    sheets = two("2026-05-09T14:20+02:00", "2026-05-09T14:21+02:00")
    problem = the(sheets, "flights-twice")
    assert "tailsheaf withdraw b2m8 --duplicate-of a7k2" in problem.mend
    assert sheets.ledger().value(("aircraft", "heron"), "flights").low == 2
    sheets.add("withdrawal", "2026-05-10", "wd01", withdraws="b2m8xw0002")
    assert found(sheets) == []
    assert sheets.ledger().value(("aircraft", "heron"), "flights").low == 1
    sheets.add("withdrawal", "2026-05-10", withdraws="wd01")
    assert found(sheets) == ["flights-twice"]


@pytest.mark.parametrize(("time", "apart"), [("10:08", False), ("10:12", True)])
def test_a_pack_in_two_aircraft_within_one_flight(time: str, apart: bool) -> None:
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[])
    sheets.aircraft("osprey", programmes=[])
    sheets.part("pk-04", "battery", use="assigned")
    sheets.fly("2026-05-09T10:05+02:00", 1, minutes=7, uses=["pk-04"])
    sheets.add(
        "flights",
        f"2026-05-09T{time}+02:00",
        aircraft="osprey",
        count=1,
        uses=["pk-04"],
    )
    codes = [code for code in found(sheets) if code != "file-astray"]
    assert codes == ([] if apart else ["pack-overlap"])


@pytest.mark.parametrize(
    ("when", "typed", "code"),
    [
        ("2026-05-16", "2026-05-16T09:00:00+00:00", None),
        ("2026-05-17", "2026-05-16T09:00:00+00:00", "date-future"),
        ("2026-05-10", "2026-05-09T23:00:00+00:00", None),
        ("2026-05-11", "2026-05-09T23:00:00+00:00", "typed-early"),
        ("2026-05-11T22:00+00:00", "2026-05-10T22:30:00+00:00", None),
        ("2026-05-11T23:00+00:00", "2026-05-10T22:30:00+00:00", "typed-early"),
    ],
)
def test_days_that_cannot_be_right(when: str, typed: str, code: str | None) -> None:
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[])
    sheets.fly(when, 1, typed=typed)
    assert found(sheets) == ([] if code is None else [code])


def test_a_clock_set_back_is_said_once_and_small_steps_are_not() -> None:
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[])
    times = ("10:00:00", "10:00:30", "09:59:00", "18:00:00", "12:00:00", "12:05:00")
    for seq, time in enumerate(times, 1):
        typed = f"2026-05-09T{time}+00:00"
        sheets.add("note", "2026-05-09", text="x", machine="m-1", seq=seq, typed=typed)
    assert found(sheets) == ["clock-back"]
    assert the(sheets, "clock-back").place.file.endswith("e00005.yaml")
