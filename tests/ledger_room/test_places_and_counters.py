"""Where parts were, and what they gained there."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from laws.sheets import Sheets, codes, span

from register.records.values import Span

ELEVATOR = "elevator-left"


def stated(value: Span) -> tuple[Any, Any, str]:
    """Both ends, and how well they are known."""
    return value.low, value.high, value.known


def swapped(**install: str) -> Sheets:
    """Two flights, servo sv-22 out and sv-31 in, one flight; the swap as `install` says."""
    sheets = Sheets()
    sheets.part("sv-22")
    sheets.part("sv-31")
    sheets.add("install", "2026-05-01", part="sv-22", position=ELEVATOR)
    sheets.fly("2026-05-16", 3, "flown", each=[7, 8, 6])
    sheets.add("remove", "2026-05-16", "zzz-out".replace("-", ""), part="sv-22", **install)
    sheets.add("install", "2026-05-16", "aaain", part="sv-31", position=ELEVATOR, **install)
    return sheets


def test_a_swap_after_the_second_flight_is_exact() -> None:
    ledger = swapped(after="flown:2").ledger()
    assert span(ledger, "sv-22") == (2, 2)
    assert span(ledger, "sv-22", "minutes") == (15, 15)
    assert span(ledger, "sv-31") == (1, 1)
    assert span(ledger, "sv-31", "minutes") == (6, 6)
    assert not ledger.problems


def test_a_swap_on_a_day_alone_is_a_range() -> None:
    ledger = swapped().ledger()
    for servo in ("sv-22", "sv-31"):
        assert span(ledger, servo) == (0, 3)
        assert span(ledger, servo, "minutes") == (0, 21)
    assert not ledger.problems


def test_a_forgotten_flight_goes_to_the_servo_that_was_in() -> None:
    sheets = swapped(after="flown:2")
    sheets.fly("2026-05-16", 1, minutes=5, after="flown:1")
    ledger = sheets.ledger()
    assert span(ledger, "sv-22", "minutes") == (20, 20)
    assert span(ledger, "sv-31", "minutes") == (6, 6)


def test_minutes_of_a_day_are_shared_only_as_a_range() -> None:
    sheets = swapped(after="flown:2")
    flown = next(data for data in sheets.data.values() if data.get("id") == "flown")
    del flown["each"]
    flown["minutes"] = 21
    ledger = sheets.ledger()
    assert span(ledger, "heron", "minutes") == (21, 21)
    assert span(ledger, "sv-22", "minutes") == (0, 21)
    assert span(ledger, "sv-22") == (2, 2)


def test_a_part_taken_off_and_put_back_by_day_alone() -> None:
    sheets = Sheets()
    sheets.part("sv-22", opening={"counters": {"flights": 40}})
    sheets.add("install", "2026-05-01", part="sv-22", position=ELEVATOR)
    sheets.fly("2026-05-02", 4)
    # Ids in the wrong order: only the kinds tell that it came off before it went on.
    sheets.add("remove", "2026-05-03", "zz1", part="sv-22")
    sheets.add("install", "2026-05-03", "aa1", part="sv-22", position=ELEVATOR)
    sheets.fly("2026-05-03", 2)
    sheets.fly("2026-05-04", 1)
    ledger = sheets.ledger()
    assert span(ledger, "sv-22") == (45, 47)
    assert not ledger.problems
    assert [spell.is_current for spell in ledger.places.spells["sv-22"]] == [False, True]


def test_a_part_moved_to_another_aircraft_by_day_alone() -> None:
    sheets = Sheets()
    sheets.aircraft("swift")
    sheets.part("sv-22")
    sheets.add("install", "2026-05-01", part="sv-22", position=ELEVATOR)
    sheets.add("install", "2026-05-03", "aa1", part="sv-22", aircraft="swift", position=ELEVATOR)
    sheets.add("remove", "2026-05-03", "zz1", part="sv-22")
    sheets.fly("2026-05-04", 2, aircraft="swift")
    ledger = sheets.ledger()
    assert not ledger.problems
    current = ledger.places.current("sv-22")
    assert current is not None
    assert current.aircraft == "swift"
    assert span(ledger, "sv-22") == (2, 2)


def test_a_part_from_the_shelf_put_in_and_taken_out_on_one_day() -> None:
    sheets = Sheets()
    sheets.part("sv-22")
    sheets.add("remove", "2026-05-03", "aa1", part="sv-22")
    sheets.add("install", "2026-05-03", "zz1", part="sv-22", position=ELEVATOR)
    sheets.fly("2026-05-03", 2)
    sheets.fly("2026-05-04", 5)
    ledger = sheets.ledger()
    assert not ledger.problems
    assert ledger.places.current("sv-22") is None
    assert span(ledger, "sv-22") == (0, 2)


def test_a_part_in_a_part_gains_what_its_host_gains() -> None:
    sheets = Sheets()
    sheets.part("tu-07", "turbine", opening={"counters": {"engine-minutes": 1098}})
    sheets.part("pu-01", "fuel-pump")
    sheets.add("install", "2026-05-01", part="tu-07", position="engine")
    sheets.fly("2026-05-02", 2, engine_minutes=20)
    sheets.add("install", "2026-05-03", part="pu-01", into="tu-07")
    sheets.fly("2026-05-04", 3, engine_minutes=30)
    sheets.add("engine-run", "2026-05-05", part="tu-07", minutes=4)
    sheets.add("remove", "2026-05-06", part="tu-07")
    sheets.fly("2026-05-07", 1, engine_minutes=11)
    sheets.add("engine-run", "2026-05-08", part="tu-07", minutes=6)
    ledger = sheets.ledger()
    assert span(ledger, "tu-07", "engine-minutes") == (1158, 1158)
    assert span(ledger, "pu-01", "engine-minutes") == (40, 40)
    assert span(ledger, "pu-01") == (3, 3)
    assert span(ledger, "heron", "engine-minutes") == (61, 61)


def test_two_parts_in_each_other_gain_nothing_and_end() -> None:
    sheets = Sheets()
    sheets.part("tu-07", "turbine")
    sheets.part("pu-01", "fuel-pump")
    sheets.add("install", "2026-05-03", part="pu-01", into="tu-07")
    sheets.add("install", "2026-05-03", part="tu-07", into="pu-01")
    sheets.fly("2026-05-04", 3)
    assert span(sheets.ledger(), "pu-01") == (0, 0)


def test_an_install_elsewhere_implies_a_removal_at_an_unknown_time() -> None:
    sheets = Sheets()
    sheets.aircraft("swift")
    sheets.part("sv-22")
    sheets.task("check", on={"part_kind": "servo"}, every=[{"months": 6}])
    sheets.add("install", "2026-05-01", part="sv-22", position=ELEVATOR)
    sheets.fly("2026-05-02", 4)
    sheets.done("check", "2026-05-03", subject="sv-22")
    sheets.fly("2026-05-04", 3)
    sheets.add("install", "2026-05-05", part="sv-22", aircraft="swift", position=ELEVATOR)
    sheets.fly("2026-05-06", 2)
    sheets.fly("2026-05-06", 1, aircraft="swift")
    ledger = sheets.ledger()
    # Surely in heron until it was checked there, perhaps until it was installed in swift.
    assert span(ledger, "sv-22") == (5, 8)
    assert codes(ledger.problems) == ["install-elsewhere"]


def test_between_the_last_trace_and_the_install_elsewhere_nothing_tells() -> None:
    sheets = Sheets()
    sheets.aircraft("swift")
    sheets.part("sv-22")
    sheets.add("install", "2026-05-01", part="sv-22", position=ELEVATOR)
    sheets.fly("2026-05-02", 4)
    sheets.done("check", "2026-05-03T09:00Z", subject="sv-22")
    sheets.fly("2026-05-03T10:00Z", 1)
    sheets.add("install", "2026-05-03T12:00Z", part="sv-22", aircraft="swift", position=ELEVATOR)
    assert span(sheets.ledger(), "sv-22") == (4, 5)


def test_an_occupied_position_ends_the_stay_of_what_stood_there() -> None:
    sheets = Sheets()
    sheets.part("sv-22")
    sheets.part("sv-31")
    sheets.add("install", "2026-05-01", part="sv-22", position=ELEVATOR)
    sheets.fly("2026-05-02", 4)
    sheets.add("install", "2026-05-03", part="sv-31", position=ELEVATOR)
    sheets.fly("2026-05-04", 3)
    ledger = sheets.ledger()
    assert span(ledger, "sv-22") == (4, 4)
    assert span(ledger, "sv-31") == (3, 3)
    assert codes(ledger.problems) == ["position-occupied"]


def test_a_removal_of_what_is_nowhere_is_said() -> None:
    sheets = Sheets()
    sheets.part("sv-22")
    sheets.add("remove", "2026-05-01", part="sv-22")
    assert codes(sheets.ledger().problems) == ["remove-not-there"]


def test_a_part_gains_only_the_counters_of_its_kind() -> None:
    sheets = Sheets()
    sheets.part("rx-2", "receiver")
    sheets.part("leg-1", "gear-leg")
    sheets.part("odd-1", "smoke-pump", counters=["landings"])
    for part in ("rx-2", "leg-1", "odd-1"):
        sheets.add("install", "2026-05-01", part=part, position=part)
    sheets.fly("2026-05-02", 4, landings=5)
    ledger = sheets.ledger()
    assert span(ledger, "rx-2", "landings") == (0, 0)
    assert span(ledger, "leg-1", "landings") == (5, 5)
    assert span(ledger, "odd-1", "landings") == (5, 5)
    assert span(ledger, "odd-1") == (0, 0)
    assert span(ledger, "leg-1", "gear-cycles") == (4, 4)


def test_an_overhaul_begins_a_clock_of_its_own() -> None:
    sheets = Sheets()
    sheets.part(
        "tu-07",
        "turbine",
        opening={"counters": {"engine-minutes": 900}, "since_overhaul": {"engine-minutes": 100}},
    )
    sheets.task("overhaul", on={"position": "engine"}, overhaul=True)
    sheets.add("install", "2026-05-01", part="tu-07", position="engine")
    sheets.fly("2026-05-02", 2, engine_minutes=20)
    ledger = sheets.ledger()
    assert ledger.since_overhaul("tu-07", "engine-minutes").low == 120
    sheets.done("overhaul", "2026-05-03", subject="tu-07")
    sheets.fly("2026-05-04", 1, engine_minutes=7)
    ledger = sheets.ledger()
    assert ledger.since_overhaul("tu-07", "engine-minutes").low == 7
    spell = ledger.places.current("tu-07")
    assert spell is not None
    assert ledger.since_installed(spell, "engine-minutes").low == 27
    assert span(ledger, "tu-07", "engine-minutes") == (927, 927)


# --- assigned packs -----------------------------------------------------------


def packs(**flown: Any) -> Sheets:
    """Two packs named once in heron, then three flights as `flown` says."""
    sheets = Sheets()
    sheets.aircraft("swift")
    sheets.part(
        "pk-04", "battery", use="assigned", opening={"counters": {"charges": 96, "flights": 0}}
    )
    sheets.part("pk-05", "battery", use="assigned")
    sheets.fly("2026-05-01", 2, uses=["pk-04", "pk-05"])
    sheets.fly("2026-05-02", 3, **flown)
    return sheets


def test_a_pack_named_counts_for_each_flight() -> None:
    ledger = packs(uses=["pk-04"]).ledger()
    assert span(ledger, "pk-04") == (5, 5)
    assert span(ledger, "pk-05") == (2, 2)


def test_a_pack_not_named_may_have_been_used() -> None:
    ledger = packs().ledger()
    assert span(ledger, "pk-04") == (2, 5)
    assert span(ledger, "pk-05") == (2, 5)


def test_on_the_day_it_is_first_named_it_may_have_flown_unnamed_too() -> None:
    sheets = packs(uses=["pk-04"])
    sheets.fly("2026-05-01", 4)
    assert span(sheets.ledger(), "pk-04") == (5, 9)


def test_an_empty_list_says_that_no_pack_was_used() -> None:
    assert span(packs(uses=[]).ledger(), "pk-04") == (2, 2)


def test_another_aircraft_does_not_use_the_packs() -> None:
    assert span(packs(aircraft="swift").ledger(), "pk-04") == (2, 2)


def test_taking_a_pack_away_does_not_settle_what_was_open_before() -> None:
    sheets = packs()
    sheets.add("remove", "2026-05-03", part="pk-04")
    sheets.fly("2026-05-04", 4)
    ledger = sheets.ledger()
    assert span(ledger, "pk-04") == (2, 5)
    assert span(ledger, "pk-05") == (2, 9)
    assert span(ledger.at(sheets.records().events[0].moment.day), "pk-04") == (2, 2)


def test_a_pack_assigned_between_two_flights_was_not_in_the_first() -> None:
    sheets = Sheets()
    sheets.part("pk-04", "battery", use="assigned")
    sheets.fly("2026-05-02", 3, "flown")
    sheets.add("install", "2026-05-02", part="pk-04", position="power", after="flown:2")
    assert span(sheets.ledger(), "pk-04") == (0, 1)


def test_a_pack_assigned_and_taken_away_between_flights() -> None:
    sheets = Sheets()
    sheets.part("pk-04", "battery", use="assigned")
    sheets.add("install", "2026-05-01", part="pk-04", position="power")
    sheets.fly("2026-05-02", 3, "flown")
    sheets.add("remove", "2026-05-02", part="pk-04", after="flown:2")
    sheets.fly("2026-05-03", 3)
    assert span(sheets.ledger(), "pk-04") == (0, 2)


def test_charges_count_each_pack_of_a_set_once() -> None:
    sheets = packs(uses=["pk-04"])
    sheets.add("charge", "2026-05-02", parts=["pk-04", "pk-05"])
    sheets.add("charge", "2026-05-02", parts=["pk-04", "pk-04"], count=2)
    ledger = sheets.ledger()
    assert span(ledger, "pk-04", "charges") == (99, 99)
    assert span(ledger, "pk-05", "charges") == (1, 1)


# --- engine minutes and meters --------------------------------------------------


def turbine(**aircraft: Any) -> Sheets:
    """Heron with a turbine in it since May."""
    sheets = Sheets()
    sheets.aircraft("heron", **aircraft)
    sheets.part("tu-07", "turbine")
    sheets.add("install", "2026-05-01", part="tu-07", position="engine")
    return sheets


def test_engine_minutes_nobody_stated_read_at_least() -> None:
    sheets = turbine()
    sheets.fly("2026-05-02", 2, engine_minutes=20)
    sheets.fly("2026-05-03", 1, minutes=8)
    value = sheets.ledger().value(("part", "tu-07"), "engine-minutes")
    assert stated(value) == (20, None, "unknown")


def test_an_allowance_for_each_flight_is_an_estimate() -> None:
    basis = {"kind": "owner", "reference": "timed over ten flights"}
    sheets = turbine(per_flight={"engine-minutes": {"value": 9, "basis": basis}})
    sheets.fly("2026-05-02", 2)
    sheets.fly("2026-05-03", 1, engine_minutes=7)
    value = sheets.ledger().value(("part", "tu-07"), "engine-minutes")
    assert stated(value) == (25, 25, "estimated")


def read_meter(sheets: Sheets, when: str, value: int, **keys: Any) -> None:
    """A reading of the turbine's meter."""
    sheets.add("meter-reading", when, part="tu-07", counter="engine-minutes", value=value, **keys)


