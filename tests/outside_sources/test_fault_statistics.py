"""The estimators of the faults room held to what has been published about them.

The cases stand in data/fault_statistics.json, each with its source and its mark: whether the
figure was read, printed by a program, computed, or is from memory. Tolerances follow the digits
given. The traps of the trade follow the cases: figures that look right and are not.
"""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

import pytest

from register.faults.alike import compare_gaps, compare_units
from register.faults.cumulative import estimate_cumulative
from register.faults.drift import Reading, estimate_drift
from register.faults.lives import Life, estimate_survival, make_life
from register.faults.rates import (
    estimate_count,
    estimate_rate,
    estimate_time_between,
    lower_time_between,
)
from register.faults.results import Figure
from register.faults.trend import assess_reversals, assess_trend, estimate_growth, gaps_of
from register.faults.two_rates import compare_rates
from register.faults.watches import Watch, make_gapped_watch, make_watch
from register.faults.weibull import fit_weibull

DATA = Path(__file__).parent / "data"
CASES: dict[str, dict[str, Any]] = {
    case["id"]: case for case in json.loads((DATA / "fault_statistics.json").read_text("utf-8"))
}
AIRCOND: dict[str, Any] = json.loads((DATA / "aircond_intervals.json").read_text("utf-8"))
GAPS: dict[str, list[int]] = AIRCOND["hours"]


def given(id: str) -> Any:
    """What a published case starts from."""
    return CASES[id]["given"]


def expected(id: str) -> Any:
    """What a published case ends with."""
    return CASES[id]["expect"]


def read_rows(name: str) -> list[dict[str, str]]:
    """The rows of a table whose first line names its source."""
    _source, *lines = (DATA / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(lines))


def read_watch(id: str) -> Watch:
    """The failure times of a case."""
    case = given(id)
    return make_watch(case["failure_times"], case["end"], ended_by=case["termination"])


def read_valve_seats() -> list[Watch]:
    """Forty-one engines, each with its replacements and the end of its watch."""
    engines: dict[str, list[tuple[float, bool]]] = {}
    for row in read_rows("valve_seats.csv"):
        engines.setdefault(row["id"], []).append((float(row["time"]), row["status"] == "1"))
    return [
        make_watch([at for at, failed in rows if failed], max(at for at, _ in rows))
        for rows in engines.values()
    ]


def read_fans() -> list[Life]:
    """Seventy fans, twelve of which failed."""
    return [make_life(float(row["hours"]), row["status"] == "1") for row in read_rows("fans.csv")]


def limits(figure: Figure) -> tuple[float, float]:
    """Both limits of a figure that has them."""
    assert figure.low is not None
    assert figure.high is not None
    return figure.low, figure.high


def test_every_case_names_its_source_and_mark() -> None:
    assert {f"O{number}" for number in range(1, 18)} <= CASES.keys()
    assert all(case["source"] and case["mark"] for case in CASES.values())


def test_o1_trend_tests_of_ten_failures() -> None:
    expect = expected("O1")
    trend = assess_trend([read_watch("O1")])
    assert trend.laplace.statistic == pytest.approx(expect["laplace_z"], abs=1e-5)
    assert trend.laplace.p == pytest.approx(expect["laplace_p_two_sided"], abs=1e-5)
    assert trend.handbook.statistic == pytest.approx(expect["milhdbk_chi2"], abs=0.005)
    assert f"{expect['milhdbk_df']} degrees" in trend.handbook.method
    assert trend.handbook.p == pytest.approx(2 * (1 - expect["milhdbk_cdf"]), abs=2e-5)
    assert (trend.laplace.direction, trend.handbook.direction) == (-1, -1)
    assert trend.laplace.behind.events == 10


