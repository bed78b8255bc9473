"""Screens that once misled, read again."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from event_fleet import events_of

from fleets import make_fleet, run, run_json

EXAMPLE = Path(__file__).parents[2] / "example-fleet"
DAY = "2026-05-16"
NOW = datetime(2026, 5, 16, 18, 0, tzinfo=UTC)


@pytest.fixture
def example(tmp_path: Path) -> Path:
    fleet = tmp_path / "demo"
    assert run("init", fleet, "--example", now=NOW).exit_code == 0
    return fleet


def test_a_task_of_a_shared_pack_says_who_asks() -> None:
    shown = run("--fleet", EXAMPLE, "why", "rx-3", "pack-capacity", "--on", DAY).out
    heads = re.findall(r"^Why: .*", shown, re.MULTILINE)
    assert len(heads) > 1
    assert len(set(heads)) == len(heads)
    asked = " ".join(shown.split())
    assert "asked by heron" in asked
    assert "asked by kestrel" in asked


def test_save_says_that_it_takes_paths(example: Path) -> None:
    result = run("save", "words of a commit", fleet=example, now=NOW)
    assert result.exit_code == 2
    assert "save takes paths of files" in result.refused


def test_what_two_methods_estimate_is_explained() -> None:
    words = ("throws", "heron", "aileron-left", "--speed", "55", "--on", DAY)
    shown = run("--fleet", EXAMPLE, *words)
    assert "up to 15° as a thin aerofoil, beyond as a flat plate" in shown.said


def test_a_departure_is_not_settled_twice(example: Path) -> None:
    words = ("modify", "drover", "brass bush for the tail wheel", "--state", "trial")
    assert run(*words, fleet=example, now=NOW).exit_code == 0
    before = len(events_of(example, "modification"))
    [event] = [e for e in events_of(example, "modification") if "brass bush" in e.body.text]
    assert run("modify", event.id, "--state", "fixed", fleet=example, now=NOW).exit_code == 0
    again = run("modify", event.id, "--state", "fixed", fleet=example, now=NOW)
    assert again.exit_code == 4
    assert "already, since 2026-05-16; nothing was recorded" in again.refused
    assert len(events_of(example, "modification")) == before + 1
    more = ("modify", event.id, "--state", "fixed", "--after-work", "play=0.1mm")
    assert run(*more, fleet=example, now=NOW).exit_code == 0


def test_a_place_said_later_is_told_in_words(example: Path) -> None:
    marks = run_json("damage", "heron", "--on", DAY, fleet=example)
    snag = next(e for e in events_of(example, "snag") if e.body.text.startswith("Stone marks"))
    assert marks
    place = "120 from front, 34 from bottom"
    said = run("damage", "heron", snag.id, "--place", place, fleet=example)
    assert said.exit_code == 0
    assert f"-> {place}" in said.said
    assert "along_from" not in said.out
    refused = run("damage", "heron", snag.id, "--place", "12 from root, 3 from tip", fleet=example)
    assert refused.exit_code == 2
    mend = re.search(r'--place "(.+?)"', refused.refused)
    assert mend is not None
    assert run("damage", "heron", snag.id, "--place", mend[1], fleet=example).exit_code == 0


def test_an_entry_over_files_that_cannot_be_read_says_so(tmp_path: Path) -> None:
    files = {
        "kits/skua.yaml": 'title: "Skua"\npositions: [oops\n',
        "aircraft/tern/aircraft.yaml": 'title: "Tern"\nkit: "skua"\n',
    }
    fleet = make_fleet(tmp_path, files)
    result = run("fly", "tern", "2", "--minutes", "15", fleet=fleet)
    assert result.exit_code == 0
    assert "note: what it changes is told without kits/skua.yaml: tailsheaf check" in result.said
    data = run_json("fly", "tern", "--minutes", "8", fleet=fleet)
    assert (data["complete"], data["unread"]) == (False, ["kits/skua.yaml"])


def test_the_snag_of_the_readme_is_one_line_and_a_hint(example: Path) -> None:
    result = run("snag", "heron", "screw broke, rear hatch", "-s", "l", fleet=example, now=NOW)
    assert result.exit_code == 0
    assert "recorded: heron: screw broke, rear hatch" in result.said
    hint = re.search(r"tailsheaf (amend \S+ joint=rear-hatch broken=1)", result.said)
    assert hint is not None
    assert run(*hint[1].split(), fleet=example, now=NOW).exit_code == 0
