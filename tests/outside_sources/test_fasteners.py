"""Threads, keys, holes, proof loads and torques held to what has been published.

Worked cases stand in data/fasteners.json, each with its source and the status of its figure
(read in a public copy, from memory, or computed). data/fastener_sizes.csv holds the figures of
two parts libraries side by side, copied row by row, because installing either brings a whole
geometry kernel with it: A is bd-warehouse 0.4.0, B the data files of the fasteners workbench of
FreeCAD. data/proof_and_torque.csv holds proof loads and printed torques. No standard itself was
open to read. Where a printed figure is wrong or two differ, the test says so.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from register.records.threads import INCH, parse_thread
from register.workshop import torque
from register.workshop.fastener_sizes import (
    CAP_HEAD,
    CLEARANCE,
    NUT_HEIGHT,
    WASHER_BORE,
    WASHER_OUTSIDE,
    WASHER_THICKNESS,
    Figure,
    find_key,
    find_tapping_drill,
)
from register.workshop.threads import build_geometry, inch_stress_area, metric_stress_area
from register.workshop.torque import (
    FACTORS,
    NOT_STATED,
    Rubbing,
    Screw,
    Torque,
    at_fastener,
    compute_torque,
    find_strength,
    friction_torque,
    preload_of,
    proof_load,
    published_torque,
    rescale,
    tighten,
    wrench_setting,
)

DATA = Path(__file__).parent / "data"
CASES: dict[str, dict[str, Any]] = {
    case["id"]: case for case in json.loads((DATA / "fasteners.json").read_text("utf-8"))
}
SIZES = list(csv.DictReader((DATA / "fastener_sizes.csv").read_text("utf-8").splitlines()))
LOADS = list(csv.DictReader((DATA / "proof_and_torque.csv").read_text("utf-8").splitlines()))
THREADS = {
    "T-M3": "M3",
    "T-M5": "M5",
    "T-M6": "M6",
    "T-M1.6": "M1.6",
    "T-M2": "M2",
    "T-0-80": "#0-80",
    "T-2-56": "#2-56",
    "T-4-40": "#4-40",
    "T-8-32": "#8-32",
    "T-10-24": "#10-24",
    "T-1/4-20": "1/4-20",
    "T-5-44-trap": "#5-44",
}
SQUARE_INCH = float(INCH) ** 2


def near(id: str, found: float) -> bool:
    """Whether a figure is within what the case allows."""
    case = CASES[id]
    return bool(abs(found - case["expect"]) <= case["abs_tol"])


def area_of(name: str) -> float:
    """Stress area by name of a thread, in mm²."""
    found = build_geometry(parse_thread(name))
    assert found is not None
    return found.stress_area


def test_every_case_has_a_source_and_is_tried() -> None:
    assert len(CASES) == 27
    assert all(case["source"] and case["status"] for case in CASES.values())
    source = Path(__file__).read_text("utf-8")
    assert not [id for id in CASES if f'"{id}"' not in source]


# --- threads ----------------------------------------------------------------


@pytest.mark.parametrize(("id", "name"), THREADS.items())
def test_stress_areas_are_those_of_the_tables(id: str, name: str) -> None:
    area, given = area_of(name), CASES[id]["given"]
    thread = parse_thread(name)
    if "d_in" in given:
        assert float(thread.diameter / INCH) == pytest.approx(given["d_in"])
        assert thread.tpi == given["tpi"]
        area /= SQUARE_INCH
    else:
        assert float(thread.diameter) == given["d_mm"]
        assert float(thread.pitch or 0) == given["pitch_mm"]
    assert near(id, area)


def test_a_misprint_of_one_book_is_not_copied() -> None:
    """Shigley's 9th edition prints 0.00880 for #5-44; ASME B1.1 has 0.00830."""
    assert "0.00880" in CASES["T-5-44-trap"]["source"]
    assert abs(area_of("#5-44") / SQUARE_INCH - 0.0088) > 0.0004


def test_the_metric_factor_is_not_used_for_inch_threads() -> None:
    given, wrong = CASES["T-formula-trap"]["given"], CASES["T-formula-trap"]["expect"]
    with_metric = metric_stress_area(given["d_in"], 1 / given["tpi"])
    assert with_metric == pytest.approx(wrong, abs=1e-6)
    right = inch_stress_area(given["d_in"], given["tpi"])
    assert near("T-1/4-20", right)
    assert not near("T-1/4-20", with_metric)