def test_o1_reversals() -> None:
    expect = expected("O1")
    gaps = gaps_of(read_watch("O1"))
    assert gaps == (5, 35, 3, 132, 214, 323, 35, 48, 504, 179)
    found = assess_reversals(gaps)
    assert found.statistic == expect["reversals"]
    assert found.p == pytest.approx(expect["exact_P_R_ge_33_no_ties"], abs=1e-6)
    assert found.direction == -1


def test_o2_growth_with_limits_of_the_time_between() -> None:
    expect = expected("O2")
    growth = estimate_growth(read_watch("O2"), level=0.8)
    assert growth is not None
    assert growth.power.value == pytest.approx(expect["b_plain_mle"], rel=1e-6)
    assert growth.corrected == pytest.approx(expect["b"], rel=2e-6)
    assert 1 - growth.corrected == pytest.approx(expect["growth_slope"], rel=2e-6)
    assert growth.scale == pytest.approx(expect["a"], rel=1e-6)
    assert growth.time_between.value == pytest.approx(expect["mtbf_end"], rel=1e-6)
    assert growth.time_between.low == pytest.approx(expect["mtbf_lower80"], rel=1e-6)
    assert growth.time_between.high == pytest.approx(expect["mtbf_upper80"], rel=1e-6)


def test_o3_time_between_ended_by_time() -> None:
    expect = expected("O3")
    found = estimate_time_between(2, 800, level=0.9)
    assert found.value == expect["mtbf"]
    low, high = limits(found)
    assert (low, high) == pytest.approx((expect["lower"], expect["upper"]), abs=0.006)
    assert low / 400 == pytest.approx(expect["factor_lower"], abs=1e-4)
    assert high / 400 == pytest.approx(expect["factor_upper"], abs=1e-4)


@pytest.mark.parametrize(
    ("count", "level", "factors"),
    [
        (1, 0.60, (0.3340, 4.4814)),
        (1, 0.80, (0.2571, 9.4912)),
        (1, 0.90, (0.2108, 19.4957)),
        (1, 0.95, (0.1795, 39.4979)),
        (5, 0.90, (0.4756, 2.5379)),
        (10, 0.90, (0.5895, 1.8432)),
    ],
)
def test_o3_table_of_factors(count: int, level: float, factors: tuple[float, float]) -> None:
    """NIST/SEMATECH 8.4.5.1, table of factors; from memory, recomputed."""
    found = estimate_time_between(count, count, level=level)
    assert limits(found) == pytest.approx(factors, abs=1e-4)


def test_o3_lower_limit_without_a_failure() -> None:
    """T / -ln(alpha), NIST/SEMATECH 8.4.5.1; form read."""
    assert lower_time_between(0, 800, level=0.9) == pytest.approx(800 / -math.log(0.1), rel=1e-9)


@pytest.mark.parametrize(
    ("key", "level"),
    [("one_sigma", math.erf(1 / math.sqrt(2))), ("two_sided_95", 0.95), ("two_sided_90", 0.90)],
)
def test_o4_garwood_limits(key: str, level: float) -> None:
    for count, pair in expected("O4")[key].items():
        assert limits(estimate_count(int(count), level)) == pytest.approx(pair, abs=1e-5)


def test_o4_one_sided_limit_of_no_event() -> None:
    """epitools pois.exact: 2.996; read."""
    assert limits(estimate_count(0, 0.90))[1] == pytest.approx(2.996, abs=5e-4)


def test_o4_time_between_ended_by_a_failure() -> None:
    expect = expected("O4-b")
    case = given("O4-b")
    found = estimate_time_between(case["failures"], case["hours"], "failure")
    assert found.value == expect["mean"]
    assert limits(found) == pytest.approx(expect["two_sided_95"], abs=1e-4)
    one_sided = lower_time_between(case["failures"], case["hours"], "failure", 0.95)
    assert one_sided == pytest.approx(expect["one_sided_95"], abs=1e-4)


