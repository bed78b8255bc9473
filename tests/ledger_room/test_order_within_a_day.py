"""What came before what on one day: times, `after:`, and what none of them says."""

from __future__ import annotations

import pytest
from laws.sheets import Sheets, codes, span

from register.ledger.order import Point


def with_servo(when: str, **install: str) -> Sheets:
    """A servo installed on a day of flights, as told."""
    sheets = Sheets(home_zone="CET")
    sheets.part("sv-22")
    sheets.add("install", when, "in01", part="sv-22", position="rudder", **install)
    return sheets


@pytest.mark.parametrize(
    ("after", "gained"),
    [("flown:1", 2), ("flown:2", 1), ("flown:3", 0), ("flown", 0), ("flow:3", 0)],
)
def test_after_a_flight_is_exact(after: str, gained: int) -> None:
    sheets = with_servo("2026-05-16", after=after)
    sheets.fly("2026-05-16", 3, "flown")
    ledger = sheets.ledger()
    assert span(ledger, "sv-22") == (gained, gained)
    assert not ledger.problems


@pytest.mark.parametrize(
    "after",
    ["flown:4", "nowhere", "nowhere:1", "in01", "before"],
    ids=["missing flight", "unknown", "unknown flight", "itself", "another day"],
)
def test_an_after_that_cannot_be_is_said_and_the_order_is_unknown(after: str) -> None:
    sheets = with_servo("2026-05-16", after=after)
    sheets.fly("2026-05-15", 1, "before")
    sheets.fly("2026-05-16", 3, "flown")
    ledger = sheets.ledger()
    assert codes(ledger.problems) == ["after-wrong"]
    assert span(ledger, "sv-22") == (0, 3)


def test_a_ring_is_said_and_the_order_is_unknown() -> None:
    sheets = with_servo("2026-05-16", after="flown:1")
    sheets.fly("2026-05-16", 3, "flown", after="in01")
    ledger = sheets.ledger()
    assert codes(ledger.problems) == ["after-wrong"] * 2
    assert span(ledger, "sv-22") == (0, 3)


def test_a_chain_follows_to_its_end() -> None:
    sheets = with_servo("2026-05-16", after="second")
    sheets.fly("2026-05-16", 3, "first")
    sheets.fly("2026-05-16", 2, "second", after="first")
    sheets.fly("2026-05-16", 4, "third", after="in01")
    ledger = sheets.ledger()
    assert span(ledger, "sv-22") == (4, 4)
    assert [event.id for event in ledger.events] == ["first", "second", "in01", "third"]


def test_of_two_flights_put_after_one_the_later_written_stands_nearest() -> None:
    sheets = with_servo("2026-05-16", after="early")
    sheets.fly("2026-05-16", 3, "flown")
    sheets.fly("2026-05-16", 1, "early", after="flown:1", typed="2026-05-16T20:00+02:00")
    # Written down an hour later, though its text sorts before.
    sheets.fly("2026-05-16", 1, "later", after="flown:1", typed="2026-05-16T19:00Z")
    ledger = sheets.ledger()
    assert [event.id for event in ledger.events] == ["flown", "later", "early", "in01"]
    assert span(ledger, "sv-22") == (2, 2)


def test_a_time_on_several_flights_is_that_of_the_first_take_off() -> None:
    sheets = with_servo("2026-05-16T12:00+02:00")
    sheets.fly("2026-05-16T10:00+02:00", 3)
    assert span(sheets.ledger(), "sv-22") == (0, 2)


def test_a_later_session_of_one_aircraft_comes_after_the_earlier() -> None:
    sheets = with_servo("2026-05-16T12:00+02:00")
    sheets.fly("2026-05-16T10:00+02:00", 3)
    sheets.fly("2026-05-16T13:00+02:00", 4)
    assert span(sheets.ledger(), "sv-22") == (4, 6)


def test_what_directly_follows_the_first_flight_precedes_all_later_times() -> None:
    sheets = with_servo("2026-05-16T12:00+02:00")
    sheets.fly("2026-05-16T10:00+02:00", 3, "flown")
    sheets.fly("2026-05-16", 1, after="flown:1")
    assert span(sheets.ledger(), "sv-22") == (0, 2)


def test_offsets_decide_the_order_and_the_written_date_the_day() -> None:
    sheets = with_servo("2026-05-16T12:00+02:00")
    sheets.fly("2026-05-16T10:30Z", 1)
    sheets.fly("2026-05-16T09:30Z", 1)
    sheets.fly("2026-05-15T23:30-05:00", 1)
    assert span(sheets.ledger(), "sv-22") == (1, 1)


def test_a_time_without_offset_is_home_time() -> None:
    sheets = with_servo("2026-05-16T12:00")
    sheets.fly("2026-05-16T10:30Z", 1)
    sheets.fly("2026-05-16T09:30Z", 1)
    assert span(sheets.ledger(), "sv-22") == (1, 1)


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ("2026-03-29T02:30", "does not exist in the home zone"),
        ("2026-10-25T02:30", "comes twice in the home zone"),
    ],
)
def test_a_time_of_the_hour_when_clocks_change_is_doubted(when: str, words: str) -> None:
    sheets = with_servo(when)
    records = sheets.records()
    assert [problem.code for problem in records.problems] == ["time-doubtful"]
    assert words in records.problems[0].says
    assert [event.id for event in records.events] == ["in01"]


def test_with_its_offset_the_doubled_hour_is_told_apart() -> None:
    sheets = with_servo("2026-10-25T02:30+02:00")
    sheets.fly("2026-10-25T02:15+01:00", 1)
    records = sheets.records()
    assert not records.problems
    assert span(sheets.ledger(), "sv-22") == (1, 1)


def test_moves_of_one_part_never_stand_in_a_ring() -> None:
    """The order of writing says one thing and the times another: no answer is both."""
    sheets = Sheets()
    sheets.part("sv-22")
    sheets.add(
        "install", "2026-05-16T10:00Z", "mv1", part="sv-22", position="a", machine="m", seq=5
    )
    sheets.add("remove", "2026-05-16", "mv2", part="sv-22", machine="m", seq=3)
    sheets.add("remove", "2026-05-16T11:00Z", "mv3", part="sv-22", machine="m", seq=1)
    sheets.fly("2026-05-16", 1, "flown")
    orders = sheets.ledger().orders
    opposite = {"before": "after", "after": "before", "unknown": "unknown"}
    points = [Point("mv1"), Point("mv2"), Point("mv3")]
    for one in points:
        for other in points:
            if one != other:
                assert orders.compare(other, one) == opposite[orders.compare(one, other)]


def test_the_sequence_agrees_with_the_known_order() -> None:
    sheets = Sheets()
    sheets.part("sv-22")
    sheets.add("install", "2026-05-15", part="sv-22", position="a")
    sheets.add("install", "2026-05-16", "aa1", part="sv-22", position="b")
    sheets.add("remove", "2026-05-16T10:00Z", "zz1", part="sv-22")
    ledger = sheets.ledger()
    assert ledger.orders.compare(Point("zz1"), Point("aa1")) == "before"
    assert ledger.rank["zz1"] < ledger.rank["aa1"]
    current = ledger.places.current("sv-22")
    assert current is not None
    assert current.position == "b"