@pytest.mark.parametrize(
    ("name", "square_inches"),
    # ASME B1.1-2002, read in a copied table.
    [
        ("#1-64", "0.00263"),
        ("#1-72", "0.00278"),
        ("#3-56", "0.00523"),
        ("#8-36", "0.01474"),
    ],
)
def test_more_inch_areas(name: str, square_inches: str) -> None:
    """The tolerance is a unit of the last figure: #1-64 prints 0.00263 and computes 0.002622."""
    assert area_of(name) / SQUARE_INCH == pytest.approx(float(square_inches), abs=1.5e-5)


@pytest.mark.parametrize(
    "name", ["#0-80", "#1-64", "#2-56", "#3-48", "#4-40", "#5-40", "#6-32", "#8-32", "#10-24"]
)
def test_inch_majors_follow_their_number(name: str) -> None:
    """0.060 in and 0.013 in more for each number (ASME B1.1)."""
    number = int(name.removeprefix("#").partition("-")[0])
    assert parse_thread(name).diameter / INCH == Decimal("0.060") + Decimal("0.013") * number


def test_iso_724_diameters() -> None:
    """ISO 724 for M6 (from memory): d2 5.350, D1 4.917; d3 4.773 of the ISO 68 profile."""
    found = build_geometry(parse_thread("M6"))
    assert found is not None
    assert found.pitch_diameter == pytest.approx(5.350, abs=0.001)
    assert found.bore_diameter == pytest.approx(4.917, abs=0.001)
    assert found.core_diameter == pytest.approx(4.773, abs=0.001)


# --- keys, nuts, washers, holes -----------------------------------------------

Find = Callable[[str], Figure | None]


def _key(head: str) -> Find:
    return lambda size: find_key(head, size)


STANDARDS: dict[tuple[str, str], Find] = {
    ("ISO 4762", "hex key AF"): _key("cap"),
    ("ISO 7380-1", "hex key AF"): _key("button"),
    ("ISO 10642", "hex key AF"): _key("countersunk"),
    ("ISO 4026/4027/4029 set screws", "hex key AF"): _key("set"),
    ("ISO 4028 dog point set screw", "hex key AF"): _key("set"),
    ("ISO 4032", "nut across flats"): _key("nut"),
    ("ISO 4032", "nut height max"): NUT_HEIGHT.find,
    ("ISO 7089", "washer bore d1 min"): WASHER_BORE.find,
    ("ISO 7089", "washer outside d2 max"): WASHER_OUTSIDE.find,
    ("ISO 7089", "washer thickness nominal"): WASHER_THICKNESS.find,
    ("ISO 7045 pan cross recess (ISO 4757 type H)", "Phillips number"): _key("pan"),
    ("ISO 7046 countersunk cross recess", "Phillips number"): _key("countersunk-cross"),
    ("ISO 14583 pan hexalobular (ISO 10664)", "Torx number"): _key("pan-torx"),
    ("ISO 14581 countersunk hexalobular", "Torx number"): _key("countersunk-torx"),
    ("ISO 2306", "tap drill coarse"): find_tapping_drill,
    ("ISO 273", "clearance hole fine"): CLEARANCE["fine"].find,
    ("ISO 273", "clearance hole medium"): CLEARANCE["medium"].find,
    ("ISO 273", "clearance hole coarse"): CLEARANCE["coarse"].find,
    ("ASME B18.3 socket head cap", "hex key AF"): _key("cap"),
    ("ASME B18.3 flat countersunk", "hex key AF"): _key("countersunk"),
    ("ASME B18.3 button head", "hex key AF"): _key("button"),
    ("ASME B18.3 set screw", "hex key AF"): _key("set"),
    ("inch tap drill (75 % thread, shop table)", "tap drill"): find_tapping_drill,
}
#: Limits rather than nominal sizes, or means of limits: compared on their own below.
APART = {("ISO 7089", "washer thickness max")}
MEAN_NUT = ("ASME B18.2.2 machine screw nut", "nut across flats (mean)")


def _number(text: str) -> float:
    word = text.strip().removeprefix("PH").removeprefix("T")
    return float(Fraction(word))


def _plain(text: str) -> str:
    return text.replace(" = ", " (").rstrip(")") + (")" if " = " in text else "")


@pytest.mark.parametrize(
    "row",
    [row for row in SIZES if (row["standard"], row["quantity"]) in STANDARDS],
    ids=lambda row: f"{row['standard']} {row['size']} {row['quantity']}",
)
def test_nominal_sizes(row: dict[str, str]) -> None:
    found = STANDARDS[row["standard"], row["quantity"]](row["size"])
    assert found is not None
    if row["quantity"] == "tap drill":
        assert found.value == _plain(row["nominal"])
        return
    assert _number(found.value) == pytest.approx(_number(row["nominal"]))
    assert (found.unit or "PH no.") in (row["unit"], "PH no.", "drive")


