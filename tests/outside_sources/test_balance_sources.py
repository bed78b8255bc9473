"""Balance held to published worked examples, through the register's own sheets.

The cases stand in data/balance.json, each with its source and the status of its figure (read in
a public copy, or from memory). They are in pounds and inches: a sheet only needs one unit of
mass and one of length. Where the printed figure is wrong the test says so.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from register.records.balance import Tank
from register.records.values import UNSTATED
from register.trouble import Place
from register.workshop.balance import (
    Row,
    Sheet,
    add_row,
    find_ballast,
    find_shift,
    make_row,
    percent_chord,
    rounded,
    take_row,
)

CASES: dict[str, dict[str, Any]] = {
    case["id"]: case
    for case in json.loads(
        (Path(__file__).parent / "data" / "balance.json").read_text("utf-8"), parse_float=Fraction
    )
}


def given(id: str) -> dict[str, Any]:
    """What a published case starts from; written figures are exact."""
    found: dict[str, Any] = CASES[id]["given"]
    return found


def near(id: str, value: Fraction | None, expected: Any = None) -> bool:
    """Within the case's own tolerance of what it expects."""
    case = CASES[id]
    wanted = case["expect"] if expected is None else expected
    tolerance = case["abs_tol"]
    assert value is not None
    return abs(value - Fraction(wanted)) <= Fraction(tolerance)


def sheet(*rows: tuple[Any, Any]) -> Sheet:
    """Masses at arms, each by its own name."""
    return Sheet(
        tuple(Row(f"r{n}", Fraction(m), Fraction(a), None) for n, (m, a) in enumerate(rows))
    )


def test_every_case_has_a_source_and_a_status() -> None:
    assert len(CASES) == 14
    assert all(case["source"] and case["status"] for case in CASES.values())


def test_b1_nose_wheel_from_the_main_wheels() -> None:
    case = given("B-1")
    nose, total, arm = case["F_lb"], case["W_lb"], case["L_in"]
    assert near("B-1", sheet((total - nose, 0), (nose, arm)).cg)


def test_b2_nose_wheel_with_the_datum_ahead() -> None:
    case = given("B-2")
    d, f, length, w = (Fraction(case[key]) for key in ("D_in", "F_lb", "L_in", "W_lb"))
    found = sheet((w - f, d), (f, d - length)).cg
    assert near("B-2", found)
    # The handbook's own form is the same sum, to the last digit.
    assert found == d - f * length / w


def test_b4_tail_wheel_with_the_datum_ahead() -> None:
    case = given("B-4")
    d, r, length, w = (Fraction(case[key]) for key in ("D_in", "R_lb", "L_in", "W_lb"))
    found = sheet((w - r, d), (r, d + length)).cg
    assert near("B-4", found)
    assert found == d + r * length / w


def test_the_two_forms_with_the_datum_behind() -> None:
    """FAA-H-8083-1B chapter 3, forms from memory: -(D + F L/W) and -D + R L/W."""
    w, load, length, d = Fraction(2006), Fraction(340), Fraction(78), Fraction(75)
    assert sheet((w - load, -d), (load, -d - length)).cg == -(d + load * length / w)
    assert sheet((w - load, -d), (load, -d + length)).cg == -d + load * length / w


def test_b6_percent_of_the_mean_chord() -> None:
    case = given("B-6")
    assert near("B-6", percent_chord(Fraction(case["CG_in"]), case["LEMAC_in"], case["MAC_in"]))


def test_b8_weighing_with_tare_fuel_out_and_unusable_fuel_in() -> None:
    case = given("B-8")
    left, right, nose = (
        case[key] - tare
        for key, tare in zip(("left_main", "right_main", "nose"), case["tare"], strict=True)
    )
    weighed = sheet((left, case["main_arm"]), (right, case["main_arm"]), (nose, case["nose_arm"]))
    fuel = case["fuel_gal"] * case["fuel_lb_per_gal"]
    dry = take_row(weighed, Row("fuel", Fraction(fuel), Fraction(case["fuel_arm"]), None))
    unusable = Row("unusable", Fraction(case["unusable_lb"]), Fraction(case["unusable_arm"]), None)
    empty = add_row(dry, unusable)
    assert near("B-8", empty.mass, CASES["B-8"]["expect"]["W"])
    assert near("B-8", empty.cg, CASES["B-8"]["expect"]["CG"])