@pytest.mark.parametrize("number", [0, 1])
def test_o5_two_rates_of_small_counts(number: int) -> None:
    case, expect = given("O5")[number], expected("O5")
    found = compare_rates((case["k1"], case["n1"]), (case["k2"], case["n2"]))
    assert found.unconditional.p == pytest.approx(expect["etest_two_sided"][number], abs=5e-5)
    exact = expect["conditional_binomial_two_sided"][number]
    assert found.conditional.p == pytest.approx(exact, abs=1e-12)


def split_segments() -> list[list[int]]:
    """The fourteen samples of Scholz & Stephens: parted at overhauls, their shorter ends out."""
    segments = []
    for name, whole in GAPS.items():
        gaps = whole[: len(whole) - AIRCOND["left_out_by_scipy"].get(name, 0)]
        cut = AIRCOND["after_overhaul"].get(name, len(gaps))
        segments += [part for part in (gaps[:cut], gaps[cut:]) if part]
    return segments


def test_o6_anderson_darling_of_fourteen_segments() -> None:
    segments = split_segments()
    assert (len(segments), sum(map(len, segments))) == (14, 205)
    found = compare_gaps(segments, "right").anderson_darling
    assert found.statistic == pytest.approx(expected("O6")["ad_k14_T"], abs=1e-3)
    assert "right at ties" in found.convention
    assert found.p == pytest.approx(expected("O6")["ad_p"], abs=3e-4)


def test_o6_anderson_darling_with_mid_ranks() -> None:
    """The same data with mid-ranks: 3.294, Scholz & Stephens 1987; from memory."""
    found = compare_gaps(split_segments()).anderson_darling
    assert found.statistic == pytest.approx(3.294, abs=1e-3)
    assert "midrank at ties" in found.convention


def test_o6_thirteen_aircraft_of_one_mean() -> None:
    expect = expected("O6")
    found = compare_gaps(list(GAPS.values()))
    pooled = [gap for gaps in GAPS.values() for gap in gaps]
    assert (len(pooled), sum(pooled)) == (expect["n"], expect["total"])
    assert found.means.behind.events == expect["n"]
    assert found.means.statistic == pytest.approx(expect["homog_LR"], abs=1e-4)
    assert found.means.p == pytest.approx(expect["homog_p"], abs=1e-6)
    assert found.corrected.statistic == pytest.approx(expect["bartlett_LR"], abs=1e-4)
    assert found.corrected.p == pytest.approx(expect["bartlett_p"], abs=1e-6)


@pytest.mark.parametrize(
    ("id", "name", "level", "key"),
    [("O7", "8044", 0.95, "ci95"), ("O7", "8044", 0.90, "ci90"), ("O17", "7914", 0.95, "ci95")],
)
def test_o7_and_o17_time_between_of_one_aircraft(
    id: str, name: str, level: float, key: str
) -> None:
    expect = expected(id)
    assert given(id)["intervals"] == GAPS[name]
    found = estimate_time_between(expect["n"], expect["total"], "failure", level)
    assert found.value == pytest.approx(expect["mean"], abs=1e-6)
    assert limits(found) == pytest.approx(expect[key], abs=1e-4)


def test_o17_trend_of_one_aircraft() -> None:
    expect = expected("O17")
    trend = assess_trend([make_gapped_watch(GAPS["7914"])])
    assert trend.laplace.statistic == pytest.approx(expect["laplace_failtrunc"], abs=1e-5)
    assert trend.handbook.statistic == pytest.approx(expect["milhdbk"], abs=1e-5)
    assert f"{expect['df']} degrees" in trend.handbook.method


def test_o8_mean_cumulative_function() -> None:
    watches = read_valve_seats()
    curve = estimate_cumulative(watches)
    expect = expected("O8")
    assert (len(watches), curve.behind.events) == (expect["engines"], expect["events"])
    assert curve.behind.exposure == expect["unit_days"]
    rows = read_rows("valve_seats_mcf.csv")
    assert len(rows) == len(curve.steps)
    for row, step in zip(rows, curve.steps, strict=True):
        assert step.at == float(row["time_days"])
        assert (step.at_risk, step.events) == (int(row["at_risk"]), int(row["events"]))
        assert step.value == pytest.approx(float(row["mcf"]), abs=1e-6)
        assert step.error == pytest.approx(float(row["se_robust_lawless_nadeau"]), abs=1e-6)


