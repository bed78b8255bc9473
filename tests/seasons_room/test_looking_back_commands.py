"""trend, season and report as typed: accepted screens, JSON, private figures, wrong words."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest
from seasons_room.season_fleet import DAY, FILES, make_season_fleet

from cli.render.layout import width_of
from fleets import Golden, run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """The fleet of three seasons."""
    return make_season_fleet(tmp_path)


SCREENS = {
    "trend": ("trend",),
    "trend-aircraft": ("trend", "heron"),
    "trend-reading": ("trend", "heron", "play"),
    "trend-plain-flights": ("trend", "sv-1", "lash", "--per", "flights", "--plain"),
    "season": ("season",),
    "season-2025": ("season", "2025"),
    "season-private": ("season", "heron", "2025", "--private"),
    "report": ("report",),
    "report-aircraft": ("report", "heron", "--season", "2025", "--plain"),
}


@pytest.mark.parametrize("name", SCREENS)
def test_screens(name: str, fleet: Path, golden: Golden) -> None:
    result = run(*SCREENS[name], "--on", DAY, fleet=fleet)
    assert result.exit_code == 0, result
    assert max(width_of(line) for line in result.out.splitlines()) <= 80
    if "--plain" in SCREENS[name]:
        assert result.out.isascii()
    golden(f"seasons/{name}", result.out)


def test_what_nears_its_limit_comes_in_the_order_of_when(fleet: Path) -> None:
    data = run_json("trend", "--on", DAY, fleet=fleet)
    nearing = [one for one in data["series"] if one["verdict"] == "approaching"]
    assert [(one["subject"], one["name"]) for one in nearing] == [
        ("sv-1", "lash"),
        ("heron", "play"),
    ]
    play = nearing[1]
    assert play["meets"]["earliest"] <= play["meets"]["expected"] <= play["meets"]["latest"]
    assert play["bounds"]["basis"] == {"kind": "club", "reference": "list 3"}
    assert len(play["readings"]) == 14
    assert [one["says"] for one in play["steps"]] == ["fixed: New horn screws"]


def test_over_flights_the_slope_is_per_flight(fleet: Path) -> None:
    data = run_json("trend", "sv-1", "lash", "--per", "flights", "--on", DAY, fleet=fleet)
    (lash,) = data["series"]
    assert lash["axis"] == "flights"
    # 0.025 mm in four flights.
    assert lash["slope"]["value"] == pytest.approx(0.025 / 4)
    assert lash["meets"]["expected"] == pytest.approx(64, abs=0.1)


def test_a_line_that_runs_ahead_of_the_readings_says_so(fleet: Path) -> None:
    out = run("trend", "sv-1", "lash", "--on", DAY, fleet=fleet).out
    assert "by now" in out
    assert "--per flights" in out


def test_wrong_words_are_named_with_what_there_is(fleet: Path) -> None:
    result = run("trend", "heron", "nosuch", fleet=fleet)
    assert result.exit_code == 2
    assert "play" in result.err
    assert run("trend", "nobody", fleet=fleet).exit_code == 2
    assert run("trend", "heron", "play", "--per", "moons", fleet=fleet).exit_code == 2
    assert "no reading of tu-7" in run("trend", "tu-7", "lash", fleet=fleet).err
    assert run("trend", "tu-7", fleet=fleet).exit_code == 0
    late = run("season", "2031", "--on", DAY, fleet=fleet)
    assert late.exit_code == 2
    assert "tailsheaf season 2026" in late.err
    assert run("season", "2025", "2024", fleet=fleet).exit_code == 2
    assert run("season", "heron", "kestrel", fleet=fleet).exit_code == 2
    assert run("season", "0000", fleet=fleet).exit_code == 2
    assert run("report", "--season", "99999", fleet=fleet).exit_code == 2


def test_year_and_aircraft_stand_in_either_order(fleet: Path) -> None:
    one = run("season", "2025", "heron", "--on", DAY, fleet=fleet)
    other = run("season", "heron", "2025", "--on", DAY, fleet=fleet)
    assert one == other


def test_money_is_shown_only_when_asked_and_never_mixed(fleet: Path) -> None:
    shown = run("season", "heron", "--on", DAY, fleet=fleet).out
    assert "money" not in shown
    assert "money" not in str(run_json("season", "--on", DAY, fleet=fleet))
    data = run_json("season", "2025", "--private", "--on", DAY, fleet=fleet)
    (line,) = [one for one in data["seasons"] if one["first"] == "2025-03-01"]
    assert line["money"] == [{"category": "engine", "currency": "EUR", "amount": 240}]
    # A price counts in the season the part first appears in; one in words does not.
    (first,) = [one for one in data["seasons"] if one["first"] == "2024-03-01"]
    assert first["money"] == [{"category": "servo", "currency": None, "amount": 35}]
    (last,) = [one for one in data["seasons"] if one["first"] == "2026-03-01"]
    assert {(one["currency"], one["amount"]) for one in last["money"]} == {("EUR", 60), (None, 80)}


def test_a_line_of_spending_that_cannot_be_read_is_named(fleet: Path) -> None:
    path = fleet / "private.yaml"
    path.write_text(path.read_text("utf-8") + '  - "yesterday heron engine 12"\n', "utf-8")
    result = run("season", "--private", "--on", DAY, fleet=fleet)
    assert "MONEY private.yaml:10" in result.out
    assert result.exit_code == 0
    # The rest of the fleet's answers stay whole.
    assert "INCOMPLETE" not in run("due", fleet=fleet).out


def test_a_done_after_its_last_point_is_late_by_how_much(fleet: Path) -> None:
    data = run_json("season", "2025", "heron", "--on", DAY, fleet=fleet)
    (line,) = data["aircraft"]
    (late,) = line["late"]
    assert late["task"] == "pack-test"
    # Due 2025-02-16 with five days of window; done 55 days after that day.
    assert late["when"] == "2025-04-12"
    assert late["beyond"] == {"calendar": 50}


def test_figures_of_a_season_are_those_of_its_records(fleet: Path) -> None:
    data = run_json("season", "2025", "heron", "--on", DAY, fleet=fleet)
    (line,) = data["aircraft"]
    assert (line["flying_days"], line["flights"]["low"], line["minutes"]["low"]) == (6, 24, 144)
    assert line["faults"] == [
        {"system": "27 flight controls", "count": 1},
        {"system": "not stated", "count": 1},
    ]
    assert line["deferrals"] == 1
    assert line["workshop"] == {"minutes": 130, "pieces": 3, "without_time": 1}
    days = {(one["state"], one["why"]): one["days"] for one in line["days_lost"]}
    # Laid up 20 October to the end of February; loose 4 to 8 June; a wheel 5 to 24 July.
    assert days[("not-in-service", "laid up")] == 132
    assert days[("grounded", "Aileron loose at the horn")] == 5
    assert days[("limited", "flown with: Wheel drags")] == 15
    assert days[("grounded", "deferral ran out: Wheel drags")] == 4
    earlier = {one["first"]: one["faults_outside_service"] for one in data["seasons"]}
    assert earlier["2024-03-01"] == 1


def test_an_empty_fleet_has_nothing_to_look_back_on(tmp_path: Path) -> None:
    from fleets import make_fleet

    empty = make_fleet(tmp_path)
    assert "no reading is recorded" in run("trend", fleet=empty).out
    assert "nothing is recorded in this season" in run("season", fleet=empty).out
    report = run("report", "--html", str(tmp_path / "r.html"), fleet=empty)
    assert report.exit_code == 0, report
    assert (tmp_path / "r.html").read_text("utf-8").startswith("<!doctype html>")


def test_every_example_of_the_help_answers_on_the_example_fleet(tmp_path: Path) -> None:
    example = tmp_path / "demo"
    assert run("init", str(example), "--example").exit_code == 0
    for name in ("trend", "season", "report"):
        text = importlib.import_module(f"cli.commands.{name}").EXAMPLE
        line = re.findall(r"tailsheaf (.+?)(?: +\(|$)", text)[0]
        result = run(*line.split(), "--on", DAY, fleet=example)
        assert result.exit_code == 0, (line, result)
        assert max(width_of(row) for row in result.out.splitlines()) <= 80


def test_a_report_tells_what_is_overdue_by_the_side_that_decides(tmp_path: Path) -> None:
    packs = FILES["programmes/jet.yaml"].replace(
        "every: [{months: 2, late_days: 5}]",
        'every: [{months: 2, late_days: 5}]\n            starts: [{when: "gap", days: 30}]',
    )
    assert packs != FILES["programmes/jet.yaml"]
    fleet = make_season_fleet(tmp_path, {"programmes/jet.yaml": packs})
    shown = " ".join(run("report", "heron", "--on", DAY, fleet=fleet).out.split())
    aircraft = run_json("flyday", "--on", DAY, fleet=fleet)["aircraft"]
    (heron,) = [one for one in aircraft if one["aircraft"] == "heron"]
    says = [one["says"] for one in heron["reasons"] if "pack-test" in one["says"]]
    assert says == ["pack-test on pk-1: was due 2025-06-12, 338 days ago"]
    assert "OVERDUE was due 2025-06-12, 338 days ago" in shown
