"""What a travel meets, what rods can be, and what is estimated: figures worked by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop_room.linkage_makers import build, drive, read

from register.records.linkages import Linkage
from register.workshop.drive import Drive, Unsolved, build_drive, view_point
from register.workshop.hinge_moment import dynamic_pressure, estimate_moment
from register.workshop.pairs import compare_pair, set_flush
from register.workshop.rods import (
    cut_of_pins,
    engaged_now,
    judge_engagement,
    length_per_turn,
    pins_of_cut,
    shortest_cut,
    ways_to_change,
)
from register.workshop.travel import deflection_at, sign_of, sweep_travel, use_of

PARALLEL = "degrees_per_us: 0.1, low: 1000, mid: 1500, high: 2000"


def test_a_parallelogram_moves_the_surface_as_the_servo() -> None:
    made, _ = drive(20, 20)
    for pulse in (1000, 1200, 1500, 1999):
        assert deflection_at(made, pulse) == pytest.approx((pulse - 1500) * 0.1)
    point = view_point(made, 120)
    assert point is not None
    assert point.advantage == pytest.approx(1)
    assert point.per_us == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("arm", "horn", "sense"),
    [("top", "top", 1), ("bottom", "bottom", 1), ("top", "bottom", -1), ("bottom", "top", -1)],
)
def test_sides_decide_the_direction(arm: str, horn: str, sense: int) -> None:
    """On one side surface and arm turn alike; across, against each other."""
    made, _ = drive(arm_more=f", side: {arm}", horn_more=f", side: {horn}")
    up = deflection_at(made, 1550)
    assert up is not None
    assert up * sense > 0
    behind, _ = drive(
        arm_more=f", side: {arm}", horn_more=f", side: {horn}", more=", servo_sits: behind"
    )
    assert deflection_at(behind, 1550) == pytest.approx(-up)


def test_the_surface_reaches_its_stop_before_the_end_point() -> None:
    """In a parallelogram 0.1° for a µs: a stop of 20° stands at 1700 and 1300 µs."""
    made, surface = drive(20, 20, surface="stops: {up: 20, down: 55}")
    sweep = sweep_travel(made, surface)
    assert sweep is not None
    assert [(item.kind, item.way) for item in sweep.met] == [("stop", "up")]
    assert sweep.met[0].pulse == pytest.approx(1700, abs=0.01)
    assert sweep.met[0].end == 2000
    use = use_of(made, surface, "up", 25)
    assert use.past_stop
    assert not use.beyond
    assert use_of(made, surface, "down", 55).beyond


def test_the_linkage_goes_over_centre() -> None:
    """Arm 12, horn 24, 60 apart: arm and rod come into one line, and the surface turns back."""
    made, surface = drive(12, 24, travel="degrees_per_us: 0.13, low: 1400, mid: 1500, high: 2450")
    sweep = sweep_travel(made, surface)
    assert sweep is not None
    met = [item for item in sweep.met if item.kind == "over-centre"]
    assert len(met) == 1
    at = met[0].pulse
    there, before, after = (deflection_at(made, at + step) for step in (0, -40, 40))
    assert there is not None
    assert before is not None
    assert after is not None
    assert there > before
    assert there > after


def test_the_linkage_binds() -> None:
    """Arm 30 on horn 12: the horn comes into line with the rod, and nothing closes beyond."""
    made, surface = drive(30, 12)
    sweep = sweep_travel(made, surface)
    assert sweep is not None
    assert {item.kind for item in sweep.met} == {"binds"}
    for item in sweep.met:
        outwards = 1 if item.end > item.pulse else -1
        assert deflection_at(made, item.pulse + outwards) is None
        assert deflection_at(made, item.pulse - outwards) is not None


def test_a_throw_goes_there_by_the_arm_it_names() -> None:
    made, surface = drive(14, 19)
    for way, degrees in (("up", 20.0), ("down", 17.0)):
        use = use_of(made, surface, way, degrees)
        assert use.point is not None
        assert use.point.pulse is not None
        assert deflection_at(made, use.point.pulse) == pytest.approx(use.degrees, abs=1e-6)
    assert use_of(made, surface, "up", 80).point is None


def test_a_rod_too_long_cannot_close_and_a_missing_one_is_told() -> None:
    surface, linkage = build(
        "chord: 60",
        "arm: {radius: 20, angle: 90}, horn: {radius: 18, offset: 0, angle: 90}, pivots: 60, "
        "rod: {pin_to_pin: 99}",
    )
    found = build_drive(linkage, surface)
    assert isinstance(found, Unsolved)
    assert found.code == "cannot-close"
    surface, linkage = build("chord: 60", "arm: {radius: 20}, horn: {radius: 18}, pivots: 60")
    found = build_drive(linkage, surface)
    assert isinstance(found, Unsolved)
    assert found.says == "not stated: arm.angle, horn.angle"


def test_an_offset_horn_leans_to_the_servo() -> None:
    """Hole 18 high and 18 towards the servo: 45° of lean, and √2 of the height in radius."""
    made, _ = drive(horn_more="")
    surface, linkage = build(
        "", "arm: {radius: 20, angle: 90}, horn: {radius: 18, offset: 18, angle: 90}, pivots: 60"
    )
    leaning = build_drive(linkage, surface)
    assert isinstance(leaning, Drive)
    assert leaning.flush == pytest.approx(135)
    assert leaning.bar.horn == pytest.approx(18 * math.sqrt(2))
    assert leaning.bar.rod == pytest.approx(math.hypot(60 - 18, 2))
    assert made.flush == 90


def test_turning_a_rod_between_two_ends() -> None:
    def per_turn(hands: str, thread: str = "M3") -> float | None:
        _, linkage = build("", f"rod: {{thread: {thread}, hands: {hands}}}")
        return length_per_turn(*linkage.rod.ends)

    assert per_turn("[right, right]") == 0
    assert per_turn("[left, left]") == 0
    assert per_turn("[right, left]") == pytest.approx(1.0)
    assert per_turn("[right, left]", "[M3, M2]") == pytest.approx(0.9)
    assert per_turn("[right, right]", "[M3, M2]") == pytest.approx(0.1)
    assert per_turn("[right, plain]") is None


def test_engagement_below_the_least_is_refused() -> None:
    def judge(text: str) -> tuple[str | None, str | None]:
        _, linkage = build("", f"rod: {{{text}}}")
        return judge_engagement(linkage.rod, engaged_now(linkage.rod))

    assert judge("thread: M3, engagement: [4.5, 4.5]") == (None, None)
    refused, _ = judge("thread: M3, engagement: [4.5, 4.4]")
    assert refused is not None
    assert "end 2" in refused
    assert "common practice, no source" in refused
    refused, _ = judge("thread: M3, engagement: [5, 5], least_engagement: 2")
    assert refused is not None
    assert "the owner's least" in refused
    assert judge("thread: M3, engagement: [20, 20], fittings: [19, 22]")[0] is not None
    refused, unknown = judge("thread: M3")
    assert refused is None
    assert unknown == "thread engaged at end 1 is not stated"


def test_a_turn_out_takes_thread_from_its_end_only() -> None:
    _, linkage = build(
        "", "rod: {thread: M3, hands: [right, left], engagement: [6, 6], forked: [true, true]}"
    )
    one, two, rod = ways_to_change(linkage.rod, 1.5)
    assert (one.done, one.engaged) == (3, (4.5, 6))
    assert one.refused is None
    assert (two.done, two.engaged) == (3, (6, 4.5))
    assert rod.done == pytest.approx(1.5)
    assert rod.engaged == pytest.approx((5.25, 5.25))
    one, _, _ = ways_to_change(linkage.rod, 2.0)
    assert one.refused is not None


def test_cut_and_pin_to_pin_go_there_and_back() -> None:
    _, linkage = build("", "rod: {cut: 40, thread: M2.5, engagement: [5, 6], fittings: [14, 15]}")
    pins = pins_of_cut(linkage.rod)
    assert pins == pytest.approx(58)
    assert cut_of_pins(linkage.rod, 58) == pytest.approx(40)
    _, bare = build("", "rod: {cut: 40, thread: M2.5}")
    assert pins_of_cut(bare.rod) is None
    assert shortest_cut(bare.rod) is None


def test_an_end_with_too_little_thread_gives_no_piece_at_all() -> None:
    _, linkage = build("", "rod: {thread: M3, blank: {length: 80, threaded: [20, 3]}}")
    assert shortest_cut(linkage.rod) == math.inf


def test_a_pair_like_each_other_needs_only_its_rods() -> None:
    one, _ = drive(15, 16)
    other, _ = drive(15, 16, more=", rod: {pin_to_pin: 61}")
    found = compare_pair(one, other, (1500, 2000), 1.0)
    assert found.both
    assert not found.cures
    assert found.rods[0] == pytest.approx(found.rods[1])
    assert found.as_built[0].apart != pytest.approx(0)
    assert deflection_at(set_flush(other, 1500), 1500) == pytest.approx(0, abs=1e-9)


def test_a_pair_with_unlike_arms_needs_more_than_rods() -> None:
    one, _ = drive(15, 16)
    other, _ = drive(18, 16)
    found = compare_pair(one, other, (1500, 1900), 1.0)
    assert not found.both
    arms = {cure.linkage: cure for cure in found.cures if cure.what == "arm"}
    assert arms
    # The one obvious cure is among them: the like hole.
    assert any(cure.wanted == pytest.approx(15, abs=0.01) for cure in found.cures)


def test_open_goes_whichever_way_the_servo_opens() -> None:
    up, _ = drive(surface="moves: one-way", travel="degrees_per_us: 0.1, low: 1500, high: 2000")
    down, _ = drive(surface="moves: one-way", travel="degrees_per_us: -0.1, low: 1500, high: 2000")
    assert (sign_of(up, "open"), sign_of(down, "open")) == (1, -1)


def test_estimates_say_how_they_were_made() -> None:
    """q at 40 m/s is 980 Pa; a brake of 0.2 m by 0.05 m at 90° by the plate: q·S·c = 0.49 N·m."""
    assert dynamic_pressure(40) == pytest.approx(980)
    brake, _ = build("kind: brake, chord: 50, span: 200")
    found = estimate_moment(brake, 90, 40)
    assert found.method == "flat plate"
    assert found.newton_metres == pytest.approx(980 * 0.2 * 0.05 * 0.05)
    plain, _ = build("chord: 50, whole_chord: 200, span: 200")
    thin, plate = estimate_moment(plain, 15, 40), estimate_moment(plain, 15.1, 40)
    assert (thin.method, plate.method) == ("thin aerofoil", "flat plate")
    # The two estimates do not jump where one takes over from the other.
    assert thin.newton_metres == pytest.approx(plate.newton_metres, rel=0.1)


@pytest.mark.parametrize(
    "text",
    [
        "chord: 50, whole_chord: 200",
        "span: 200",
        "chord: 50, span: 200",
        "kind: all-moving, chord: 50, span: 200",
    ],
)
def test_nothing_is_estimated_from_what_is_not_stated(text: str) -> None:
    surface, _ = build(text)
    found = estimate_moment(surface, 10, 40)
    assert found.newton_metres is None
    assert found.method == "not estimated"
    assert found.says


def test_an_all_moving_surface_about_its_quarter_chord_has_no_moment() -> None:
    surface, _ = build("kind: all-moving, chord: 100, span: 300, hinge_at: 0.25")
    assert estimate_moment(surface, 10, 40).newton_metres == pytest.approx(0)


S = "surfaces: {s: {}}\n"


@pytest.mark.parametrize(
    ("section", "text", "code"),
    [
        ("surfaces", "surfaces: {s: {chord: 0}}", "length-zero"),
        ("surfaces", "surfaces: {s: {chord: -4}}", "number-negative"),
        ("surfaces", "surfaces: {s: {chord: 2in}}", "units-mixed"),
        ("surfaces", "surfaces: {s: {stops: {up: 190}}}", "number-wrong"),
        ("surfaces", "surfaces: {s: {hinge_at: 25}}", "number-wrong"),
        ("surfaces", "surfaces: {s: {kind: flying}}", "word-unknown"),
        ("surfaces", "surfaces: {s: {pair: s}}", "surface-unknown"),
        ("surfaces", "surfaces: {s: {throws: [{rate: high, up: 3}]}}", "measure-missing"),
        ("surfaces", "surfaces: {s: {span_mm: 3}}", "key-unknown"),
        ("linkages", S + "linkages: {s: {pivots: 0}}", "length-zero"),
        ("linkages", S + "linkages: {s: {rod: {thread: M3.3}}}", "thread-unknown"),
        ("linkages", S + "linkages: {s: {rod: {hands: [up, up]}}}", "word-unknown"),
        ("linkages", S + "linkages: {s: {rod: {ends: [a, b, c]}}}", "value-shape"),
        (
            "linkages",
            S + "linkages: {s: {travel: {low: 9, high: 3}}}",
            "number-wrong",
        ),
        ("linkages", "linkages: {s: {}}", "surface-unknown"),
        ("linkages", S + "linkages: {s: {torque: {value: 3}}}", "units-mixed"),
        ("linkages", "linkages: [1]", "value-shape"),
    ],
)
def test_what_cannot_be_is_named(section: str, text: str, code: str) -> None:
    _, problems = read(section, text)
    assert code in {problem.code for problem in problems}
    assert all(problem.mend and problem.place.file for problem in problems)


FIGURE = st.one_of(st.none(), st.integers(-5, 2500), st.sampled_from([0.001, 0.5, 12.5, 89.9, 180]))


@given(st.lists(FIGURE, min_size=14, max_size=14), st.booleans())
def test_no_figures_make_it_fall(figures: list[float | None], one_way: bool) -> None:
    """Whatever is written, a linkage is computed or says why it is not."""
    keys = ["radius", "angle", "at_pulse", "radius", "offset", "angle", "pivots", "pin_to_pin"]
    keys += ["degrees_per_us", "low", "mid", "high", "up", "down"]
    told = [
        f"{key}: {figure}" if figure is not None else ""
        for key, figure in zip(keys, figures, strict=True)
    ]

    def join(*items: str) -> str:
        return "{" + ", ".join(item for item in items if item) + "}"

    moves = "one-way" if one_way else "both"
    text = (
        "surfaces:\n  s: "
        + join("chord: 40", f"moves: {moves}", f"stops: {join(*told[12:])}")
        + f"\nlinkages:\n  s:\n    arm: {join(*told[:3])}\n    horn: {join(*told[3:6])}\n"
        + f"    rod: {join(told[7])}\n    travel: {join(*told[8:12])}\n    {told[6]}\n"
    )
    surface = read("surfaces", text)[0]["s"]
    linkage = read("linkages", text)[0]["s"]
    assert isinstance(linkage, Linkage)
    made = build_drive(linkage, surface)
    if isinstance(made, Unsolved):
        assert made.says
        return
    sweep_travel(made, surface)
    for way in ("up", "down", "open"):
        use_of(made, surface, way, 20)
    if made.rate is not None and made.neutral_pulse is not None:
        compare_pair(made, made, (made.neutral_pulse, made.neutral_pulse + 300), 1)