def test_o9_power_law_ended_by_a_failure() -> None:
    expect = expected("O9")
    growth = estimate_growth(read_watch("O9"), level=0.9, corrected=False)
    assert growth is not None
    assert growth.power.value == pytest.approx(expect["beta"], abs=5e-6)
    assert growth.scale == pytest.approx(expect["lam"], abs=5e-6)
    assert growth.time_between.value == pytest.approx(expect["inst_mtbf"], abs=5e-4)
    assert limits(growth.power) == pytest.approx(expect["beta_ci90_exact_pivot"], abs=1e-6)
    between = estimate_time_between(22, 620, "failure")
    assert between.value == pytest.approx(expect["cum_mtbf"], abs=1e-5)


def test_o10_survival_of_fans() -> None:
    expect = expected("O10")
    curve = estimate_survival(read_fans())
    assert (curve.behind.units, curve.behind.events) == (expect["n"], expect["failures"])
    assert curve.behind.exposure == expect["total_hours"]
    found = {f"{step.at:g}": step.value for step in curve.steps}
    assert found == pytest.approx(expect["km"], abs=5e-6)


def test_o10_weibull_of_fans() -> None:
    expect = expected("O10")
    fit = fit_weibull(read_fans())
    assert fit is not None
    assert fit.shape.value == pytest.approx(expect["weibull_shape"], abs=5e-6)
    assert fit.scale.value == pytest.approx(expect["weibull_scale"], abs=0.01)
    assert fit.log_likelihood == pytest.approx(expect["loglik"], abs=5e-5)
    assert limits(fit.shape) == pytest.approx(expect["shape_ci95"], abs=1e-5)
    mean = estimate_time_between(expect["failures"], expect["total_hours"]).value
    assert mean == pytest.approx(expect["exp_mean"], abs=0.005)


def test_o11_dispersion_of_fifty_counts() -> None:
    counts = given("O11")["counts"]
    found = compare_units(counts, [1.0] * len(counts)).dispersion
    expect = expected("O11")
    assert found.statistic == pytest.approx(expect["T"], abs=1e-4)
    assert found.p == pytest.approx(expect["p"], abs=1e-5)
    assert f"{expect['df']} degrees" in found.method


def read_pairs(id: str) -> list[Reading]:
    """The pairs of a case as readings."""
    case = given(id)
    return [Reading(x, y) for x, y in zip(case["x"], case["y"], strict=True)]


def test_o12_sens_own_slope() -> None:
    expect = expected("O12")
    slope = estimate_drift(read_pairs("O12"), level=1 - given("O12")["alpha"]).slope
    assert slope.value == pytest.approx(expect["slope"], abs=1e-12)
    assert limits(slope) == pytest.approx((expect["low"], expect["high"]), abs=1e-12)


def test_o13_exact_kendall() -> None:
    expect = expected("O13")
    found = estimate_drift(read_pairs("O13")).test
    assert found.statistic == expect["S"]
    assert found.statistic / 36 == pytest.approx(expect["tau"], abs=1e-6)
    assert found.p == pytest.approx(expect["p_two_sided"], abs=1e-6)
    assert found.p is not None
    assert found.p / 2 == pytest.approx(expect["p_one_sided"], abs=1e-5)
    assert "exact" in found.method


def test_o14_two_rates_of_unequal_exposure() -> None:
    case, expect = given("O14"), expected("O14")
    found = compare_rates(
        (case["k1"], case["t1"]), (case["k2"], case["t2"]), sided="minimum likelihood"
    )
    assert found.ratio.value == pytest.approx(expect["ratio"], abs=1e-6)
    assert limits(found.ratio) == pytest.approx(expect["ci95"], abs=1e-6)
    assert found.conditional.p == pytest.approx(expect["p"], abs=5e-6)