def test_every_row_is_compared() -> None:
    kinds = {(row["standard"], row["quantity"]) for row in SIZES}
    assert kinds == {*STANDARDS, *APART, MEAN_NUT}
    assert len(SIZES) == 195


@pytest.mark.parametrize("row", [row for row in SIZES if row["agree"] == "yes"], ids=str)
def test_two_libraries_stay_near_the_nominal_key(row: dict[str, str]) -> None:
    """They store limits of the recess: up to 0.125 mm over the key (countersunk M6: 4.12)."""
    for source in ("source_A", "source_B"):
        if row[source]:
            nominal = _number(row["nominal"])
            assert nominal - 0.001 <= _number(row[source]) <= nominal + 0.145


def test_the_one_row_where_the_libraries_differ() -> None:
    """#1 set screw: A has 0.028 in, B 0.035 in, which agrees with ASME B18.3 from memory."""
    differing = [row for row in SIZES if row["agree"] == "NO"]
    assert [(row["size"], row["source_A"], row["source_B"]) for row in differing] == [
        ("#1", "0.028", "0.035")
    ]
    found = find_key("set", "#1")
    assert found is not None
    assert found.value == "0.035"
    assert "differ" in found.status


@pytest.mark.parametrize("row", [row for row in SIZES if row["standard"] == MEAN_NUT[0]], ids=str)
def test_inch_nuts_are_given_by_their_nominal_spanner(row: dict[str, str]) -> None:
    """B has the mean of the limits, which lies under the nominal by less than 8 thousandths."""
    found = find_key("nut", row["size"])
    assert found is not None
    assert 0 <= _number(found.value) - _number(row["nominal"]) < 0.008


def test_washers_are_stored_nominal() -> None:
    """The greatest thickness lies over the nominal by up to 0.2 mm."""
    for row in SIZES:
        if row["quantity"] == "washer thickness max":
            found = WASHER_THICKNESS.find(row["size"])
            assert found is not None
            assert 0 < float(row["nominal"]) - float(found.value) <= 0.2 + 1e-9


def test_an_m3_cap_screw_takes_a_two_and_a_half_key() -> None:
    """ISO 4762."""
    found = find_key("cap", "M3")
    assert found == Figure("2.5", "mm", "ISO 4762", "read")


@pytest.mark.parametrize("size", ["M3", "M4", "M5", "M6", "M8"])
def test_flat_and_button_heads_take_smaller_keys_and_set_screws_smaller_ones(size: str) -> None:
    """The key cannot be told from the thread alone."""
    cap, button, flat, grub = (
        _number(figure.value)
        for head in ("cap", "button", "countersunk", "set")
        if (figure := find_key(head, size)) is not None
    )
    assert cap > button == flat > grub


def test_what_no_table_holds_is_not_known() -> None:
    assert find_key("cap", "M10") is None
    assert find_key("button", "M2") is None
    assert find_tapping_drill("M3x0.35") is None
    assert CLEARANCE["medium"].find("#4") is None


# --- proof loads ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("id", "name", "material"),
    [
        ("P-M3-8.8", "M3", "steel-8.8"),
        ("P-M5-8.8", "M5", "steel-8.8"),
        ("P-M6-12.9", "M6", "steel-12.9"),
        ("P-M5-10.9", "M5", "steel-10.9"),
    ],
)
def test_proof_loads(id: str, name: str, material: str) -> None:
    strength = find_strength(material, float(parse_thread(name).diameter))
    assert strength is not None
    assert strength.mpa == CASES[id]["given"]["proof_stress_MPa"]
    assert near(id, proof_load(area_of(name), strength.mpa))


PROOFS = [row for row in LOADS if row["table"] == "ISO 898-1 proof load"]


@pytest.mark.parametrize("row", PROOFS, ids=lambda row: f"{row['size']} {row['condition']}")
def test_the_whole_proof_load_table(row: dict[str, str]) -> None:
    """Printed with three figures: one per cent."""
    thread = parse_thread(row["size"])
    strength = find_strength(f"steel-{row['condition']}", float(thread.diameter))
    assert strength is not None
    assert proof_load(area_of(row["size"]), strength.mpa) == pytest.approx(
        float(row["value"]), rel=0.01
    )