def test_a_meter_fills_the_gap_since_its_last_reading() -> None:
    sheets = turbine()
    read_meter(sheets, "2026-05-01", 500)
    sheets.fly("2026-05-02", 2, engine_minutes=20)
    sheets.fly("2026-05-03", 2)
    sheets.fly("2026-05-04", 1)
    read_meter(sheets, "2026-05-05", 547)
    ledger = sheets.ledger()
    value = ledger.value(("part", "tu-07"), "engine-minutes")
    assert stated(value) == (47, 47, "estimated")
    assert not ledger.problems


def test_a_meter_that_disagrees_is_shown_and_not_believed() -> None:
    sheets = turbine()
    read_meter(sheets, "2026-05-01", 500)
    sheets.fly("2026-05-02", 2, engine_minutes=20)
    read_meter(sheets, "2026-05-05", 547)
    ledger = sheets.ledger()
    assert span(ledger, "tu-07", "engine-minutes") == (20, 20)
    assert codes(ledger.problems) == ["meter-disagrees"]


def test_a_meter_that_ran_backwards_is_shown() -> None:
    sheets = turbine()
    read_meter(sheets, "2026-05-01", 500)
    sheets.fly("2026-05-02", 2)
    read_meter(sheets, "2026-05-05", 490)
    ledger = sheets.ledger()
    assert span(ledger, "tu-07", "engine-minutes") == (0, None)
    assert codes(ledger.problems) == ["meter-disagrees"]