def test_o15_complete_exponential_sample() -> None:
    sample, expect = given("O15")["sample"], expected("O15")
    total = math.fsum(sample)
    assert total == pytest.approx(expect["sum"])
    between = estimate_time_between(len(sample), total, "failure")
    assert between.value == pytest.approx(expect["mean"])
    low, high = limits(between)
    assert (low, high) == pytest.approx(expect["mean_ci95"], abs=1e-5)
    assert (1 / high, 1 / low) == pytest.approx(expect["rate_ci95"], abs=1e-5)
    assert (2 * total / high, 2 * total / low) == pytest.approx(expect["chi2_quantiles"], abs=1e-3)


def test_o15_engine_controllers() -> None:
    """Montgomery & Runger: exact 90 % limits of the rate, read; the eight values from memory."""
    sample = (11.96, 5.03, 67.40, 16.07, 31.50, 7.73, 11.10, 22.38)
    low, high = limits(estimate_time_between(8, math.fsum(sample), "failure", level=0.9))
    assert (1 / high, 1 / low) == pytest.approx((0.0230, 0.0759), abs=6e-5)


def test_o16_survival_of_a_textbook() -> None:
    case = given("O16")
    lives = [
        make_life(time, bool(event))
        for time, event in zip(case["time"], case["event"], strict=True)
    ]
    found = {f"{step.at:g}": step.value for step in estimate_survival(lives).steps}
    assert found == pytest.approx(expected("O16")["S"], abs=6e-6)


# The traps.


def test_trap_equal_gaps_are_no_reversal_and_are_named() -> None:
    gaps = gaps_of(read_watch("O1"))
    counted_wrong = sum(
        gaps[later] >= gaps[earlier] for later in range(10) for earlier in range(later)
    )
    found = assess_reversals(gaps)
    assert (found.statistic, counted_wrong) == (33, 34)
    assert found.behind.ties == 2
    assert "approximate" in found.convention
    assert assess_reversals((1.0, 2.0, 3.0)).convention.endswith("exact")


def test_trap_the_two_trend_tests_may_disagree_and_both_are_given() -> None:
    trend = assess_trend([read_watch("O1")])
    assert trend.laplace.p is not None
    assert trend.handbook.p is not None
    assert trend.handbook.p < 0.05 < trend.laplace.p
    assert not trend.agree


def test_trap_time_and_failure_termination_are_not_mixed() -> None:
    """Fans: 16,432 ended by time against 17,500 ended by failure; computed."""
    by_time = estimate_time_between(12, 344_440)
    by_failure = estimate_time_between(12, 344_440, "failure")
    assert by_time.low == pytest.approx(16_432, abs=0.5)
    assert by_failure.low == pytest.approx(17_500, abs=1)
    assert by_time.high == by_failure.high
    assert "ended by time" in by_time.convention
    assert "ended by its last event" in by_failure.convention


def test_trap_a_last_event_that_ended_the_watch_is_dropped() -> None:
    times = read_watch("O9").times
    ended = assess_trend([read_watch("O9")])
    kept = assess_trend([make_watch(times, 620)])
    assert "42 degrees" in ended.handbook.method
    assert "44 degrees" in kept.handbook.method
    assert ended.laplace.statistic < kept.laplace.statistic
    assert ended.laplace.behind.events == 21
    assert "left out" in ended.laplace.convention


def test_trap_growth_limits_are_from_the_exact_pivot() -> None:
    """Not 0.4527-0.9350 (a wide-spread approximation), nor 0.4674-0.8072 (Fisher, 80 %)."""
    growth = estimate_growth(read_watch("O9"), level=0.9)
    assert growth is not None
    assert "exact pivot" in growth.power.convention
    low, high = limits(growth.power)
    assert low < 0.40
    assert 0.81 < high < 0.82