def test_strengths_are_those_printed() -> None:
    printed = {row["condition"]: row for row in LOADS if row["table"] == "ISO 898-1 proof stress"}
    for condition, row in printed.items():
        strength = find_strength(f"steel-{condition}", 16)
        assert strength is not None
        assert strength.mpa == float(row["value"])
    over = find_strength("steel-8.8", 20)
    assert over is not None
    assert over.mpa == 600
    stainless = find_strength("stainless-a2-70", 5)
    assert stainless is not None
    assert (stainless.mpa, "from memory" in stainless.source) == (450, True)


def test_the_least_breaking_load_is_above_the_proof_load() -> None:
    """ISO 898-1: printed ultimate loads lie over our proof loads, and under twice of them."""
    for row in LOADS:
        if row["table"] == "ISO 898-1 minimum ultimate load":
            strength = find_strength(f"steel-{row['condition']}", 6)
            assert strength is not None
            proof = proof_load(area_of(row["size"]), strength.mpa)
            assert proof < float(row["value"]) < 2 * proof


# --- torques ----------------------------------------------------------------------


def test_a_preload_from_its_torque() -> None:
    case = CASES["Q-M10-1"]
    given, expect = case["given"], case["expect"]
    force = preload_of(given["torque_Nm"], given["K"], given["d_mm"])
    proof = proof_load(given["As_mm2"], given["proof_stress_MPa"])
    for key, found in (
        ("F", force / 1000),
        ("s", force / given["As_mm2"]),
        ("Fp", proof / 1000),
        ("pct", 100 * force / proof),
    ):
        assert abs(found - expect[key]) <= case["abs_tol"]


def test_a_class_looked_up_is_not_the_one_the_page_uses() -> None:
    """The page takes 600 MPa for 8.8 up to M16; ISO 898-1 has 580: 33.6 kN, not 34.8."""
    strength = find_strength("steel-8.8", 10)
    assert strength is not None
    assert proof_load(CASES["Q-M10-1"]["given"]["As_mm2"], strength.mpa) == pytest.approx(
        33_600, abs=50
    )


def test_a_torque_for_a_part_of_the_proof_load() -> None:
    case = CASES["Q-M12-8.8"]
    given = case["given"]
    force = given["fraction"] * proof_load(given["As_mm2"], given["proof_stress_MPa"])
    assert abs(force / 1000 - case["expect"]["F"]) <= case["abs_tol"]
    found = tighten(given["K"], force, given["d_mm"])
    assert abs(found - case["expect"]["T"]) <= case["abs_tol"]
    area = area_of("M12")
    assert area == pytest.approx(given["As_mm2"], abs=0.05)


@pytest.mark.parametrize("id", ["Q-no10-K0.3", "Q-no10-K0.25", "Q-no10-K0.15"])
def test_one_joint_with_several_k(id: str) -> None:
    """In inch units: the formula does not care."""
    given = CASES[id]["given"]
    assert near(id, tighten(given["K"], given["F_lbf"], given["d_in"]) * 1000)


def test_a_printed_rescaling_is_wrong() -> None:
    """The handout prints 53 ft·lbf; 130 x 0.09 / 0.17 is 68.8."""
    case = CASES["Q-lube"]
    given = case["given"]
    found = rescale(given["T_dry_ftlb"], given["K_dry"], given["K_lube"])
    assert near("Q-lube", found)
    assert abs(found - case["published"]) > 15
    assert not case["reproduces"]


def test_the_full_equation_of_a_stainless_screw() -> None:
    """The bearing diameter is assumed, so six per cent; our own tables give the same ones."""
    given = CASES["Q-M5-A2-70-mu0.1"]["given"]
    hole = given["d"] * given["hole_factor"]
    rubbing = Rubbing(given["d"], given["P"], given["head_mm"], hole, given["mu"])
    found = friction_torque(rubbing, given["Rp"], given["util"])
    assert near("Q-M5-A2-70-mu0.1", found)
    own = torque.rubbing_of(parse_thread("M5"), "cap", given["mu"])
    assert own == rubbing


STAINLESS = [row for row in LOADS if row["table"].startswith("A2/A4 class 70 torque")]


