"""Amendments and withdrawals: the old record stays, the new one decides."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from laws.sheets import Sheets, codes, span


def flown(count: int = 3, **keys: Any) -> Sheets:
    """One flights event, with the id flown."""
    sheets = Sheets()
    sheets.fly("2026-05-16", count, "flown", **keys)
    return sheets


def amend(sheets: Sheets, id: str, values: dict[str, Any], **keys: Any) -> None:
    """Amend the flights event."""
    sheets.add("amendment", "2026-05-17", id, amends="flown", set=values, **keys)


def test_an_amendment_sets_a_field_and_keeps_the_rest() -> None:
    sheets = flown(minutes=20)
    amend(sheets, "am1", {"count": 4})
    ledger = sheets.ledger()
    assert span(ledger, "heron") == (4, 4)
    assert span(ledger, "heron", "minutes") == (20, 20)
    assert ledger.orders.events["flown"].amended_by == ("am1",)
    assert ledger.settled.originals["flown"].body != ledger.orders.events["flown"].body


def test_minutes_given_anew_replace_the_list_they_came_from() -> None:
    sheets = flown(each=[7, 8, 6])
    amend(sheets, "am1", {"minutes": 24})
    assert span(sheets.ledger(), "heron", "minutes") == (24, 24)


def test_a_date_amended_moves_the_event() -> None:
    sheets = flown()
    amend(sheets, "am1", {"when": "2026-05-10"})
    assert span(sheets.ledger("2026-05-10"), "heron") == (3, 3)


def test_later_amendments_count_for_an_earlier_day() -> None:
    sheets = flown()
    amend(sheets, "am1", {"count": 4})
    assert span(sheets.ledger("2026-05-16"), "heron") == (4, 4)


def test_an_amendment_never_changes_what_a_record_is() -> None:
    sheets = flown()
    amend(sheets, "am1", {"record": "note", "id": "other", "count": 2})
    assert span(sheets.ledger(), "heron") == (2, 2)


def test_an_amendment_that_would_spoil_the_record_is_said_and_left_out() -> None:
    sheets = flown()
    amend(sheets, "am1", {"count": -4})
    ledger = sheets.ledger()
    assert span(ledger, "heron") == (3, 3)
    assert codes(ledger.problems) == ["number-negative"]


def test_amendments_of_different_keys_do_not_clash() -> None:
    sheets = flown()
    amend(sheets, "am1", {"count": 4})
    amend(sheets, "am2", {"minutes": 30})
    ledger = sheets.ledger()
    assert not ledger.problems
    assert span(ledger, "heron", "minutes") == (30, 30)
    assert span(ledger, "heron") == (4, 4)


def test_one_that_has_seen_the_other_replaces_it() -> None:
    sheets = flown()
    amend(sheets, "am1", {"count": 5}, typed="2026-05-18T10:00Z")
    # Typed earlier by a clock that was wrong: what was seen decides, not the clock.
    amend(sheets, "am2", {"count": 4}, typed="2026-05-17T10:00Z", seen=["am1"])
    ledger = sheets.ledger()
    assert span(ledger, "heron") == (4, 4)
    assert not ledger.problems


@pytest.mark.parametrize(
    ("key", "values", "counted"),
    [
        ("count", [4, 2], (4, 4)),
        ("count", [9, 10], (10, 10)),
        ("count", [4, 4], (4, 4)),
    ],
)
def test_two_that_have_not_seen_each_other_clash(
    key: str, values: list[int], counted: tuple[int, int]
) -> None:
    for order in itertools.permutations(values):
        sheets = flown()
        for n, value in enumerate(order):
            amend(sheets, f"am{n}", {key: value})
        ledger = sheets.ledger()
        assert span(ledger, "heron") == counted
        expected = ["amendment-clash"] if len(set(values)) > 1 else []
        assert codes(ledger.problems) == expected


def test_a_third_that_has_seen_both_settles_a_clash() -> None:
    sheets = flown()
    amend(sheets, "am1", {"count": 4})
    amend(sheets, "am2", {"count": 2})
    amend(sheets, "am3", {"count": 2}, seen=["am1", "am2"])
    ledger = sheets.ledger()
    assert span(ledger, "heron") == (2, 2)
    assert not ledger.problems


def test_a_clash_over_pass_or_fail_counts_as_failed() -> None:
    sheets = Sheets()
    sheets.task("slop", every=[{"months": 6}])
    sheets.done("slop", "2026-05-16", "flown")
    amend(sheets, "am1", {"result": "fail"})
    amend(sheets, "am2", {"result": "recorded"})
    assert sheets.item("slop", "2026-05-20").failed is not None


def test_a_clash_over_the_day_a_task_was_done_takes_the_earlier() -> None:
    for days in (("2026-05-10", "2026-05-12"), ("2026-05-12", "2026-05-10")):
        sheets = Sheets()
        sheets.task("slop", every=[{"days": 30}])
        sheets.done("slop", "2026-05-16", "flown")
        amend(sheets, "am1", {"when": days[0]})
        amend(sheets, "am2", {"when": days[1]})
        found = sheets.limit("slop", "2026-05-20").day
        assert found is not None
        assert found.isoformat() == "2026-06-09"


def test_a_withdrawn_event_does_not_count_and_stays_known() -> None:
    sheets = flown()
    sheets.add("withdrawal", "2026-05-17", "wd1", withdraws="flown", reason="typed twice")
    ledger = sheets.ledger()
    assert span(ledger, "heron") == (0, 0)
    assert ledger.settled.withdrawn["flown"].id == "wd1"
    assert "flown" in ledger.settled.originals


def test_a_withdrawn_withdrawal_counts_for_nothing() -> None:
    sheets = flown()
    sheets.add("withdrawal", "2026-05-17", "wd1", withdraws="flown")
    sheets.add("withdrawal", "2026-05-18", "wd2", withdraws="wd1")
    assert span(sheets.ledger(), "heron") == (3, 3)
    sheets.add("withdrawal", "2026-05-19", "wd3", withdraws="wd2")
    assert span(sheets.ledger(), "heron") == (0, 0)


def test_a_withdrawn_amendment_counts_for_nothing() -> None:
    sheets = flown()
    amend(sheets, "am1", {"count": 4})
    sheets.add("withdrawal", "2026-05-18", withdraws="am1")
    assert span(sheets.ledger(), "heron") == (3, 3)


def test_what_follows_a_withdrawn_event_has_no_known_order() -> None:
    sheets = flown()
    sheets.part("sv-22")
    sheets.fly("2026-05-16", 2, "again")
    sheets.add("install", "2026-05-16", part="sv-22", position="rudder", after="flown:3")
    sheets.add("withdrawal", "2026-05-17", withdraws="flown", duplicate_of="again")
    ledger = sheets.ledger()
    assert span(ledger, "sv-22") == (0, 2)
    assert codes(ledger.problems) == ["after-wrong"]


def test_withdrawals_in_a_ring_end() -> None:
    sheets = flown()
    sheets.add("withdrawal", "2026-05-17", "wd1", withdraws="wd2")
    sheets.add("withdrawal", "2026-05-17", "wd2", withdraws="wd1")
    sheets.add("withdrawal", "2026-05-17", "wd3", withdraws="wd3")
    assert span(sheets.ledger(), "heron") == (3, 3)


def test_a_long_chain_of_withdrawals_ends() -> None:
    sheets = flown()
    aim = "flown"
    for n in range(2001):
        aim = sheets.add("withdrawal", "2026-05-17", f"w{n:05d}", withdraws=aim)
    # The last stands, so every other one does, and the first among them.
    assert span(sheets.ledger(), "heron") == (0, 0)


@pytest.mark.parametrize("record", ["amendment", "withdrawal"])
def test_aiming_at_nothing_is_said(record: str) -> None:
    sheets = flown()
    key = "amends" if record == "amendment" else "withdraws"
    values: dict[str, Any] = {"set": {"count": 1}} if record == "amendment" else {}
    sheets.add(record, "2026-05-17", **{key: "flowm"}, **values)
    ledger = sheets.ledger()
    assert codes(ledger.problems) == ["event-unknown"]
    assert f'{key}: "flown"' in ledger.problems[0].mend
    assert span(ledger, "heron") == (3, 3)


def test_an_id_that_stands_twice_is_said_and_the_first_file_counts() -> None:
    sheets = flown()
    sheets.fly("2026-05-18", 5, "flown")
    ledger = sheets.ledger()
    assert codes(ledger.problems) == ["id-twice"]
    assert ledger.problems[0].related
    assert span(ledger, "heron") == (3, 3)
