"""One line at the field, few keys, no question asked; and what a planned day brings."""

from __future__ import annotations

from pathlib import Path

import pytest
from stories.story_fleet import Owner, make_story

DAY = "2026-05-16"


@pytest.mark.parametrize(
    "line",
    ['snag gj "chip left leading edge" -s c', 'snag gj "screw broke, hatch rear" -s l'],
)
def test_a_snag_in_at_most_45_keys(tmp_path: Path, line: str) -> None:
    import shlex

    assert len(line) <= 45
    owner = Owner(make_story(tmp_path))
    result = owner.says(DAY, *shlex.split(line))
    assert result.out.startswith("recorded:")
    assert "?" not in result.out
    assert len(owner.asks(DAY, "snag", "gj")["snags"]) == 1


def test_an_unrated_snag_grounds_until_rated(tmp_path: Path) -> None:
    owner = Owner(make_story(tmp_path))
    snag = owner.writes(DAY, "snag", "rj", "chip", "on", "nose")
    reasons = owner.standing(DAY, "rj")["reasons"]
    assert [r["standing"] for r in reasons if r["kind"] == "snag"] == ["grounded"]
    owner.says(DAY, "snag", snag[:6], "-s", "cosmetic")
    assert not [r for r in owner.standing(DAY, "rj")["reasons"] if r["kind"] == "snag"]


SLOP = """
title: "Slop"
tasks:
  - id: "slop"
    title: "Free play"
    every: [{counter: "flights", amount: 27}]
    basis: {kind: "owner", reference: "own figure"}
"""


def test_a_planned_day_says_before_which_flight(tmp_path: Path) -> None:
    owner = Owner(make_story(tmp_path, {"programmes/story.yaml": SLOP}))
    owner.says("2026-05-09", "fly", "gj", "24", "--minutes", "190")
    during = owner.standing(DAY, "gj", "--plan", "gj=4")["during"]
    assert [(item["task"], item["subject"], item["before_flight"]) for item in during] == [
        ("slop", "gj", 4)
    ]
    assert owner.standing(DAY, "gj", "--plan", "gj=3")["during"] == []


def test_a_record_that_cannot_be_read_shows_on_its_aircraft_and_its_card(tmp_path: Path) -> None:
    owner = Owner(make_story(tmp_path, {"programmes/story.yaml": SLOP}))
    written = owner.asks("2026-05-09", "fly", "gj", "3", "--minutes", "24")["written"][0]
    path = owner.fleet / written["path"]
    path.write_text(path.read_text("utf-8").replace("count: 3", "count: -3"), "utf-8")
    from fleets import run

    for words in (["flyday", DAY], ["flyday", DAY, "--card"], ["due", "gj", "--on", DAY]):
        shown = run(*words, fleet=owner.fleet)
        assert shown.exit_code == 1
        assert "INCOMPLETE" in shown.out
    flyday = run("flyday", DAY, fleet=owner.fleet).out
    block = flyday[flyday.index("gj ") : flyday.index("rj ")]
    assert "1 of its records could not be counted" in block


def test_a_task_with_a_broken_interval_stays_and_cannot_be_told(tmp_path: Path) -> None:
    broken = SLOP.replace("amount: 27", "amount: 27h").replace("flights", "engine-minutes")
    owner = Owner(make_story(tmp_path, {"programmes/story.yaml": broken}))
    item = owner.asks(DAY, "due", "gj", "--on", DAY, exit_code=1)["items"][0]
    assert (item["task"], item["state"]) == ("slop", "cannot-tell")
    problem = owner.problems(DAY)[0]
    assert "amount: 1620   (27h in minutes)" in problem["mend"]