def test_b9_most_forward_loading_of_the_circular() -> None:
    case, expect = given("B-9"), CASES["B-9"]["expect"]
    found = sheet(*case["rows"])
    tolerance = CASES["B-9"]["abs_tol"]
    assert found.mass == expect[0]
    assert found.moment is not None
    assert abs(found.moment - expect[1]) <= tolerance[1]
    assert found.cg is not None
    assert abs(found.cg - expect[2]) <= tolerance[2]
    assert found.cg > case["fwd_limit"]


def test_b11_the_circular_prints_another_figure_than_its_own_totals() -> None:
    """AC 43.13-1B figure 10-13 prints 18.6; its own 38,466 over 2,100 is 18.32."""
    found, expect = sheet(*given("B-11")["rows"]), CASES["B-11"]["expect"]
    printed = CASES["B-11"]["published"]
    assert found.mass == printed[0]
    assert found.cg is not None
    assert abs(found.cg - expect[2]) <= CASES["B-11"]["abs_tol"][2]
    assert abs(found.cg - printed[2]) > Fraction("0.25")
    assert rounded(Fraction(printed[1], printed[0]), 2) == rounded(found.cg, 2)


def change(start: Sheet, changes: list[list[Any]]) -> Sheet:
    """Equipment taken out (below zero) and put in, each by its own name."""
    for n, (mass, arm) in enumerate(changes):
        start = add_row(start, Row(f"change {n}", Fraction(mass), Fraction(arm), None))
    return start


def test_b13_equipment_changed() -> None:
    case, expect = given("B-13"), CASES["B-13"]["expect"]
    start = sheet((case["empty"], Fraction(case["moment"]) / case["empty"]))
    found = change(start, case["changes"])
    assert found.mass == expect[0]
    assert near("B-13", found.moment, expect[1])
    assert near("B-13", found.cg, expect[2])
    assert start.cg is not None
    assert found.cg is not None
    # A page prints that it moved forward; it moved aft.
    assert found.cg > start.cg
    assert near("B-13", found.cg - start.cg, expect[3])


def test_b15_equipment_changed() -> None:
    case, expect = given("B-15"), CASES["B-15"]["expect"]
    found = change(sheet((case["empty"], case["ewcg"])), case["changes"])
    assert found.mass == expect[0]
    assert near("B-15", found.moment, expect[1])


def test_b16_ballast_to_the_limit() -> None:
    case = given("B-16")
    figures = (Fraction(case[key]) for key in ("W", "CG", "limit", "ballast_arm"))
    found = find_ballast(*figures)
    assert near("B-16", found)
    assert found is not None
    after = add_row(
        sheet((case["W"], case["CG"])), Row("ballast", found, Fraction(case["ballast_arm"]), None)
    )
    assert after.cg == case["limit"]


def test_b18_mass_to_shift() -> None:
    case = given("B-18")
    keys = ("W", "CG", "limit", "from_sta", "to_sta")
    assert near("B-18", find_shift(*(Fraction(case[key]) for key in keys)))


def test_b20_what_a_shift_does() -> None:
    case = given("B-20")
    start = sheet((case["W"] - case["item"], 0), (case["item"], case["from_sta"]))
    item = Row("r1", Fraction(case["item"]), Fraction(case["from_sta"]), None)
    moved = add_row(take_row(start, item), Row("r1", item.mass, Fraction(case["to_sta"]), None))
    assert start.cg is not None
    assert moved.cg is not None
    assert near("B-20", start.cg - moved.cg)


def test_b21_three_wheels_from_the_nose_wheel() -> None:
    case = given("B-21")
    base = case["wheelbase_in"]
    assert near("B-21", sheet((case["nose"], 0), (case["left"], base), (case["right"], base)).cg)


def test_b23_every_wheel_counts_not_every_leg() -> None:
    wheels = [(500, 0)] * 2 + [(6000, 10)] * 4
    assert near("B-23", sheet(*wheels).cg)
    # The trap: the load of one wheel of each sort gives another figure.
    assert not near("B-23", sheet((500, 0), (6000, 10)).cg)


def test_full_size_thresholds_are_not_the_models() -> None:
    """AC 43.13-1B 10-2c (read): one pound is negligible under 5,000 lb; here nothing is."""
    tank = Tank(None, None, None, None, None, UNSTATED, Place("x"))
    assert tank.full is None
    start = Sheet((make_row("all", 17, 103),))
    assert add_row(start, make_row("gram", 0, 0)) == start
    assert add_row(start, Row("gram", Fraction(1, 1000), Fraction(500), None)).cg != start.cg


@pytest.mark.parametrize("id", ["B-2", "B-4", "B-6"])
def test_figures_from_memory_are_marked(id: str) -> None:
    assert CASES[id]["status"] == "figures from memory"
