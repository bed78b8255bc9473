"""The first flight of the season, and storage counted for each thing by itself."""

from __future__ import annotations

from pathlib import Path

import pytest
from stories.story_fleet import Owner, make_story, noon, part

from fleets import run

SEASON = """
title: "Season"
tasks:
  - id: "season-check"
    title: "Season start check"
    start: {when: "season", valid_days: 60}
    basis: {kind: "owner", reference: "own rule"}
"""
FLEET = 'schema: 1\nname: "Story"\nhome_zone: "UTC"\nseason_start: "03-01"\nseason_gap_days: 90\n'


@pytest.fixture
def owner(tmp_path: Path) -> Owner:
    """Flown on 19 October; one winter flight on 1 January; nothing since."""
    files = {"programmes/story.yaml": SEASON, "fleet.yaml": FLEET}
    owner = Owner(make_story(tmp_path, files))
    owner.says("2025-10-19", "fly", "gj", "2", "--minutes", "16")
    return owner


def is_due(owner: Owner, day: str) -> bool:
    """Is the season-start list due on a day?"""
    item = owner.item(day, "season-check", "gj")
    return item is not None and item["state"] == "due"


def test_new_year_opens_nothing_by_gap(owner: Owner) -> None:
    # 19 October to 1 January is 74 days.
    assert not is_due(owner, "2026-01-01")
    owner.says("2026-01-01", "fly", "gj", "1", "--minutes", "7")
    assert not is_due(owner, "2026-01-02")


def test_the_date_opens_the_list_though_the_gap_is_short(owner: Owner) -> None:
    owner.says("2026-01-01", "fly", "gj", "1", "--minutes", "7")
    # 1 January to 21 March is 79 days: only the date rule applies.
    item = owner.item("2026-03-21", "season-check", "gj")
    assert item is not None
    assert item["state"] == "due"
    assert "season began 2026-03-01" in item["opened"][0]["says"]


def test_the_flight_is_recorded_and_flagged(owner: Owner) -> None:
    line = ("fly", "gj", "1", "--minutes", "8")
    strict = run(*line, "--strict", fleet=owner.fleet, now=noon("2026-03-21"))
    assert strict.exit_code == 1
    assert "season" in strict.out
    fleet = owner.asks("2026-03-21", "fleet", "--on", "2026-03-21")
    assert next(x for x in fleet["aircraft"] if x["aircraft"] == "gj")["flights"]["low"] == 3
    assert any(p["code"] == "flown-without-check" for p in owner.problems("2026-03-22"))


def test_without_strict_the_same_line_ends_well(owner: Owner) -> None:
    result = owner.says("2026-03-21", "fly", "gj", "1", "--minutes", "8")
    assert "season" in result.out


def test_a_check_before_the_season_is_good_for_sixty_days(owner: Owner) -> None:
    owner.says("2026-02-10", "done", "season-check", "gj")
    assert not is_due(owner, "2026-04-11")
    assert is_due(owner, "2026-04-12")


STORAGE = """
title: "Storage"
tasks:
  - id: "storage-list"
    title: "Storage of the airframe"
    start: {when: "layup", days: 30}
    basis: {kind: "owner", reference: "own rule"}
  - id: "pack-storage"
    title: "Pack to storage charge"
    on: {part_kind: "battery"}
    start: {when: "layup", days: 30}
    basis: {kind: "owner", reference: "own rule"}
  - id: "engine-storage"
    title: "Inhibit the engine"
    on: {position: "engine"}
    start: {when: "layup", days: 30}
    basis: {kind: "owner", reference: "own rule"}
"""


@pytest.fixture
def stored(tmp_path: Path) -> Owner:
    """Grey last flew 6 September; its pack flew in red on the 27th; the engine ran on the 30th."""
    fleet = make_story(
        tmp_path,
        {
            "programmes/story.yaml": STORAGE,
            "parts/rx-2/part.yaml": part("x000000002", "battery", 'use: "assigned"\n'),
        },
    )
    owner = Owner(fleet)
    owner.says("2026-08-01", "install", "tu-07", "gj", "engine")
    owner.says("2026-09-06", "fly", "gj", "2", "--minutes", "15", "--pack", "rx-2")
    owner.says("2026-09-27", "fly", "rj", "1", "--minutes", "8", "--pack", "rx-2")
    owner.says("2026-09-30", "engine-run", "tu-07", "5")
    return owner


@pytest.mark.parametrize(
    ("task", "subject", "quiet", "open_day"),
    [
        ("storage-list", "gj", "2026-10-06", "2026-10-07"),
        ("pack-storage", "rx-2", "2026-10-27", "2026-10-28"),
        ("engine-storage", "tu-07", "2026-10-30", "2026-10-31"),
    ],
)
def test_each_thing_has_its_own_thirty_days(
    stored: Owner, task: str, subject: str, quiet: str, open_day: str
) -> None:
    before = stored.item(quiet, task, subject)
    assert before is not None
    assert before["state"] != "due"
    after = stored.item(open_day, task, subject)
    assert after is not None
    assert after["state"] == "due"