@pytest.mark.parametrize("row", STAINLESS, ids=lambda row: f"{row['size']} {row['condition']}")
def test_a_supplier_table_of_stainless_torques(row: dict[str, str]) -> None:
    """Within 15 % but where it is suspect: M3 at 0.1 prints 1.0, the equation gives 0.78. The
    smallest sizes are printed with one figure, and M2.5 at 0.1 lies as far."""
    rubbing = torque.rubbing_of(parse_thread(row["size"]), "cap", float(row["condition"]))
    assert rubbing is not None
    found = friction_torque(rubbing, 450, 0.9)
    printed = float(row["value"])
    if row["note"].startswith("SUSPECT"):
        assert found == pytest.approx(0.78, abs=0.02)
        assert abs(found - printed) / printed > 0.15
    else:
        loose = 0.25 if row["size"] in ("M2", "M2.5") else 0.15
        assert found == pytest.approx(printed, rel=loose)


def test_k_is_that_of_the_printed_table() -> None:
    words = {
        "non-plated black finish": "black",
        "zinc plated": "zinc",
        "lubricated": "lubricated",
        "cadmium plated": "cadmium",
        "anti-seize": "anti-seize",
    }
    printed = {
        row["condition"]: float(row["value"])
        for row in LOADS
        if row["table"] == "nut factor K" and row["source"].startswith("Shigley")
    }
    assert {word: FACTORS[key].k for word, key in words.items()} == {
        word: printed[word] for word in words
    }
    assert printed["condition unknown"] == NOT_STATED.k
    assert all(factor.source.startswith("Shigley") for factor in FACTORS.values())


def test_another_handbook_has_another_k_and_that_is_said() -> None:
    """Handbook of Bolts and Bolted Joints: 0.295 for dry zinc, where Shigley has 0.20."""
    assert any("0.295" in row["value"] for row in LOADS)
    found = compute_torque(Screw(parse_thread("M4"), "cap", "steel-8.8", "steel", FACTORS["zinc"]))
    assert isinstance(found, Torque)
    assert any("0.295" in words for words in found.assumes)


MANUALS = [row for row in LOADS if row["table"].startswith("machine-manual torque dry")]


@pytest.mark.parametrize("row", MANUALS, ids=lambda row: f"{row['size']} {row['condition']}")
def test_printed_dry_torques_lie_between_the_ks(row: dict[str, str]) -> None:
    """A farm-machine manual, unlubricated: between our K 0.16 and K 0.30 for the same class."""
    thread, material = parse_thread(row["size"]), f"steel-{row['condition']}"
    ends = []
    for word in ("cadmium", "black"):
        found = compute_torque(Screw(thread, "cap", material, "steel", FACTORS[word]))
        assert isinstance(found, Torque)
        ends.append(found.newton_metres)
    assert ends[0] < float(row["value"]) < ends[1]


AIRCRAFT = [
    row
    for row in LOADS
    if row["table"] == "AC 43.13-1B Table 7-1 tension nut" and row["condition"] == "recommended"
]


@pytest.mark.parametrize("row", AIRCRAFT, ids=lambda row: row["size"])
def test_aircraft_nut_torques_are_told_as_printed(row: dict[str, str]) -> None:
    found = published_torque(parse_thread(row["size"]))
    assert found is not None
    assert (found.value, found.unit) == (row["value"], "in·lbf")
    assert "AC 43.13-1B" in found.source


@pytest.mark.parametrize("into", ["plywood", "hardwood", "balsa", "plastic", "composite"])
def test_wood_and_plastic_have_no_standard_torque(into: str) -> None:
    """None was found: ISO 1478 fixes the size of tapping threads only."""
    assert any(row["value"] == "no standard" for row in LOADS)
    found = compute_torque(Screw(parse_thread("M3"), "cap", "steel-12.9", into, NOT_STATED))
    assert isinstance(found, torque.NoTorque)
    assert found.says.startswith("owner-measured only")


def test_self_tapping_screws_have_none_either() -> None:
    found = compute_torque(Screw(parse_thread("ST2.9"), "self-tapping", None, "steel", NOT_STATED))
    assert isinstance(found, torque.NoTorque)
    assert found.says.startswith("owner-measured only")


def test_wrench_extensions() -> None:
    """US Army TM 9-254, and tool instruction sheets."""
    one = CASES["W-ext-1"]["given"]
    assert near("W-ext-1", at_fastener(one["torque"], one["lever"], one["extension"]))
    for id in ("W-ext-3", "W-ext-4"):
        given = CASES[id]["given"]
        found = wrench_setting(given["torque"], given["lever"], given["extension"])
        assert near(id, found)
        assert math.isclose(at_fastener(found, given["lever"], given["extension"]), given["torque"])


def test_the_head_diameter_of_the_worked_case_is_in_the_table() -> None:
    found = CAP_HEAD.find("M5")
    assert found is not None
    assert float(found.value) == CASES["Q-M5-A2-70-mu0.1"]["given"]["head_mm"]
