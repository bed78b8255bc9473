"""A quiet is told by those that had the fault, and several screws of one evening are one occasion.

Every fleet here is written so that the wrong reckoning would draw a conclusion.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from laws.sheets import Sheets

from register.views.fault_figures import view_compare
from register.views.faults import FaultLine, FaultsAsked, view_faults

FIRST = date(2025, 4, 1)


def day(number: int) -> str:
    """The n-th day."""
    return (FIRST + timedelta(days=number)).isoformat()


def fault(sheets: Sheets, when: str, name: str = "tug", *, fixed: bool = True, **more: str) -> None:
    """A loose hatch, and its fix of that evening."""
    said = {"system": "doors", "mode": "loose", "text": "hatch loose", **more}
    snag = sheets.add(
        "snag", when, aircraft=name, severity="deferrable", **{k: v for k, v in said.items() if v}
    )
    if fixed:
        sheets.add("fix", when, snags=[snag], action="glued", closes=True, seen=[snag], after=snag)


def view(sheets: Sheets, **asked: tuple[str, ...]) -> tuple[FaultLine, ...]:
    """What `faults` tells, a year later."""
    found = FaultsAsked(**asked)  # type: ignore[arg-type]
    return view_faults(sheets.ledger(), FIRST + timedelta(days=365), (), found).lines


def fly(sheets: Sheets, name: str, first: int, days: int, count: int = 4) -> None:
    """Flights on days one after the other."""
    for number in range(first, first + days):
        sheets.fly(day(number), count, aircraft=name)


def test_others_that_fly_on_tell_of_no_quiet() -> None:
    """The tug stands since its last fault; the jet never had it."""
    sheets = Sheets()
    sheets.aircraft("tug")
    sheets.aircraft("jet")
    fly(sheets, "tug", 0, 7)
    for number in range(7):
        fault(sheets, day(number))
    fly(sheets, "jet", 10, 20)
    [line] = view(sheets)
    assert line.conclusion.quiet == 1
    assert line.conclusion.verdict != "ended"
    assert "None for" not in line.conclusion.says


def test_a_quiet_is_reckoned_on_the_aircraft_that_had_the_fault() -> None:
    """It flew on, and another that never had the fault changes neither chance nor words."""
    told = []
    for others in (False, True):
        sheets = Sheets()
        sheets.aircraft("tug")
        fly(sheets, "tug", 0, 40)
        for number in range(7):
            fault(sheets, day(number))
        if others:
            sheets.aircraft("jet")
            fly(sheets, "jet", 0, 80)
        [line] = view(sheets)
        told.append((line.conclusion.quiet, line.conclusion.verdict, line.conclusion.says))
    assert told[0] == told[1]
    assert told[0][1] == "ended"
    assert "None for 132 flights of tug since the last" in told[0][2]


def test_each_aircraft_adds_its_own_share() -> None:
    """Two had it: the chance is the product; the one whose was the last must have flown since."""
    sheets = Sheets()
    for name in ("tug", "jet"):
        sheets.aircraft(name)
        fly(sheets, name, 0, 20, 1)
    for number in (0, 2, 4):
        fault(sheets, day(number))
    fault(sheets, day(9), "jet")
    [line] = view(sheets)
    assert line.conclusion.quiet == pytest.approx((10 / 20) ** 3 * (9.5 / 20))
    fault(sheets, day(19), "jet")
    [line] = view(sheets)
    assert line.conclusion.quiet == 1


def test_screws_of_two_evenings_are_two_occasions() -> None:
    """Twelve faults on two days are no trend and no rate known well; all twelve are counted."""
    sheets = Sheets()
    fly(sheets, "heron", 0, 12, 5)
    for number in (8, 11):
        for screw in range(6):
            fault(sheets, day(number), "heron", fixed=False, text=f"screw {screw} loose")
    [line] = view(sheets)
    assert line.count == 12
    assert line.group.occasions == 2
    assert line.conclusion.verdict == "too-few"
    assert line.conclusion.trend.laplace.behind.events == 2
    assert "12 faults on 2 occasions" in line.conclusion.says
    assert line.conclusion.rate.value == pytest.approx(20)
    assert line.conclusion.rate.too_few


def test_two_aircraft_on_one_day_are_two_occasions() -> None:
    sheets = Sheets()
    sheets.aircraft("tug")
    for name in ("heron", "tug"):
        fly(sheets, name, 0, 6)
        fault(sheets, day(3), name)
        fault(sheets, day(3), name)
    [line] = view(sheets)
    assert (line.count, line.group.occasions) == (4, 2)


def test_three_screws_of_one_evening_are_ended_by_nothing() -> None:
    """Three faults on one day, then long quiet: one occasion asks no question."""
    sheets = Sheets()
    fly(sheets, "heron", 0, 40)
    for _ in range(3):
        fault(sheets, day(1), "heron")
    [line] = view(sheets)
    assert line.conclusion.quiet is None
    assert line.conclusion.verdict == "too-few"


UNLIKE = ("scratch", "canopy crack", "servo noise", "flat tyre", "decal off", "aerial bent")


def test_unlike_things_of_which_nothing_is_said_are_counted_only() -> None:
    sheets = Sheets()
    fly(sheets, "heron", 0, 40)
    for number in range(18):
        fault(sheets, day(number), "heron", system="", mode="", text=UNLIKE[number % 6])
    [line] = view(sheets)
    assert line.conclusion.verdict == "unsaid"
    assert line.conclusion.quiet is None
    assert "nothing is concluded" in line.conclusion.says
    assert line.count == 18
    # By position or mode alone it is no other.
    for by in ("position", "mode", "kind"):
        [line] = view(sheets, by=(by,))
        assert line.conclusion.verdict == "unsaid"


def test_all_faults_of_an_aircraft_are_ended_by_no_fix_but_may_have_a_trend() -> None:
    sheets = Sheets()
    fly(sheets, "heron", 0, 60)
    for number in range(14):
        system = "radio" if number % 2 else "doors"
        fault(sheets, day(number), "heron", system=system)
    [line] = view(sheets, by=("aircraft",))
    assert (line.group.likeness, line.conclusion.verdict) == ("one", "ended")
    for number in range(14, 20):
        fault(sheets, day(number), "heron", system="gear", mode="worn")
    [line] = view(sheets, by=("aircraft",))
    assert (line.group.likeness, line.conclusion.verdict) == ("mixed", "falling")


def test_the_latest_without_words_is_named_with_the_line_that_adds_them() -> None:
    sheets = Sheets()
    fly(sheets, "heron", 0, 4)
    fault(sheets, day(1), "heron", system="", mode="")
    last = sheets.add("snag", day(2), aircraft="heron", text="odd", severity="deferrable")
    found = view_faults(sheets.ledger(), FIRST, (), FaultsAsked())
    assert found.bare == 2
    assert found.bare_line == f"tailsheaf snag {last} --system SYSTEM --mode MODE"


def test_use_of_an_aircraft_that_has_no_such_thing_is_not_in_the_divisor() -> None:
    """Nobody lists an exhaust: the hours of the jet tell nothing of the tug's silencer."""
    sheets = Sheets()
    sheets.aircraft("tug")
    sheets.aircraft("jet")
    for number in range(20):
        sheets.fly(day(number), 4, aircraft="tug", engine_minutes=24)
        sheets.fly(day(number), 4, aircraft="jet", engine_minutes=400)
    for number in range(6):
        fault(sheets, day(number), system="exhaust")
    [line] = view(sheets)
    assert [one.aircraft for one in line.group.exposed] == ["tug"]
    assert (line.group.counter, line.group.exposure) == ("engine-minutes", 480)


def test_one_record_does_not_turn_the_unit() -> None:
    """Engine time of nine flights in ten is enough, of fewer it is flights, and it is said why."""
    told = []
    for silent in (0, 1, 2, 3):
        sheets = Sheets()
        for number in range(20):
            known: dict[str, Any] = {} if number < silent else {"engine_minutes": 24}
            sheets.fly(day(number), 4, aircraft="heron", **known)
        for number in range(6):
            fault(sheets, day(number), "heron", system="exhaust")
        [line] = view(sheets)
        told.append((line.group.counter, line.group.why))
    assert told[:3] == [("engine-minutes", "")] * 3
    assert told[3] == (
        "flights",
        "by flights, for engine time is recorded of 68 of 80 (it takes 9 in 10)",
    )


def test_compared_with_one_that_never_had_it_both_were_used() -> None:
    sheets = Sheets()
    sheets.aircraft("tug")
    for name in ("heron", "tug"):
        fly(sheets, name, 0, 20)
    for number in range(6):
        fault(sheets, day(number), system="radio")
    told = view_compare(sheets.ledger(), FaultsAsked(), "aircraft", ("heron", "tug"))
    assert [(row.first, row.second) for row in told.rows] == [((0, 80), (6, 80))] * 2
