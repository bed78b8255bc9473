"""A fix opens a task only where the snag was: not at a position of the same name elsewhere."""

from __future__ import annotations

from pathlib import Path

from stories.story_fleet import Owner, make_story, part

AFTER_FIX = """
title: "After a fix"
tasks:
  - id: "look-again"
    title: "Look again"
    on: {position: "engine"}
    start: {when: "fix"}
    basis: {kind: "owner", reference: "own rule"}
"""


def test_a_fix_on_one_aircraft_asks_nothing_of_another(tmp_path: Path) -> None:
    fleet = make_story(
        tmp_path,
        {
            "programmes/story.yaml": AFTER_FIX,
            "parts/tu-08/part.yaml": part("t000000008", "turbine"),
        },
    )
    owner = Owner(fleet)
    owner.says("2026-04-01", "install", "tu-07", "gj", "engine")
    owner.says("2026-04-01", "install", "tu-08", "rj", "engine")
    snag = owner.writes(
        "2026-05-01", "snag", "gj", "slow start", "--position", "engine", "-s", "monitor"
    )
    owner.says("2026-05-02", "fix", snag, "cleaned the filter")
    states = {
        item["subject"]: item["state"]
        for item in owner.asks("2026-05-03", "due", "--all", "--on", "2026-05-03")["items"]
        if item["task"] == "look-again"
    }
    assert states == {"tu-07": "due", "tu-08": "ok"}
