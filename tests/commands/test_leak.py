"""leak: readings with time and temperature, the true loss, and against which limit."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from event_fleet import events_of
from workshop_room.scale_fleet import make_scale_fleet

from fleets import Golden, read_files, run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_scale_fleet(tmp_path)


def last(fleet: Path) -> dict[str, Any]:
    """The last leak-down of swift's gear."""
    found = run_json("leak", "swift", "gear", fleet=fleet)["systems"][0]["leak_downs"][-1]
    return dict(found)


def test_two_readings_are_kept_and_corrected(fleet: Path) -> None:
    out = run("leak", "swift", "gear", "6.8@22/10:00", "6.4@14/10:20", fleet=fleet).said
    assert "swift gear: 6.8 bar at 22 °C, then 6.4 bar at 14 °C; a leak-down begins" in out
    first, second = events_of(fleet, "reading")
    assert first.moment.text == "2026-05-16T10:00+02:00"
    assert (first.body.begins, second.body.begins) == (True, False)
    assert (second.body.measured.name, second.body.measured.unit) == ("gear", "bar")
    found = last(fleet)
    # By hand: (6.4 + 1.01325) x 295.15 / 287.15 - 1.01325.
    assert found["corrected"] == pytest.approx(6.60653, abs=1e-4)
    assert found["true_loss"] == pytest.approx(0.19347, abs=1e-4)
    assert found["apparent_loss"] == pytest.approx(0.4)
    assert found["state"] == "inside"
    assert found["readings"][0]["ambient_basis"].startswith("standard atmosphere")
    history = " ".join(run("history", "swift", fleet=fleet).out.split())
    assert "gear 6.8 bar at 22 °C; a leak-down begins" in history


def test_hours_to_the_minimum_at_that_rate_and_slowing(fleet: Path) -> None:
    run("leak", "swift", "gear", "6@20/10:00", "5.5@20/11:00", fleet=fleet)
    found = last(fleet)
    assert found["bar_an_hour"] == pytest.approx(0.5)
    assert found["hours_to_minimum"] == pytest.approx(2)
    # ln(5.5 / 4.5) / ln(6 / 5.5), by hand.
    assert found["hours_if_slowing"] == pytest.approx(2.3063, abs=1e-3)
    # 0.5 bar of 280 ml in an hour, of air at 1.01325 bar.
    assert found["ambient_air_ml_a_minute"] == pytest.approx(280 * 0.5 / 1.01325 / 60, abs=1e-4)


def test_readings_taken_one_by_one_as_the_clock_goes(fleet: Path) -> None:
    def read(text: str, hour: int, minute: int) -> str:
        now = datetime(2026, 5, 16, hour, minute, tzinfo=UTC)
        return run("leak", "swift", "gear", text, fleet=fleet, now=now).out

    assert "a leak-down begins" in read("6.5@20", 8, 0)
    assert last(fleet)["state"] == "waiting"
    assert "true loss 0.100 bar in 20 min" in read("6.4@20", 8, 20)
    assert "a leak-down begins" not in read("6.3@20", 8, 40)
    assert last(fleet)["minutes"] == 40
    # Only filling explains more than before: the next one begins.
    assert "a leak-down begins" in read("6.9@20", 9, 0)
    assert len(run_json("leak", "swift", "gear", fleet=fleet)["systems"][0]["leak_downs"]) == 2


def test_over_night_the_first_reading_is_of_the_day_before(fleet: Path) -> None:
    run("leak", "swift", "gear", "6.5@20/22:30", "6.1@11/08:30", fleet=fleet)
    assert [event.moment.day.day for event in events_of(fleet, "reading")] == [15, 16]
    found = last(fleet)
    assert found["minutes"] == 600
    # The owner's limit for ten hours counts, not the one for twenty minutes.
    assert found["allowed_loss"] == pytest.approx(0.8)


