"""faults: what keeps breaking, on a fleet of which it is known."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from faults_views.faulty_fleet import CHANCE, DAYS, ENDED, FLIGHTS, GROWING, make_faulty_fleet
from scipy.stats import chi2  # type: ignore[import-untyped]

from fleets import Golden, read_files, run, run_json

DAY = "2026-10-01"
#: Three aircraft, three seasons.
FLOWN = 3 * 3 * DAYS * FLIGHTS
SCREENS = {
    "plain": ["faults"],
    "figures": ["faults", "--figures"],
    "one-aircraft": ["faults", "heron", "--by", "position"],
    "seasons": ["faults", "--by", "season"],
    "compare": ["faults", "--compare", "heron", "kestrel"],
    "compare-seasons": ["faults", "--compare", "2024", "2026", "--by", "system"],
}


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_faulty_fleet(tmp_path_factory.mktemp("faulty"))


def groups(fleet: Path, *words: str) -> dict[str, Any]:
    """The groups of an answer by their label."""
    answer = run_json("faults", *words, "--on", DAY, fleet=fleet)
    return {group["label"]: group for group in answer["groups"]}


@pytest.mark.parametrize("name", SCREENS)
def test_the_screens(
    fleet: Path, name: str, golden: Golden, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    result = run(*SCREENS[name], "--on", DAY, fleet=fleet)
    assert result.exit_code == 0, result
    assert all(len(line) <= 80 for line in result.out.splitlines())
    golden(f"faults/{name}-80", result.out)


def test_each_fault_is_told_for_what_it_is(fleet: Path) -> None:
    found = groups(fleet)
    assert {label: group["verdict"] for label, group in found.items()} == {
        "32 landing gear, leaks-outward": "rising",
        "52 doors and hatches, loose": "ended",
        "23 radio link, intermittent": "looks-rising",
        "27 flight controls, play": "too-few",
        "no system said, mode not said": "unsaid",
        "53 fuselage, mode not said": "no-rate",
    }
    assert "both trend tests" in found["32 landing gear, leaks-outward"]["says"]
    assert "Too few to tell: 6 of the 12" in found["23 radio link, intermittent"]["says"]
    assert '"other latch"' in found["52 doors and hatches, loose"]["says"]


def test_counts_shares_and_use(fleet: Path) -> None:
    answer = run_json("faults", "--on", DAY, fleet=fleet)
    listed = answer["groups"]
    counts = [group["count"] for group in listed]
    assert counts == sorted(counts, reverse=True)
    assert counts[:3] == [len(GROWING), len(CHANCE), len(ENDED)]
    assert sum(counts) == answer["total"]
    assert answer["not_in_service"] == 1
    assert listed[-1]["cumulative"] == pytest.approx(1)
    sofar = 0.0
    for group in listed:
        sofar += group["share"]
        assert group["cumulative"] == pytest.approx(sofar)
    gear = listed[0]
    assert gear["exposure"] == {
        "counter": "landings", "amount": FLOWN, "at_least": False, "per": 100.0, "why": None
    }  # fmt: skip
    assert [one["when"] for one in gear["last"]] == ["2026-08-03", "2026-08-10", "2026-08-17"]


def test_the_rate_is_that_of_garwood(fleet: Path) -> None:
    rate = groups(fleet)["32 landing gear, leaks-outward"]["rate"]
    n, per = len(GROWING), 100 / FLOWN
    assert rate["value"] == pytest.approx(n * per)
    assert rate["low"] == pytest.approx(chi2.ppf(0.025, 2 * n) / 2 * per)
    assert rate["high"] == pytest.approx(chi2.ppf(0.975, 2 * n + 2) / 2 * per)
    assert rate["events"] == n
    assert "Garwood" in rate["method"]


def test_what_was_found_in_the_build_is_in_no_rate(fleet: Path) -> None:
    built = groups(fleet)["53 fuselage, mode not said"]
    assert (built["count"], built["not_in_service"], built["share"]) == (0, 1, 0)


def test_one_system_whose_aircraft_are_those_that_have_it(fleet: Path) -> None:
    found = groups(fleet, "--system", "gear", "--by", "aircraft")
    assert list(found) == ["heron"]
    assert found["heron"]["exposure"]["amount"] == FLOWN / 3
    assert found["heron"]["exposure"]["counter"] == "landings"


@pytest.mark.parametrize("by", ["mode", "kind", "position", "kit", "aircraft", "season"])
def test_every_grouping_holds_every_fault_once(fleet: Path, by: str) -> None:
    answer = run_json("faults", "--by", by, "--on", DAY, fleet=fleet)
    assert sum(group["count"] for group in answer["groups"]) == answer["total"] == 31
    assert answer["by"] == [by]


def test_since_a_day_counts_faults_and_use_from_there(fleet: Path) -> None:
    found = groups(fleet, "--since", "2026-03-01", "--by", "aircraft")
    assert found["heron"]["exposure"]["amount"] == DAYS * FLIGHTS
    assert found["heron"]["count"] == 12
    assert [one["season"] for one in found["heron"]["seasons"]] == [2026]


def test_a_mode_by_its_beginning(fleet: Path) -> None:
    assert list(groups(fleet, "--mode", "inter")) == ["23 radio link, intermittent"]


def test_fixes_told_as_held_and_not(fleet: Path) -> None:
    answer = run_json("faults", "--on", DAY, fleet=fleet)
    gear = answer["groups"][0]["fixes"]
    assert (
        sum(gear[how] for how in ("held", "back", "young", "may_not_have_held"))
        == len(GROWING)
        == len(gear["records"])
    )
    assert gear["young"] == 1
    assert gear["back"] == sum(
        one["action"] == "new ring" and one["sure"] for one in answer["came_back"]
    )
    for one in answer["came_back"]:
        assert one["says"].endswith("did not hold" if one["sure"] else "may not have held")


def test_the_fault_of_the_kit_offers_its_notice(fleet: Path) -> None:
    [shared] = run_json("faults", "--on", DAY, fleet=fleet)["shared"]
    assert (shared["kit"], shared["mode"], shared["count"], shared["of"]) == ("reed", "play", 3, 3)
    assert not shared["raised"]
    files = {
        path: data.decode() for path, data in read_files(fleet).items() if path.startswith("kits/")
    }
    files["kits/reed.yaml"] += (
        f'notices:\n  horn:\n    title: "Horn"\n    raised_from: "{shared["raise_from"]}"\n'
    )
    told = make_faulty_fleet(fleet.parent / "raised", files)
    assert run_json("faults", "--on", DAY, fleet=told)["shared"][0]["raised"]


def test_figures_hold_every_estimator(fleet: Path) -> None:
    gear = groups(fleet, "--figures")["32 landing gear, leaks-outward"]
    assert gear["trend"]["laplace"]["p"] < 0.001 > gear["trend"]["handbook"]["p"]
    assert gear["trend"]["laplace"]["direction"] == gear["trend"]["handbook"]["direction"] == 1
    assert gear["time_between"]["value"] == pytest.approx(FLOWN / len(GROWING))
    assert gear["likeness"]["oddest"]["aircraft"] == "heron"
    assert "too few to tell (15 faults on 3" in gear["likeness"]["says"]
    [curve] = gear["cumulative_means"]
    # One of three aircraft had them all.
    assert curve["steps"][-1]["mean"] == pytest.approx(len(GROWING) / 3)
    alone = groups(fleet, "heron", "--figures")["32 landing gear, leaks-outward"]
    assert alone["growth"]["power"]["low"] > 1
    assert alone["likeness"] is None


def test_compared_aircraft_and_seasons(fleet: Path) -> None:
    answer = run_json("faults", "--compare", "her", "kestrel", "--on", DAY, fleet=fleet)
    assert (answer["compared"], answer["kind"]) == (["heron", "kestrel"], "aircraft")
    first = answer["rows"][0]
    assert first["first"] == {"count": 17, "amount": FLOWN / 3}
    assert first["second"] == {"count": 7, "amount": FLOWN / 3}
    assert first["ratio"]["value"] == pytest.approx(16 / 7)
    assert first["conditional"]["p"] > first["unconditional"]["p"]
    seasons = run_json("faults", "--compare", "2024", "2026", "--on", DAY, fleet=fleet)
    assert [seasons["rows"][0][side]["count"] for side in ("first", "second")] == [6, 16]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--by", "colour"], "no group is called 'colour'"),
        (["--system", "flux"], "no system is called 'flux'"),
        (["--mode", "sulks"], "no mode is called 'sulks'"),
        (["--since", "2026-02-31"], "2026-02-31"),
        (["--compare", "heron", "2025"], "an aircraft is not compared with a season"),
        (["--compare", "heron", "heron"], "not compared with itself"),
        (["--compare", "2019", "2025"], "nothing is recorded in the season of 2019"),
        (["--compare", "heron", "swift"], "no aircraft is called 'swift'"),
        (["heron", "--compare", "heron", "kestrel"], "nothing else is asked with it"),
        (["heron", "--life", "servo"], "not of one aircraft"),
        (["--counter", "flights"], "--counter belongs to --life"),
        (["--life", "servo"], "no kind of part is called 'servo'"),
        (["swift"], "no aircraft or part is called 'swift'"),
    ],
)
def test_bad_words_are_refused_with_a_line(fleet: Path, words: list[str], says: str) -> None:
    result = run("faults", *words, fleet=fleet)
    assert (result.exit_code, result.out) == (2, "")
    assert says in result.err
    assert "mend:" in result.err


def test_a_light_install_has_the_plain_view_and_the_line_for_the_rest(
    fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("scipy", "scipy.special", "scipy.optimize", "scipy.stats"):
        monkeypatch.setitem(sys.modules, name, None)
    assert run("faults", "--on", DAY, fleet=fleet).exit_code == 0
    for words in (["--figures"], ["--compare", "heron", "kestrel"]):
        result = run("faults", *words, "--on", DAY, fleet=fleet)
        assert result.exit_code == 3
        assert "pip install" in result.err
        assert "scipy" in result.err.partition("mend:")[2]


def test_an_empty_fleet_says_so(tmp_path: Path) -> None:
    from fleets import make_fleet

    result = run("faults", fleet=make_fleet(tmp_path))
    assert result.exit_code == 0
    assert "no snag is recorded" in result.out


def test_knowledge_of_a_day(fleet: Path) -> None:
    answer = run_json("faults", "--on", "2024-12-31", fleet=fleet)
    assert answer["total"] == 6
    assert all(group["exposure"]["amount"] <= FLOWN / 3 for group in answer["groups"])


def test_a_file_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    odd = make_faulty_fleet(
        tmp_path, {"aircraft/heron/events/2026/05/odd.yaml": 'record: "snag"\nid: [\n'}
    )
    result = run("faults", "--on", DAY, fleet=odd)
    assert result.exit_code == 1
    assert "INCOMPLETE" in result.out
    assert not run_json("faults", "--on", DAY, fleet=odd, exit_code=1)["complete"]
