"""Flights without a part, a check, a stage or a record, and the bounds of saying so."""

from __future__ import annotations

import pytest
from checks_room.checking import found, problems, the
from laws.sheets import Sheets

ENGINE = {"positions": {"engine": {"kind": "turbine", "required": True}}}


def with_engine() -> Sheets:
    """Heron, with an engine that has to be there."""
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[], **ENGINE)
    sheets.part("tu-07", "turbine")
    return sheets


def test_flights_with_no_engine_are_named() -> None:
    sheets = with_engine()
    sheets.add("install", "2026-04-04", part="tu-07", position="engine")
    sheets.fly("2026-04-11", 3)
    sheets.add("remove", "2026-04-18", part="tu-07")
    sheets.fly("2026-04-25", 2, "mpt1")
    sheets.fly("2026-04-26", 1, "mpt2")
    sheets.add("install", "2026-05-02", part="tu-07", position="engine")
    sheets.fly("2026-05-09", 2)
    problem = the(sheets, "flown-without-part")
    assert problem.says == (
        "heron flew 3 flights with no engine recorded: mpt1 of 2026-04-25, mpt2 of 2026-04-26"
    )
    assert problem.level == "warning"
    assert problem.mend.startswith("tailsheaf install PART heron engine --at 2026-04-25")
    assert found(sheets) == ["flown-without-part"]


def test_flights_between_two_moves_of_one_day_are_counted_alone() -> None:
    sheets = with_engine()
    sheets.add("install", "2026-04-04", part="tu-07", position="engine")
    sheets.fly("2026-05-09", 5, "flwn")
    sheets.add("remove", "2026-05-09", part="tu-07", after="flwn:2")
    sheets.add("install", "2026-05-09", part="tu-07", position="engine", after="flwn:4")
    assert the(sheets, "flown-without-part").says.endswith(
        "2 flights with no engine recorded: flwn of 2026-05-09 flights 3 to 4"
    )


def test_an_order_not_known_is_said_as_that_and_as_nothing_more() -> None:
    sheets = with_engine()
    sheets.add("install", "2026-05-09", "in01", part="tu-07", position="engine")
    sheets.fly("2026-05-09", 3, "flwn")
    problem = the(sheets, "order-unknown")
    assert "tailsheaf amend in01 after=flwn:N" in problem.mend
    assert "tailsheaf amend flwn after=in01" in problem.mend
    assert found(sheets) == ["order-unknown"]


@pytest.mark.parametrize("after", ["flwn:1", "flwn:3"])
def test_an_order_given_is_enough(after: str) -> None:
    sheets = Sheets()
    sheets.part("sv-22")
    sheets.add("install", "2026-05-09", part="sv-22", position="rudder", after=after)
    sheets.fly("2026-05-09", 3, "flwn")
    assert "order-unknown" not in found(sheets)


def test_only_one_end_of_a_chain_is_asked_for() -> None:
    sheets = Sheets()
    sheets.part("sv-22")
    sheets.part("sv-31")
    sheets.add("install", "2026-05-01", part="sv-22", position="rudder")
    sheets.add("remove", "2026-05-09", "off1", part="sv-22")
    sheets.add("install", "2026-05-09", part="sv-31", position="rudder", after="off1")
    sheets.fly("2026-05-09", 1, "flwn")
    assert [p.mend.split()[2] for p in problems(sheets) if p.code == "order-unknown"] == ["off1"]


def test_a_first_flight_and_a_layup_on_the_day_of_flights_are_not_remarked_on() -> None:
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[], stage="ready-for-first-flight")
    sheets.fly("2026-05-02", 1)
    sheets.add("stage", "2026-05-02", stage="in-service")
    sheets.fly("2026-05-09", 1)
    sheets.add("layup", "2026-05-09", subject="heron", state="begin")
    assert found(sheets) == []


def test_flights_while_laid_up_are_one_problem_and_end_with_it() -> None:
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[])
    sheets.add("layup", "2026-04-01", subject="heron", state="begin")
    sheets.fly("2026-04-11", 2)
    sheets.fly("2026-04-12", 3)
    sheets.add("layup", "2026-04-20", subject="heron", state="end")
    sheets.fly("2026-05-02", 1)
    problem = the(sheets, "flown-not-in-service")
    assert problem.says == (
        "heron flew 5 flights from 2026-04-11, and its stage was laid up since 2026-04-01"
    )
    assert problem.mend == "tailsheaf layup heron --end --at 2026-04-11"


def test_flights_of_a_sold_aircraft_are_remarked_on() -> None:
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[])
    sheets.add("stage", "2026-04-01", stage="sold")
    sheets.fly("2026-04-11", 2)
    assert the(sheets, "flown-not-in-service").mend == (
        "tailsheaf aircraft heron --stage in-service --at 2026-04-11"
    )


def test_flights_after_it_went_to_another_owner_are_remarked_on_until_it_comes_back() -> None:
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[])
    gone = sheets.add(
        "change-of-owner", "2026-04-01", aircraft="heron", way="out", text="to a friend", parts=[]
    )
    sheets.fly("2026-04-11", 2)
    sheets.add(
        "change-of-owner", "2026-04-20", aircraft="heron", way="in", text="and back", parts=[]
    )
    sheets.fly("2026-05-02", 1)
    problem = the(sheets, "flown-not-in-service")
    assert (
        problem.says
        == "heron flew 2 flights from 2026-04-11, and its stage was sold since 2026-04-01"
    )
    assert problem.mend == f"tailsheaf withdraw {gone}   if it did not go then"


def test_the_day_of_the_opening_figures_itself_is_not_before_them() -> None:
    sheets = Sheets()
    opening = {"as_of": "2026-05-01", "counters": {"flights": 40}}
    sheets.aircraft("heron", programmes=[], opening=opening)
    sheets.fly("2026-05-01", 2)
    assert found(sheets) == []
    sheets.fly("2026-04-30", 2)
    assert found(sheets) == ["flown-before-record"]


def test_a_pack_rejected_in_the_evening_leaves_the_flights_of_the_day_alone() -> None:
    sheets = Sheets()
    sheets.aircraft("heron", programmes=[])
    sheets.part("pk-04", "battery", use="assigned")
    sheets.fly("2026-05-09", 2, uses=["pk-04"])
    sheets.add("condition", "2026-05-09", part="pk-04", condition="rejected")
    assert found(sheets) == []
    sheets.fly("2026-05-10", 1, uses=["pk-04"])
    assert found(sheets) == ["used-unserviceable"]
    sheets.add("condition", "2026-05-09", part="pk-04", condition="serviceable", after="e00002")
    assert found(sheets) == []