def test_trap_the_variance_keeps_the_events_of_one_engine_together() -> None:
    """Taken one event at a time, the standard error at 653 days is 0.2539; together 0.3117."""
    steps = estimate_cumulative(read_valve_seats()).steps
    apart = 0.0
    for step in steps:
        rise = 1 / step.at_risk
        spread = (1 - rise) ** 2 + (step.at_risk - 1) * rise**2
        apart += step.events * spread / step.at_risk**2
    assert math.sqrt(apart) == pytest.approx(0.2539, abs=5e-5)
    assert steps[-1].error == pytest.approx(0.3117, abs=5e-5)


def test_trap_events_come_before_ends_of_watch_at_the_same_age() -> None:
    last = estimate_cumulative(read_valve_seats()).steps[-1]
    assert (last.at, last.at_risk, last.events) == (653, 9, 2)
    assert last.value == pytest.approx(1.54269, abs=5e-6)
    before = last.value - 2 / 9
    assert last.value != pytest.approx(before + 1 / 9 + 1 / 8, abs=1e-3)


def test_trap_two_sided_chances_of_two_rates_differ_and_are_named() -> None:
    central = compare_rates((11, 800), (21, 3011)).conditional
    likely = compare_rates((11, 800), (21, 3011), sided="minimum likelihood").conditional
    assert central.p is not None
    assert likely.p is not None
    assert central.p > likely.p + 0.01
    assert "central" in central.convention
    assert "minimum likelihood" in likely.convention


def test_trap_e_test_and_conditional_test_are_told_apart() -> None:
    found = compare_rates((0, 100), (3, 100))
    assert found.conditional.p is not None
    assert found.unconditional.p is not None
    assert found.conditional.p > 2 * found.unconditional.p
    assert "conditional" in found.conditional.method
    assert "E-test" in found.unconditional.method


@pytest.mark.parametrize(("name", "z"), [("7908", 2.24), ("7912", 2.21)])
def test_trap_an_overhaul_makes_a_trend_of_its_own(name: str, z: float) -> None:
    """Computed; parted at its overhaul, the first of the two shows none."""
    whole = assess_trend([make_gapped_watch(GAPS[name])])
    assert whole.laplace.statistic == pytest.approx(z, abs=0.005)
    cut = AIRCOND["after_overhaul"].get(name)
    if cut:
        parts = [make_gapped_watch(GAPS[name][:cut]), make_gapped_watch(GAPS[name][cut:])]
        assert abs(assess_trend(parts).laplace.statistic) < 1.96


def test_trap_readings_are_not_taken_as_evenly_spaced() -> None:
    readings = read_pairs("O12")
    even = [Reading(place, reading.value) for place, reading in enumerate(readings)]
    assert estimate_drift(readings).slope.value == 4
    assert estimate_drift(even).slope.value == 10
    assert "uneven spacing" in estimate_drift(readings).slope.convention


def test_trap_normal_reversals_are_not_used_for_few_gaps() -> None:
    """Ten gaps: the normal approximation gives 1.9677 with its correction the wrong way round."""
    found = assess_reversals(gaps_of(read_watch("O1")))
    mean, variance = 45 / 2, 10 * 9 * 25 / 72
    wrong = (33 - mean + 0.5) / math.sqrt(variance)
    assert wrong == pytest.approx(1.9677, abs=5e-5)
    assert found.p != pytest.approx(math.erfc(wrong / math.sqrt(2)) / 2, abs=5e-3)


def test_a_rate_per_flights_is_the_time_between_turned_over() -> None:
    rate = estimate_rate(5, 120, per=100)
    between = estimate_time_between(5, 120)
    assert rate.value == pytest.approx(100 * 5 / 120)
    low, high = limits(rate)
    assert limits(between) == pytest.approx((100 / high, 100 / low))
