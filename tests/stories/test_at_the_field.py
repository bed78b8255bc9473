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