def test_a_replaced_meter_is_an_offset() -> None:
    sheets = turbine()
    read_meter(sheets, "2026-05-01", 500)
    sheets.fly("2026-05-02", 2)
    read_meter(sheets, "2026-05-03", 520)
    read_meter(sheets, "2026-05-03", 0, replaced=True, seq=1, machine="m")
    sheets.fly("2026-05-04", 1)
    read_meter(sheets, "2026-05-05", 9)
    ledger = sheets.ledger()
    assert span(ledger, "tu-07", "engine-minutes") == (29, 29)
    assert not ledger.problems


def test_a_meter_fills_only_the_flights_its_part_was_in() -> None:
    sheets = Sheets()
    sheets.part("tu-07", "turbine")
    read_meter(sheets, "2026-05-01", 500)
    sheets.fly("2026-05-02", 3, "flown")
    sheets.add("install", "2026-05-02", part="tu-07", position="engine", after="flown:1")
    read_meter(sheets, "2026-05-05", 512)
    ledger = sheets.ledger()
    # The meter says nothing of the first flight, flown with another engine.
    value = ledger.value(("part", "tu-07"), "engine-minutes")
    assert value.low == 0
    assert value.high is None or value.high >= Decimal(12)
    assert span(ledger, "heron", "engine-minutes")[1] is None


# --- opening values ---------------------------------------------------------------


def test_opening_values_keep_how_well_they_are_known() -> None:
    sheets = Sheets()
    sheets.part(
        "sv-22",
        opening={
            "counters": {
                "flights": {"value": 150, "known": "estimated"},
                "minutes": {"value": 900, "known": "unknown"},
            }
        },
    )
    sheets.add("install", "2026-05-01", part="sv-22", position=ELEVATOR)
    sheets.fly("2026-05-02", 2, minutes=15)
    ledger = sheets.ledger()
    flights = ledger.value(("part", "sv-22"), "flights")
    minutes = ledger.value(("part", "sv-22"), "minutes")
    assert stated(flights) == (152, 152, "estimated")
    assert (minutes.high, minutes.known) == (None, "unknown")
    # Unknown never becomes zero, and a figure given as unknown is not a lower bound.
    assert minutes.low >= 15


def test_an_opening_of_nothing_but_a_question_mark_is_unknown() -> None:
    sheets = Sheets()
    sheets.aircraft("heron", opening={"counters": {"flights": {"known": "unknown"}}})
    sheets.fly("2026-05-02", 2)
    assert span(sheets.ledger(), "heron") == (2, None)