def test_a_long_time_is_not_judged_by_a_short_limit_in_proportion(fleet: Path) -> None:
    run("leak", "swift", "gear", "6.8@20/08:00", "6.1@20/09:20", fleet=fleet)
    found = last(fleet)
    assert found["state"] == "cannot-tell"
    assert "far longer than the 20 min" in found["why_not"]
    run("leak", "swift", "gear", "6.8@20/09:30", "6.6@20/10:50", fleet=fleet)
    assert last(fleet)["state"] == "inside"


def test_more_than_the_limit_is_out(fleet: Path) -> None:
    run("leak", "swift", "gear", "6.8@20/08:00", "6.4@20/08:20", fleet=fleet)
    assert last(fleet)["state"] == "out"
    assert run("leak", "swift", "--strict", fleet=fleet).exit_code == 1


def test_the_cold_alone_is_no_leak(fleet: Path) -> None:
    run("leak", "swift", "gear", "6.8@20/08:00", "6.587@12/08:20", fleet=fleet)
    found = last(fleet)
    assert found["true_loss"] == pytest.approx(0, abs=1e-3)
    assert found["hours_to_minimum"] is None


def test_without_a_temperature_nothing_is_called_a_leak(fleet: Path) -> None:
    out = run("leak", "swift", "gear", "6.8", "6.4@20", "--minutes", "20", fleet=fleet).out
    assert "no true loss can be told" in out
    found = last(fleet)
    assert (found["true_loss"], found["state"]) == (None, "cannot-tell")
    assert found["apparent_loss"] == pytest.approx(0.4)


def test_other_units_are_converted_once(fleet: Path) -> None:
    run("leak", "swift", "gear", "96psi@68F/08:00", "640kPa@20/08:20", "--ambient", "982hPa",
        fleet=fleet)  # fmt: skip
    first, second = (event.body for event in events_of(fleet, "reading"))
    assert [str(item.measured.value) for item in (first, second)] == ["6.619", "6.400"]
    assert first.temperature == 20
    assert str(second.ambient) == "0.982"
    assert last(fleet)["readings"][0]["ambient_basis"] == "stated with the reading"


def test_more_than_full_is_recorded_with_a_caution(fleet: Path) -> None:
    out = run("leak", "swift", "gear", "7.6@20", fleet=fleet).out
    assert "more than the full 7 bar" in out


def test_the_screen(fleet: Path, golden: Golden) -> None:
    run("leak", "swift", "gear", "6.8@22/09:00", "6.4@14/09:20", fleet=fleet)
    run("leak", "swift", "gear", "6.8@20/10:00", "6.2@20/10:20", fleet=fleet)
    shown = run("leak", "swift", "gear", fleet=fleet)
    golden("screens/leak-80", shown.out)
    assert max(len(line) for line in shown.out.splitlines()) <= 80
    assert "Pressurised air injures" in shown.out
    assert "1 earlier: tailsheaf leak swift gear" in run("leak", "swift", fleet=fleet).out


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (["swift", "brakes", "6@20"], "air-system-unknown"),
        (["swift", "gear", "96@20"], "amount-unlikely"),
        (["swift", "gear", "six@20"], "reading-wrong"),
        (["swift", "gear", "6@warm"], "temperature-wrong"),
        (["swift", "gear", "6@-300"], "temperature-wrong"),
        (["swift", "gear", "6@20", "5@20"], "leak-times"),
        (["swift", "gear", "6@20/10:30", "5@20/10:30"], "leak-times"),
        (["swift", "gear", "6@20/25:00"], "time-impossible"),
        (["swift", "gear", "6@20", "--minutes", "20"], "usage"),
        (["swift", "gear", "6@20", "--ambient", "3"], "ambient-wrong"),
        (["swift", "gear", "--begin"], "usage"),
        (["swift", "gear", "6@20", "--at", "2026-05-01"], "leak-times"),
    ],
)
def test_a_wrong_line_writes_nothing(fleet: Path, line: list[str], code: str) -> None:
    before = read_files(fleet)
    error = run_json("leak", *line, fleet=fleet, exit_code=2)["error"]
    assert error["code"] == code, error
    assert read_files(fleet) == before
